"""What the piece is worth: costs and price."""
