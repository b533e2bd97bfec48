"""How the piece is put together: glued areas and mixes."""
