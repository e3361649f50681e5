"""Pure functions of floats and arrays: no file, no clock, no printing."""
