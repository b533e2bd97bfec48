"""How long the piece takes: operations counted, minutes with their spread."""
