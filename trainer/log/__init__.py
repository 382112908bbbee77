"""The practice log: one SQLite file that remembers every landed change.

`migrations` says what stands in the file, `store` how each entry is written, `writer.Log` runs the one thread that
writes, `history.reading` answers questions on a connection of its own, `connect` opens files and `faults` puts what
may go wrong into words. Nothing is imported here: a command that only reads does not pay for the thread that writes.
"""
