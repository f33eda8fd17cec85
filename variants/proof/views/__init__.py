"""What several rules look at, computed once a page."""
