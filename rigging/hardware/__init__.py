"""What hangs in the aircraft: cables, airframe materials, turnbuckles."""
