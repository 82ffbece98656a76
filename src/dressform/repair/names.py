"""Names of the repairs that need no human decision."""

BRING_OUT = "bring-out"
"""The repair that changes the base as its maker modelled it."""

JOINTS = "joints"
"""The repair that changes joint weights; it needs stances."""

REPAIRS = ("refine", "blend-rims", "whole", BRING_OUT, JOINTS, "clearance", "hard")
"""In the order in which they are done: vertices, what is followed, the base, joints, room, what sits on the cloth."""
