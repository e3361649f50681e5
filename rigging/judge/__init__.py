"""Limits at today's temperature, and the verdict on a reading against them."""
