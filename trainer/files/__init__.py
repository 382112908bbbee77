"""Drill, theme and settings files, and where they live."""
