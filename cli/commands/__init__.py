"""The commands: one file each, no music logic."""
