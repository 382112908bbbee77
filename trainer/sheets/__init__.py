"""Hand-outs: a page for the stand, as HTML, SVG or plain text."""
