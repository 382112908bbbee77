"""What a drill screen runs on: clock, log and session brought together. No Textual."""
