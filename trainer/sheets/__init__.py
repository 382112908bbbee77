"""Hand-outs and reports."""
