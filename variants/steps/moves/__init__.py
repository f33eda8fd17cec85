"""Every note by one interval: which interval it is, and what moves with the notes."""
