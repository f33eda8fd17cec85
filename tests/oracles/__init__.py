"""Second statements of what the package says, made without its code; tests compare the two."""
