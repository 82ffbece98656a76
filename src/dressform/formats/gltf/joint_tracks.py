"""Animations of joints of a body file [glTF2 3.11]."""

from dressform.body.pose import Animation
from dressform.formats.gltf.reading.tracks import animations_of
from dressform.formats.load import BodyFile


def read_animations(file: BodyFile) -> tuple[Animation, ...]:
    """Animations of a body file that move joints of this base body, or nodes above them.

    Animations of weights are left to the sliders. Channels of a node that is given as a matrix are passed over, as glTF
    does not allow them.

    Raises:
        FileError: a channel or sampler is damaged; file, place and problem in one line.
    """
    if file.document is None:
        return ()
    return animations_of(file.document, file.stored, file.body.skeleton, file.frame.linear)
