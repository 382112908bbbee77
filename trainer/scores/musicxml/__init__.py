"""MusicXML 3.0 to 4.0, read and written: plain and compressed, part by part and bar by bar."""
