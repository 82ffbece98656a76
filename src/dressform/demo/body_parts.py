"""From the anatomy table to the implicit body: frames, parts, fingers and toes, strokes."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from jaxtyping import Float
from scipy.interpolate import CubicSpline

from dressform.demo.body_anatomy import CENTIMETRE, Anatomy
from dressform.demo.body_field import ROWS, Field
from dressform.demo.body_field_kernels import REACH, STROKE_REACH

Vector = Float[np.ndarray, "3"]
MARGIN = 1.5 * REACH
"""Softness lengths around a part within which it is looked at: its first-order distance runs short of the true one."""
FINGERS = ("thumb", "index", "middle", "ring", "little")
FINGER_SOFTNESS = 0.2
FINGER_EDGE = 0.42
KNUCKLE = 0.09
TOE_SOFTNESS = 0.2
TOE_EDGE = 0.5


@dataclass(frozen=True)
class PartFrame:
    """Axes (rows), origin in metres, and size of one centimetre of its table."""

    origin: Vector
    axes: Float[np.ndarray, "3 3"]
    scale: float

    def point(self, local: Any) -> Vector:
        """World position of a table position, metres."""
        return self.origin + self.scale * CENTIMETRE * (np.asarray(local, float) @ self.axes)

    def direction(self, local: Any) -> Vector:
        """World unit vector of a table direction."""
        world = np.asarray(local, float) @ self.axes
        return world / np.linalg.norm(world)


@dataclass(frozen=True)
class FieldPart:
    """One part of the body on its way into a `Field`, metres; `bones` change along the axis at `joints`."""

    name: str
    side: str
    origin: Vector
    axes: Float[np.ndarray, "3 3"]
    length: float
    section: Float[np.ndarray, "R 4"]
    caps: Float[np.ndarray, "2"]
    squareness: float
    softness: float
    edge: float
    bones: tuple[str, ...]
    joints: tuple[float, ...]
    blend: float

    def mirrored(self) -> "FieldPart":
        """The same part of the body's other side."""
        flip = np.array([-1.0, 1.0, 1.0])
        return FieldPart(**{**self.__dict__, "side": "r", "origin": self.origin * flip, "axes": self.axes * flip})


def frames(anatomy: Anatomy) -> dict[str, PartFrame]:
    """World frames of the table, by name; axes are made orthonormal from x and y, or from y and z."""
    result: dict[str, PartFrame] = {}
    for name, entry in anatomy["frames"].items():
        parent = result[entry["parent"]] if "parent" in entry else PartFrame(np.zeros(3), np.eye(3), 1.0)
        if "x" in entry:
            x = entry["x"] / np.linalg.norm(entry["x"])
            y = entry["y"] - x * (entry["y"] @ x)
            y = y / np.linalg.norm(y)
            axes = np.stack([x, y, np.cross(x, y)])
        elif "y" in entry:
            y = entry["y"] / np.linalg.norm(entry["y"])
            z = entry["z"] - y * (entry["z"] @ y)
            z = z / np.linalg.norm(z)
            axes = np.stack([np.cross(y, z), y, z])
        else:
            axes = np.eye(3)
        origin = parent.point(entry["origin"]) if "origin" in entry else parent.origin
        result[name] = PartFrame(origin, axes @ parent.axes, parent.scale * float(entry.get("scale", 1.0)))
    return result


def parts(anatomy: Anatomy) -> list[FieldPart]:
    """All parts of both sides, in a fixed order."""
    at = frames(anatomy)
    result: list[FieldPart] = []
    for name, entry, sided in _entries(anatomy):
        part = _part(name, entry, at[entry["frame"]], "l" if sided else "")
        result.append(part)
        if sided:
            result.append(part.mirrored())
    return result


def _entries(anatomy: Anatomy) -> Iterator[tuple[str, dict[str, Any], bool]]:
    for name, entry in anatomy["parts"].items():
        yield name, entry, bool(entry.get("mirrored", anatomy["frames"][entry["frame"]].get("mirrored", False)))
    for name in FINGERS:
        points = finger_points(anatomy, name)
        for joint, (start, end) in enumerate(pairwise(points), start=1):
            yield (
                f"{name}_{joint}",
                {
                    "frame": "hand",
                    "from": start,
                    "to": end,
                    "side": np.array([0.0, 1.0, 0.0]),
                    "radius": _phalanx(anatomy["fingers"][name]["radius"], joint),
                    "softness": FINGER_SOFTNESS,
                    "edge": FINGER_EDGE,
                    "bones": ["hand", f"{name}_1"] if joint == 1 else [f"{name}_1", f"{name}_2"],
                    "joints": np.zeros(1) if joint < 3 else np.full(1, -9.0),
                    "blend": 1.6,
                },
                True,
            )
    for name, row in anatomy["toes"].items():
        yield (
            f"toe_{name}",
            {
                "frame": "foot",
                "from": row[:3],
                "to": row[3:6],
                "side": np.array([1.0, 0.0, 0.0]),
                "radius": row[6:8],
                "softness": TOE_SOFTNESS,
                "edge": TOE_EDGE,
                "bones": ["toes"],
            },
            True,
        )


def _phalanx(radius: Float[np.ndarray, " 4"], joint: int) -> Float[np.ndarray, " 3"]:
    """Radii at the start, middle and end of a finger's bone, less at the joints: there two bones blend and swell."""
    start, end = radius[joint - 1], radius[joint]
    return np.array([start - KNUCKLE, (start + end) / 2, end - (KNUCKLE if joint < 3 else 0.0)])


