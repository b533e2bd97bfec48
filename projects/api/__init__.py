"""API v1: the same services as the pages, as JSON."""
