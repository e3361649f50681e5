"""The rig log: entries that are added and never changed, each sealing the one before it."""
