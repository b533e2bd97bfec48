"""One write, one function: each checks what it is given, then saves it."""
