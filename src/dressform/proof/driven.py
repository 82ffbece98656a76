"""How far corrective targets can take cloth from where they hold it, while the joints that drive them turn."""

from collections.abc import Sequence

import numpy as np
from jaxtyping import Float

from dressform.body.skeleton import Skeleton
from dressform.fit.corrective import Corrective


def driven_strays(
    correctives: Sequence[Corrective],
    skeleton: Skeleton,
    worlds: Float[np.ndarray, "J 4 4"],
    turning: Float[np.ndarray, " J"],
    count: int,
) -> Float[np.ndarray, " G"]:
    """How far each vertex can stray from where it is held at `worlds`, (G,), metres.

    A twist whose quaternion has length p changes at most by dα / p while its joint turns by dα against the one above,
    and p itself at most by dα / 2.

    Args:
        correctives: The targets.
        skeleton: The joints.
        worlds: Where they are.
        turning: How far each turns at most from there against the one above it, (J,), radians.
        count: Vertices of the cloth.
    """
    stray = np.zeros(count)
    for one in correctives:
        reach = float(turning[one.driver.joint])
        angle, certain = one.driver.twist(skeleton, worlds)
        certain -= 0.5 * reach
        far = reach / certain if certain > 0 else np.pi
        if abs(angle) + far >= np.pi:  # the angle may jump by a whole turn
            stray += one.lengths
        else:
            stray += one.driver.most_change(angle, far) * one.lengths
    linear = worlds[:, :3, :3] @ skeleton.inverse_bind[:, :3, :3]
    return stray * float(np.linalg.norm(linear, 2, axis=(1, 2)).max())
