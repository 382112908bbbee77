"""Note events in: ports, files, keys, and the matcher."""
