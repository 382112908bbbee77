"""The fingering bench: ways of fingering a passage side by side, what is set in them, who looks; no Textual."""
