"""The commands: each file parses, calls the library, shows, and returns an exit code."""
