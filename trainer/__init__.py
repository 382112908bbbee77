"""Changeover: step through chord-shape changes, time each one, and practise what is slow."""

__version__ = "0.1.0"
