"""The studio's papers as PDF. They print what was frozen and reckon nothing."""
