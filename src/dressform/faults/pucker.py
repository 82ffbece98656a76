"""Pucker: how far the cloth departs from any smooth deformation of what its maker modelled."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import ClothPoints, Faces
from dressform.errors import ArgumentError
from dressform.faults.kernels.posed_pucker import posed_residuals
from dressform.faults.kernels.pucker import choose_stations, gather_windows, window_bases, window_residuals
from dressform.faults.percentiles import percentiles, reached
from dressform.faults.results import Pucker
from dressform.garment.parts import seam_leaders
from dressform.mesh.geometry import vertex_areas, vertex_normals
from dressform.mesh.topology import adjacency

WINDOW_RADIUS = 0.03
"""Radius of a window, metres: 3 cm, on an adult about 1.8 % of stature."""
MIN_COSINE = 0.2
"""Normals of one window agree: their cosine with that of its centre is larger."""
FEWEST_STATIONS = 10
"""A window with fewer is widened: seven unknowns would fit whatever the cloth does."""
TELLING_RADIUS = 1.3
"""A window widened beyond this multiple of the radius tells how the cloth bends, not whether it puckers."""
TELLING_SHARE = 0.5
"""Where windows tell on less of the cloth than this share, it is too coarse for a figure."""
PATCH = 5e-4
"""Graded is the index that so much of the cloth reaches, m²: one fold that is seen covers about this."""
SMOOTH_BELOW = 0.005
"""Repairs and causes take a surface with a lower index for smooth; below it nothing is seen in glancing light."""
STATIONS_PER_RADIUS = 5.0
"""Cloth finer than a radius over this is thinned, so that cost depends on area and not on the mesh."""


@dataclass(frozen=True)
class PuckerWindows:
    """Data of a garment's windows that is the same for every shape; see `pucker_windows`.

    Attributes:
        stations: Vertex at the centre of each window, (S,).
        owner: Station that stands for each vertex, (G,).
        areas: Area that each station stands for, m², (S,).
        members: Stations of all windows, one after another, (E,).
        bounds: Where each window starts in `members`, (S + 1,).
        radii: Radius of each window, metres, (S,).
        roots: Root of the weight of each member, (E,).
        basis: Orthonormal basis of the fit at each member, (E, 7).
        tells: Whether the window holds enough stations near its centre to tell puckers from bends, (S,).
        triangles: How the tangential scale is read off the basis, (S, 3).
        totals: Sum of the weights of each window, (S,).
    """

    stations: Int[np.ndarray, " S"]
    owner: Int[np.ndarray, " G"]
    areas: Float[np.ndarray, " S"]
    members: Int[np.ndarray, " E"]
    bounds: Int[np.ndarray, " S1"]
    radii: Float[np.ndarray, " S"]
    tells: Bool[np.ndarray, " S"]
    roots: Float[np.ndarray, " E"]
    basis: Float[np.ndarray, "E 7"]
    triangles: Float[np.ndarray, "S 3"]
    totals: Float[np.ndarray, " S"]


def pucker_windows(vertices: ClothPoints, faces: Faces, *, radius: float = WINDOW_RADIUS) -> PuckerWindows:
    """Windows around every station of a garment, and an orthonormal basis of what counts as smooth in each.

    A window holds what is connected to its centre on the cloth, nearer than `radius`, with agreeing normals; so layers
    that lie on each other are measured separately. With local coordinates (u, v along the cloth, n across) the
    basis spans 1, u, v, n, u², uv, v², weighted a (1 − ρ²)², where a is a station's area and ρ its distance over
    the radius.

    Args:
        vertices: The garment as its maker modelled it, (G, 3), metres.
        faces: Triangles, (F, 3).
        radius: Radius of the windows, metres.

    Raises:
        ArgumentError: `radius` is not positive.

    Source: our own; the nearest published relative are the affine-invariant stencils of [DeGoes2020].
    """
    if not radius > 0:
        raise ArgumentError.of("pucker_windows", "radius", "positive metres", f"{radius:g}", "Use 0.03 for an adult")
    leaders = seam_leaders(vertices, faces)
    faces = leaders[faces]
    graph = adjacency(faces, len(vertices))
    first, neighbours = graph.indptr.astype(np.int64), graph.indices.astype(np.int64)
    points = np.ascontiguousarray(vertices, dtype=np.float64)
    normals = vertex_normals(vertices, faces)
    stations, owner, areas = choose_stations(
        points, first, neighbours, vertex_areas(vertices, faces), radius / STATIONS_PER_RADIUS
    )
    stations, owner, areas = _without_followers(stations, owner, areas, leaders)
    station_of = np.full(len(vertices), -1)
    station_of[stations] = np.arange(len(stations))
    members, bounds, radii = gather_windows(
        points, normals, first, neighbours, stations, station_of, radius, MIN_COSINE, FEWEST_STATIONS
    )
    frames = _frames(normals[stations])
    roots, basis, triangles, totals = window_bases(points[stations], frames, areas, members, bounds, radii)
    tells = (radii <= TELLING_RADIUS * radius) & (np.diff(bounds) >= FEWEST_STATIONS)
    return PuckerWindows(stations, owner, areas, members, bounds, radii, tells, roots, basis, triangles, totals)


def _without_followers(
    stations: Int[np.ndarray, " S"],
    owner: Int[np.ndarray, " G"],
    areas: Float[np.ndarray, " S"],
    leaders: Int[np.ndarray, " G"],
) -> tuple[Int[np.ndarray, " N"], Int[np.ndarray, " G"], Float[np.ndarray, " N"]]:
    """Stations that stand for a point of the cloth; the other vertices of a seam are owned by that of their leader."""
    kept = leaders[stations] == stations
    number = np.cumsum(kept) - 1
    return stations[kept], number[owner[leaders]], areas[kept]


def pucker_index(windows: PuckerWindows, moved: ClothPoints) -> Float[np.ndarray, " S"]:
    """Pucker index of every window, (S,): RMS distance of the moved stations from the best fit, over r × scale.

    C_r(p) = (Σ w |residual|² / Σ w)^½ / s, with s = r √(product of the two tangential stretches of the fit). Zero for
    every affine map, so for every similarity; blind to smooth bending, whose residual falls with r³; pleats that were
    modelled add nothing, because the garment's own positions are part of the fit.

    Args:
        windows: From `pucker_windows`.
        moved: Cloth on a shape, (G, 3), metres.

    Proof: tests/faults/test_pucker.py::test_affine_maps_do_not_pucker
    """
    points = np.ascontiguousarray(moved[windows.stations], dtype=np.float64)
    return window_residuals(
        points,
        windows.members,
        windows.bounds,
        windows.radii,
        windows.roots,
        windows.basis,
        windows.triangles,
        windows.totals,
    )


def posed_pucker_index(
    windows: PuckerWindows,
    shaped: Float[np.ndarray, "V 3"],
    posed: Float[np.ndarray, "V 3"],
    maps: Float[np.ndarray, "V 3 4"] | None = None,
) -> Float[np.ndarray, " S"]:
    """Pucker index of every window at a stance beyond that of its smooth part carried there, (S,).

    Args:
        windows: From `pucker_windows`.
        shaped: The surface on the shape at rest, metres.
        posed: The same at the stance.
        maps: What carries the smooth part; all to one point where left out, so that nothing is taken off.

    Proof: tests/faults/posed/test_posed_look.py::test_jumping_joint_weights_pucker_at_a_stance_and_not_at_rest
    """
    stations = windows.stations
    return posed_residuals(
        np.ascontiguousarray(shaped[stations]),
        np.ascontiguousarray(posed[stations]),
        np.zeros((len(stations), 3, 4)) if maps is None else np.ascontiguousarray(maps[stations]),
        windows.members,
        windows.bounds,
        windows.radii,
        windows.roots,
        windows.basis,
        windows.triangles,
        windows.totals,
    )


def measure_pucker(windows: PuckerWindows, index: Float[np.ndarray, " S"]) -> Pucker:
    """Percentiles by area of the pucker index, and what a patch reaches; NaN where too few windows tell.

    Proof: tests/faults/test_pucker_mesh.py
    """
    tells, total = windows.tells, float(windows.areas.sum())
    told = float(windows.areas[tells].sum()) / total if total > 0 else 1.0
    if told < TELLING_SHARE:
        return Pucker(np.nan, np.nan, np.nan, np.nan, told, np.nan)
    areas = windows.areas[tells]
    p50, p95, p99 = percentiles(index[tells], areas, (50.0, 95.0, 99.0))
    return Pucker(p50, p95, p99, float(index[tells].max(initial=0.0)), told, reached(index[tells], areas, PATCH))


def _frames(normals: Float[np.ndarray, "S 3"]) -> Float[np.ndarray, "S 3 3"]:
    """Rows u, v, n of an orthonormal frame at each station, (S, 3, 3); the axes where a normal is zero."""
    across = np.where(np.abs(normals).sum(axis=1, keepdims=True) > 0, normals, np.array([0.0, 0.0, 1.0]))
    helper = np.zeros_like(across)
    helper[np.arange(len(across)), np.argmin(np.abs(across), axis=1)] = 1.0
    u = np.cross(helper, across)
    u /= np.linalg.norm(u, axis=1, keepdims=True)
    return np.stack([u, np.cross(across, u), across], axis=1)
