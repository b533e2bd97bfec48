"""The whole server kept and put back: its database with its photos, one folder a backup, checked both ways."""
