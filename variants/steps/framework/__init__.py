"""What every step is made with: the registry, the change log, readers of parameters."""
