"""Names of the repairs that need no human decision."""

BRING_OUT = "bring-out"
"""The repair that changes the base as its maker modelled it."""

REPAIRS = ("refine", "blend-rims", "whole", BRING_OUT, "clearance", "hard")
"""In the order in which they are done: vertices, what is followed, the base, room, then what sits on the cloth."""
