"""Line mode: the same practice on a plain console, one line at a time. Imports no Textual."""
