"""neckwise: graded variants of guitar scores, from MusicXML to MusicXML."""
