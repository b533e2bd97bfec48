"""The pages in a real browser: what only a person at a screen would notice."""
