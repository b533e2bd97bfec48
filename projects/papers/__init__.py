"""The studio's papers as PDF. They print what was frozen; the few figures derived here say so."""
