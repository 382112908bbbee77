"""The fit of the fingering weights on published fingerings: a script and what it is made of, no tests."""
