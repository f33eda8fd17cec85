"""Which notes belong together, and what is left of them when some are dropped."""
