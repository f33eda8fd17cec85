"""What `simplify-rhythm` is made of: grid, plan of where each onset goes, and its writing."""
