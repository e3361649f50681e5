"""One view of a result per format: text for people, JSON and CSV for programs."""
