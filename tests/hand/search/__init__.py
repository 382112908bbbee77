"""Tests of the fingering search."""
