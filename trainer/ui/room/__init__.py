"""The room view: one change as large as the terminal allows, rounds, and who had it. No Textual."""
