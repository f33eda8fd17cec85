"""Chords in another order of notes: voicings, their writing, and the symbols above them."""
