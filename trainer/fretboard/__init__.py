"""Pitch, instrument, shapes and their text form. Pure."""
