"""Results as people read them on a terminal; the only place where rich is used."""
