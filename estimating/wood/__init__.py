"""What the piece is cut from: species, strips and boards."""
