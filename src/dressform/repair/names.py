"""Names of the repairs that need no decision of a person."""

REPAIRS = ("refine", "blend-rims", "whole", "clearance", "hard")
"""In the order in which they are done: vertices, what the cloth follows, room, then what sits on the cloth."""
