"""MusicXML and Standard MIDI Files, in and out, and the way from a score's notes to a drill."""
