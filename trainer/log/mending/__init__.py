"""What can still be read of a damaged log, read page by page past whatever is damaged.

`image` holds the bytes, `pages` reads rows out of one page, `forms` says what a row of ours looks like, `salvage` puts
together what stands in all pages, `anew` makes a new log of it and `swap` puts that in the place of the damaged one.
SQLite itself reads none of the damaged file: it follows pointers from page to page, and behind one that is damaged
lies much that is not.
"""
