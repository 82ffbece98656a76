"""A body prepared for its audit: all data that do not depend on a morph."""

from dataclasses import dataclass

from dressform.audit.bands import AuditBands
from dressform.audit.extremities import Extremities
from dressform.audit.mirror import Mirror
from dressform.audit.skin import AuditedSkin
from dressform.audit.stray import Loose
from dressform.audit.tangle import Tangle, tangle_of
from dressform.body.body import Body
from dressform.faults.pucker import PuckerWindows, pucker_windows
from dressform.mesh.tree import Tree


@dataclass(frozen=True)
class PreparedBody:
    """A body with the data shared by the findings of all its morphs.

    Attributes:
        body: The body.
        bands: From which value on something is a finding.
        skin: Areas, neighbours and words of the base body.
        tree: Its triangles.
        tangle: Triangles that cross or are turned over there.
        windows: Windows of the pucker index.
        mirror: Left to right.
        loose: Separate pieces beside the skin.
        extremities: Tips.
    """

    body: Body
    bands: AuditBands
    skin: AuditedSkin
    tree: Tree
    tangle: Tangle
    windows: PuckerWindows
    mirror: Mirror
    loose: Loose
    extremities: Extremities

    @classmethod
    def of(cls, body: Body, bands: AuditBands) -> "PreparedBody":
        """Prepare a body."""
        skin, tree = AuditedSkin.of(body), Tree(body.vertices, body.faces)
        return cls(
            body=body,
            bands=bands,
            skin=skin,
            tree=tree,
            tangle=tangle_of(tree, body.vertices),
            windows=pucker_windows(body.vertices, body.faces),
            mirror=Mirror.of(skin, tree),
            loose=Loose.of(skin),
            extremities=Extremities.of(skin),
        )
