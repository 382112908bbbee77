"""Note events in: ports and files."""
