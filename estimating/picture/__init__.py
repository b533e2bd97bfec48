"""What the piece looks like: drawings to scale."""
