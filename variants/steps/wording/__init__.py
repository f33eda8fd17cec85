"""Words that steps write: intervals and chord symbols in the log, tempo marks in the score."""
