"""Names of the repairs that need no human decision."""

REPAIRS = ("refine", "blend-rims", "whole", "clearance", "hard")
"""In the order in which they are done: vertices, what the cloth follows, room, then what sits on the cloth."""
