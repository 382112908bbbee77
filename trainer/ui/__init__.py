"""The app: the only package that imports Textual."""
