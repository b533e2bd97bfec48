"""The studio's pages, one module a part of the studio. Views are thin: services write, estimates reckon."""
