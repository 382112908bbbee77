"""Getting to know a guitar: which channel is which string, how loud and how late each is heard, its pedals. Pure."""
