"""Where notes lie on the neck: the search within wishes, another instrument, hammers and slides."""
