"""Joint weights from the nearest part of the body alone."""

import numpy as np
from jaxtyping import Int

from dressform.body.skeleton import Skin
from dressform.lift.lift import Lift


def nearest_part_skin(lift: Lift, skin: Skin, parents: Int[np.ndarray, " J"]) -> Skin:
    """The body's joint weights at the feet, of the part that each foot lies on: four joints, non-negative, sum one.

    A part is the joint with most weight there, with the joints directly above and below it. Nothing is smoothed along
    the cloth, so no weight comes from skin across a gap; where parts meet, weights may jump.

    Proof: tests/lift/test_nearest_part.py
    """
    count = len(parents)
    read = lift.foot_rows @ skin.dense(count)
    main = np.argmax(read, axis=1)
    joined = np.eye(count, dtype=bool)
    below = np.flatnonzero(parents >= 0)
    joined[below, parents[below]] = joined[parents[below], below] = True
    return Skin.from_dense(np.where(joined[main], read, 0.0))
