"""What the progress screen tells of each change: columns that fit, lines over time, sentences."""
