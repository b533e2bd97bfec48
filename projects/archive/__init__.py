"""A studio as one file that any Turnery can take in: written from its models, read back with every row checked."""
