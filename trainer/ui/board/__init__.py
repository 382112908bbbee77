"""The fretboard: the shape held now and the change into the next one, drawn as movement."""
