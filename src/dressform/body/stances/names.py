"""What the names of joints hint at; places and hierarchy decide."""

import re

HELPERS = frozenset({"twist", "roll", "helper", "ik", "pole", "target", "share", "bendy"})
"""Words of joints that share a turn with another, or only steer it."""
ENDS = frozenset({"end", "leaf", "tip", "nub", "effector"})
"""Words of joints that only mark where the last one ends."""
HEADS = frozenset({"head", "skull", "cranium"})


def words_of(name: str) -> tuple[str, ...]:
    """Words of a joint's name, small: `LeftForeArmRoll_01` has left, fore, arm and roll."""
    return tuple(word.lower() for word in re.findall(r"[A-Z]+(?![a-z])|[A-Z]?[a-z]+", name))


def is_helper(name: str) -> bool:
    """Whether a name says that the joint is none of a body's own."""
    return not HELPERS.isdisjoint(words_of(name))


def is_end(name: str) -> bool:
    """Whether a name says that the joint only marks an end."""
    return not ENDS.isdisjoint(words_of(name))


def is_head(name: str) -> bool:
    """Whether a name says that the joint turns the head."""
    return not HEADS.isdisjoint(words_of(name)) and not is_end(name)
