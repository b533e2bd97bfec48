"""What the piece is: form, layers, rings, and which layers come out of which thick ring."""
