"""Pictures of a result: what is to be drawn as values, then on a terminal or into a file."""
