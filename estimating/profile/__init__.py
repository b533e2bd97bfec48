"""Profiles in files: read from SVG, DXF and CSV, and written to them."""
