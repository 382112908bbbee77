"""Drills, the practice session, measures and statistics. Pure."""
