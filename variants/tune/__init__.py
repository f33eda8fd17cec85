"""What a listener would miss: the tune, its phrases, its harmony."""
