"""Template tags that print figures; nothing is worked out here."""
