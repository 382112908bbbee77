"""MusicXML and Standard MIDI Files, in and out."""
