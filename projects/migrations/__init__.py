"""Turns the records into database tables, one step after another."""
