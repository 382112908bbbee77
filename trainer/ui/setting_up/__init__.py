"""Setting up a guitar: the ports there are, the one that is set up, and what is said of it; no Textual."""
