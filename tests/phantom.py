"""A person made of parts whose girths are known exactly: ellipses across the trunk, circles across every limb.

All lengths in metres. The mesh is cut from the union of the parts by marching cubes and its vertices are moved onto
the surface, so that only the straight edges between them separate a girth from its closed form.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

import igl
import numpy as np
from jaxtyping import Float
from scipy.special import ellipe

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.body.skeleton import Skeleton

Profile = Callable[[np.ndarray], np.ndarray]

CROWN, CROTCH, SHOULDERS = 1.70, 0.78, 1.42
HIP, WAIST, BUST = 0.88, 1.06, 1.24
NECK_BASE, NECK = 1.38, 1.465
HEAD = 0.09
SHOULDER_OUT, ARM_LENGTH, WRIST_AT, PALM_AT = 0.165, 0.66, 0.50, 0.58
LEG_OUT = 0.095
ELBOW_AT, KNEE = 0.26, 0.46


def ellipse_girth(a: float, b: float) -> float:
    """Perimeter of an ellipse by the complete elliptic integral, 4 a E(1 - b²/a²)."""
    large, small = max(a, b), min(a, b)
    return float(4 * large * ellipe(1 - (small / large) ** 2))


def half_width(y: np.ndarray) -> np.ndarray:
    """Half the width of the trunk: widest at hip and bust, narrowest at the waist."""
    return 0.145 + 0.02 * np.cos(2 * np.pi * (y - HIP) / (BUST - HIP))


def half_depth(y: np.ndarray) -> np.ndarray:
    """Half the depth of the trunk."""
    return 0.105 + 0.02 * np.cos(2 * np.pi * (y - HIP) / (BUST - HIP))


def trunk_girth(y: float) -> float:
    """Closed form of the trunk's girth at a height."""
    return ellipse_girth(float(half_width(np.array(y))), float(half_depth(np.array(y))))


def leg_radius(y: np.ndarray) -> np.ndarray:
    """A calf at 0.35 m, and a thigh that widens all the way up."""
    return 0.045 + 0.013 * np.exp(-(((y - 0.35) / 0.08) ** 2)) + 0.03 * np.clip((y - 0.45) / (CROTCH - 0.45), 0, None)


def arm_radius(s: np.ndarray) -> np.ndarray:
    """Along the arm from the shoulder: tapering, narrowest at the wrist, a palm beyond it."""
    taper = 0.046 - 0.036 * s
    narrow = 0.006 * np.exp(-(((s - WRIST_AT) / 0.03) ** 2))
    palm = 0.014 * np.exp(-(((s - PALM_AT) / 0.035) ** 2))
    return taper - narrow + palm


def neck_radius(y: np.ndarray) -> np.ndarray:
    """Narrowest half-way between its ends."""
    return 0.055 + 2.0 * (y - NECK) ** 2


def _tube(
    points: np.ndarray, start: np.ndarray, axis: np.ndarray, radius: Profile, low: float, high: float
) -> np.ndarray:
    """Negative inside a solid of revolution about an axis, between two distances along it."""
    offset = points - start
    along = offset @ axis
    away = np.linalg.norm(offset - along[:, None] * axis, axis=1)
    return np.maximum(away - radius(np.clip(along, low, high)), np.maximum(low - along, along - high))


