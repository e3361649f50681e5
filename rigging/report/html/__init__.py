"""The record as one HTML file that needs nothing beside it."""
