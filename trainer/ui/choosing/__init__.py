"""Choosing bars of a score: folders, what is asked for, what was found, and the words for it; no Textual."""