def finger_points(anatomy: Anatomy, name: str) -> Float[np.ndarray, "4 3"]:
    """Knuckle to tip in the hand's table coordinates, centimetres, (4, 3)."""
    finger = anatomy["fingers"][name]
    direction = finger["direction"] / np.linalg.norm(finger["direction"])
    points = [finger["root"]]
    for bend, length in zip(np.radians(finger["bend"]), finger["lengths"]):
        towards = finger["plane"] - direction * (finger["plane"] @ direction)
        towards = towards / np.linalg.norm(towards)
        direction = np.cos(bend) * direction + np.sin(bend) * towards
        points.append(points[-1] + length * direction)
    return np.stack(points)


def _part(name: str, entry: dict[str, Any], frame: PartFrame, side: str) -> FieldPart:
    if "centre" in entry:
        start = end = entry["centre"]
        axes = np.stack([frame.direction(axis) for axis in entry.get("axes", np.eye(3))])
        u, v, w = entry["radii"]
        stations, section, caps = np.zeros(1), np.array([[0.0, 0.0, v, w]]), np.array([u, u])
    else:
        start, end = entry["from"], entry["to"]
        u = frame.direction(end - start)
        v = frame.direction(entry["side"])
        v = v - u * (u @ v)
        axes = np.stack([u, v / np.linalg.norm(v), np.cross(u, v / np.linalg.norm(v))])
        stations, section = _stations(entry, float(np.linalg.norm(end - start)))
        caps = np.asarray(entry.get("cap", section[[0, -1], 2:].mean(axis=1)), float)
    size = frame.scale * CENTIMETRE
    return FieldPart(
        name=name,
        side=side,
        origin=frame.point(start),
        axes=axes,
        length=float(np.linalg.norm(end - start)) * size,
        section=_sampled(stations, section) * size,
        caps=caps * size,
        squareness=float(entry.get("squareness", 2.0)),
        softness=float(entry["softness"]) * size,
        edge=float(entry["edge"]) * size,
        bones=tuple(entry["bones"]),
        joints=tuple(float(joint) * size for joint in entry.get("joints", ())),
        blend=float(entry.get("blend", 1.0)) * size,
    )


def _stations(entry: dict[str, Any], length: float) -> tuple[Float[np.ndarray, " N"], Float[np.ndarray, "N 4"]]:
    if "radius" in entry:
        radius = entry["radius"]
        zero = np.zeros(len(radius))
        return np.linspace(0.0, length, len(radius)), np.stack([zero, zero, radius, radius], axis=1)
    one = np.ones(len(entry["at"]))
    outer, inner = (entry["wide"] * one,) * 2 if "wide" in entry else (entry["outer"], entry["inner"])
    front, back = (entry["deep"] * one,) * 2 if "deep" in entry else (entry["front"], entry["back"])
    section = np.stack([outer - inner, front - back, outer + inner, front + back], axis=1) / 2
    return entry["at"] / entry["at"][-1] * length, section


def _sampled(stations: Float[np.ndarray, " N"], section: Float[np.ndarray, "N 4"]) -> Float[np.ndarray, "R 4"]:
    if len(stations) == 1:
        return np.repeat(section, ROWS, axis=0)
    return CubicSpline(stations, section, bc_type="clamped")(np.linspace(0.0, stations[-1], ROWS))


def field_of(anatomy: Anatomy) -> Field:
    """The implicit body of an anatomy."""
    all_parts = parts(anatomy)
    return Field(
        parts=np.stack([_numbers(part) for part in all_parts]),
        section=np.stack([part.section for part in all_parts]),
        strokes=_strokes(anatomy),
    )


def _numbers(part: FieldPart) -> Float[np.ndarray, "22"]:
    """One row of `Field.parts`; its ball holds everything within REACH softness lengths of the part."""
    centre = part.origin + part.axes[0] * (part.length + part.caps[1] - part.caps[0]) / 2
    half = (part.length + part.caps.sum()) / 2
    core = np.hypot(half, np.hypot(*(np.abs(part.section[:, :2]) + part.section[:, 2:]).max(axis=0)))
    shape = [part.length, *part.caps, part.squareness, part.softness]
    return np.concatenate([part.origin, part.axes.ravel(), shape, centre, [core + MARGIN * part.softness, core]])


def _strokes(anatomy: Anatomy) -> Float[np.ndarray, "S 17"]:
    at = frames(anatomy)
    rows = []
    for number, entry in enumerate(anatomy["strokes"].values()):
        frame = at[entry["frame"]]
        size = frame.scale * CENTIMETRE
        corners = [frame.point(point) for point in entry.get("path", [entry.get("from"), entry.get("to")])]
        sided = bool(entry.get("mirrored", anatomy["frames"][entry["frame"]].get("mirrored", False)))
        drawn = [float(entry["radius"]) * size, float(entry["depth"]) * size, float(entry.get("fade", 0.0)), sided]
        share = 1.0 / (len(corners) - 1)
        for index, (start, end) in enumerate(pairwise(corners)):
            ball = np.append((start + end) / 2, np.linalg.norm(end - start) / 2 + STROKE_REACH * drawn[0])
            rows.append(np.concatenate([start, end, drawn, [number, index * share, share], ball]))
    return np.stack(rows)


def density_of(anatomy: Anatomy) -> Float[np.ndarray, "D 5"]:
    """Places with finer triangles: position, radius, edge length, metres."""
    at = frames(anatomy)
    rows = []
    for entry in anatomy["density"].values():
        frame = at[entry["frame"]]
        lengths = np.array([float(entry["radius"]), float(entry["edge"])]) * frame.scale * CENTIMETRE
        rows.append(np.append(frame.point(entry["at"]), lengths))
    return np.stack(rows)
