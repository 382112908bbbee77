"""What the progress screen tells of each change, without Textual: columns that fit, lines over time, sentences."""