@dataclass(frozen=True)
class Phantom:
    """The person with its arms `drop` degrees below the horizontal, its neck leaning forward by `lean` degrees."""

    drop: float = 45.0
    lean: float = 0.0
    arms: bool = True
    cell: float = 0.012

    def inside(self, points: np.ndarray) -> np.ndarray:
        """Negative inside, zero on the surface, (N,)."""
        return np.min(self.parts(points), axis=0)

    def parts(self, points: np.ndarray) -> list[np.ndarray]:
        """The same for each part of the body: trunk, neck, head, and both legs, arms and shoulders, each (N,)."""
        up = np.array([0.0, 1.0, 0.0])
        x, y, z = points.T
        trunk = (np.hypot(x / half_width(y), z / half_depth(y)) - 1) * 0.1
        parts = [np.maximum(trunk, np.maximum(CROTCH - y, y - SHOULDERS))]
        lean = np.radians(self.lean)
        axis = np.array([0.0, np.cos(lean), np.sin(lean)])
        base = np.array([0.0, NECK_BASE, 0.0])
        parts.append(_tube(points, base, axis, lambda s: neck_radius(s + NECK_BASE), 0.0, CROWN - HEAD - NECK_BASE))
        head = base + (CROWN - HEAD - NECK_BASE) * axis
        head[1] = CROWN - HEAD
        parts.append(np.linalg.norm((points - head) / [0.8, 1, 0.9], axis=1) - HEAD)
        for side in (1.0, -1.0):
            parts.append(_tube(points, np.array([side * LEG_OUT, 0, 0]), up, leg_radius, 0.0, CROTCH + 0.02))
            if self.arms:
                start, arm = self.arm(side)
                parts.append(_tube(points, start, arm, arm_radius, 0.0, ARM_LENGTH))
                parts.append(np.linalg.norm(points - start, axis=1) - arm_radius(np.zeros(1)))
        return parts

    def arm(self, side: float) -> tuple[Float[np.ndarray, "3"], Float[np.ndarray, "3"]]:
        """Shoulder joint and direction of one arm."""
        drop = np.radians(self.drop)
        return np.array([side * SHOULDER_OUT, SHOULDERS - 0.05, 0.0]), np.array(
            [side * np.cos(drop), -np.sin(drop), 0.0]
        )

    @property
    def body(self) -> Body:
        """The mesh, closed, with one morph that makes it a tenth larger."""
        return _mesh(self)

    def cut_mesh(self) -> Body:
        """Cut and smoothed anew."""
        vertices, faces = self._surface(self.inside)
        return Body("phantom", vertices, faces, ("grow",), 0.1 * vertices[None], Range.unit(("grow",)))

    @property
    def body_of_shells(self) -> Body:
        """The same person put together from closed shells that stick in one another, one per part."""
        return _shells(self)

    def cut_shells(self) -> Body:
        """Every part cut and smoothed by itself."""
        count, vertices, faces = len(self.parts(np.zeros((1, 3)))), [], []
        for part in range(count):
            points, triangles = self._surface(lambda where, part=part: self.parts(where)[part])
            faces.append(triangles + sum(map(len, vertices)))
            vertices.append(points)
        whole = np.concatenate(vertices)
        return Body("shells", whole, np.concatenate(faces), ("grow",), 0.1 * whole[None], Range.unit(("grow",)))

    def _surface(self, field: Profile) -> tuple[np.ndarray, np.ndarray]:
        """Where a field is zero, outward."""
        low, high = np.array([-0.90, -0.03, -0.20]), np.array([0.90, 1.74, 0.40])
        axes = [np.arange(a, b, self.cell) + 1e-4 for a, b in zip(low, high)]
        grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)
        # libigl counts x fastest.
        points = np.ascontiguousarray(grid.transpose(2, 1, 0, 3).reshape(-1, 3))
        vertices, faces = igl.marching_cubes(field(points), points, *map(len, axes), 0.0)[:2]
        vertices, faces = np.asarray(vertices, dtype=float), np.asarray(faces, dtype=np.int64)
        vertices = self._on_surface(vertices, field)
        corners = vertices[faces]
        if np.einsum("fi,fi->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) < 0:
            faces = faces[:, ::-1]
        return vertices, faces

    @property
    def body_with_joints(self) -> Body:
        """The same with the joints of arms and legs."""
        places = {"root": np.zeros(3)}
        for letter, side in (("l", 1.0), ("r", -1.0)):
            start, arm = self.arm(side)
            places |= {f"upper_arm_{letter}": start, f"forearm_{letter}": start + ELBOW_AT * arm}
            places[f"shin_{letter}"] = np.array([side * LEG_OUT, KNEE, 0.0])
        rest = np.tile(np.eye(4), (len(places), 1, 1))
        rest[:, :3, 3] = list(places.values())
        parents = np.where(np.arange(len(places)) == 0, -1, 0)
        return replace(self.body, skeleton=Skeleton(tuple(places), parents, rest, np.linalg.inv(rest)))

    def _on_surface(self, vertices: np.ndarray, field: Profile) -> np.ndarray:
        """Newton steps along the gradient; a step is never longer than half a cell, so creases stay where they are."""
        step = 1e-5
        for _ in range(3):
            value = field(vertices)
            steps = [field(vertices + step * axis) - field(vertices - step * axis) for axis in np.eye(3)]
            gradient = np.stack(steps, axis=1) / (2 * step)
            move = (value / np.maximum((gradient**2).sum(axis=1), 1e-3))[:, None] * gradient
            length = np.linalg.norm(move, axis=1, keepdims=True)
            vertices = vertices - move * np.minimum(1, 0.5 * self.cell / np.maximum(length, 1e-12))
        return vertices


@cache
def _mesh(phantom: Phantom) -> Body:
    """Each phantom is cut once in a run; nobody writes into it."""
    return phantom.cut_mesh()


@cache
def _shells(phantom: Phantom) -> Body:
    return phantom.cut_shells()
