"""Warming up: what it is made from, and one that is gone through with its beat and its log; no Textual."""
