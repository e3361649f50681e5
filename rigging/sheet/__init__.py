"""The rig sheet and the readings: what a user writes, read and checked whole."""
