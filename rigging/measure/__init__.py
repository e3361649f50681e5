"""From an instrument to a tension with its uncertainty."""
