"""The click and the reference chord."""
