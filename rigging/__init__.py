"""Rigging aircraft control cables by tension: from a dial reading to a verdict that can be believed."""

__version__ = "0.1.0"
