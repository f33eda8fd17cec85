"""What `strum` is made of: grips from chord symbols, patterns of the hand, and their writing."""
