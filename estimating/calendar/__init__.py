"""The steps of several jobs on one bench, in its hours, around what has happened."""
