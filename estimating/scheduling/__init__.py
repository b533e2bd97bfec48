"""Tasks, links, windows and resources put in time: a constraint problem that knows nothing of wood."""
