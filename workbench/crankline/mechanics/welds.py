"""Fillet welds: throat, allowable force, and weld groups taken as lines; mm, N, N/mm2 (= MPa).

Screening arithmetic for a builder, never a certificate: it knows nothing of fit-up, heat or the hand that welds. A weld as
a line has no width; forces on it are N per mm of weld and are compared with `allowable_force` of its leg.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

THROAT = 0.707
"""Throat of an equal-leg fillet over its leg, as AWS D1.1 and the published tables round it."""

ALLOWABLE_SHARE = 0.30
"""Allowable stress on the throat over the filler's tensile strength F_EXX (AWS D1.1, allowable stress design)."""

AS_A_LINE = "weld as a line, 0.30 F_EXX on the throat (AWS D1.1)"
"""What is said of how a weld was computed."""


def throat(leg: ArrayLike) -> np.ndarray:
    """Throat of an equal-leg fillet, mm: 0.707 leg."""
    return THROAT * np.asarray(leg, dtype=float)


def allowable_force(filler_strength: ArrayLike, leg: ArrayLike) -> np.ndarray:
    """Allowable force per length of a fillet, N/mm: 0.30 F_EXX on the throat (AWS D1.1), for any direction of force."""
    return ALLOWABLE_SHARE * np.asarray(filler_strength, dtype=float) * throat(leg)


def flare_throat(radius: ArrayLike) -> np.ndarray:
    """Effective throat of a flare bevel groove between a flat and a round of this outside radius, filled flush, mm: 5/16 R (AWS D1.1)."""
    return 0.3125 * np.asarray(radius, dtype=float)


def least_leg(thicker_part: ArrayLike) -> np.ndarray:
    """Least fillet leg, mm, for the thicker part joined: 3 up to 6 mm, 5 to 12, 6 to 19, 8 above (AWS D1.1)."""
    return np.array([3.0, 5.0, 6.0, 8.0])[np.searchsorted([6.0, 12.0, 19.0], thicker_part)]


# --- groups of lines --------------------------------------------------------------------------------------------------


class LineProperties(NamedTuple):
    """A weld group as lines of no width: length mm, centroid (u, v) mm, second moments mm3 about the centroid.

    i_u: integral of v^2, i_v: of u^2, i_uv: of u v, polar (J_w): i_u + i_v.
    """

    length: float
    centroid: np.ndarray
    i_u: float
    i_v: float
    i_uv: float
    polar: float


def line_properties(segments: ArrayLike) -> LineProperties:
    """Exact properties of straight weld lines, segments (M, 2, 2): start and end of each as (u, v), mm."""
    segments = np.asarray(segments, dtype=float).reshape(-1, 2, 2)
    start, end = segments[:, 0], segments[:, 1]
    lengths = np.linalg.norm(end - start, axis=-1)
    length = lengths.sum()
    if not length > 0.0:
        raise ValueError("weld: found no length; give at least one line with two different ends.")
    centroid = (lengths[:, None] * 0.5 * (start + end)).sum(axis=0) / length
    a, b = start - centroid, end - centroid
    # Integral of the outer product of r over a straight line: length/6 (2 aa + ab + ba + 2 bb).
    share = (lengths / 6.0)[:, None]
    moments = (share * a).T @ (2.0 * a + b) + (share * b).T @ (a + 2.0 * b)
    return LineProperties(length, centroid, moments[1, 1], moments[0, 0], moments[0, 1], moments[0, 0] + moments[1, 1])


def peak_line_force(segments: ArrayLike, force: ArrayLike, moment: ArrayLike) -> np.ndarray:
    """Largest force per length of a weld group, N/mm: elastic vector method, weld as a line (Design of Welded Structures).

    segments: (M, 2, 2) in the plane u, v of the weld; force (..., 3) in N and moment (..., 3) in N.mm about the centroid,
    along u, v and the normal (right-handed). Direct force is shared evenly, the moment about the normal acts square to
    the distance from the centroid, the other two give a plane of force along the normal. The peak is at an end of a line.
    ValueError where the lines lie in one straight line and the moment would bend it open sideways.
    """
    segments = np.asarray(segments, dtype=float).reshape(-1, 2, 2)
    group = line_properties(segments)
    force, moment = np.asarray(force, dtype=float), np.asarray(moment, dtype=float)
    points = segments.reshape(-1, 2) - group.centroid
    u, v = points[:, 0], points[:, 1]
    shared = force[..., None, :] / group.length
    spin = moment[..., 2:] / group.polar
    second, det = np.array([[group.i_v, group.i_uv], [group.i_uv, group.i_u]]), group.i_v * group.i_u - group.i_uv**2
    bending = np.stack([-moment[..., 1], moment[..., 0]], axis=-1)
    if det <= 1e-12 * group.polar**2:
        # One straight line: it holds no moment about itself.
        along = (segments[0, 1] - segments[0, 0]) / np.linalg.norm(segments[0, 1] - segments[0, 0])
        about = moment[..., 0] * along[0] + moment[..., 1] * along[1]
        if np.any(np.abs(about) > 1e-9 * np.linalg.norm(moment, axis=-1)):
            raise ValueError("weld: a single straight line holds no moment about itself; weld both sides of the part.")
        slopes = bending @ np.linalg.pinv(second, rcond=1e-10)
    else:
        slopes = bending @ np.array([[group.i_u, -group.i_uv], [-group.i_uv, group.i_v]]) / det
    along_u = shared[..., 0] - spin * v
    along_v = shared[..., 1] + spin * u
    normal = shared[..., 2] + slopes[..., :1] * u + slopes[..., 1:] * v
    return np.sqrt(along_u**2 + along_v**2 + normal**2).max(axis=-1)


def pair(spacing: float, length: float) -> np.ndarray:
    """Segments of two lines of this length along u, spaced along v: a tab welded on both faces, mm."""
    half, side = 0.5 * length, 0.5 * spacing
    return np.array([[[-half, -side], [half, -side]], [[-half, side], [half, side]]])


def box(width: float, height: float) -> np.ndarray:
    """Segments of a weld all round a rectangle, width along u and height along v, mm."""
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * 0.5 * np.array([width, height])
    return np.stack([corners, np.roll(corners, -1, axis=0)], axis=1)


def circle_modulus(diameter: ArrayLike) -> tuple[np.ndarray, np.ndarray]:
    """Section modulus (pi d^2 / 4, mm2) and polar moment (pi d^3 / 4, mm3) of a weld all round a tube."""
    diameter = np.asarray(diameter, dtype=float)
    return np.pi / 4.0 * diameter**2, np.pi / 4.0 * diameter**3


def tube_weld_force(
    diameter: ArrayLike, axial: ArrayLike, shear: ArrayLike, bending: ArrayLike, torque: ArrayLike = 0.0
) -> np.ndarray:
    """Largest force per length, N/mm, of a weld all round a tube's end, taken as a circle.

    axial and shear in N, bending and torque in N.mm. Shear counts double its mean, as it peaks at the sides of a thin ring;
    that it peaks where bending does not is left out: the careful side. A coped end is longer and holds more.
    """
    modulus, polar = circle_modulus(diameter)
    around = np.pi * np.asarray(diameter, dtype=float)
    normal = np.abs(axial) / around + np.abs(bending) / modulus
    along = 2.0 * np.abs(shear) / around + np.abs(torque) * 0.5 * np.asarray(diameter) / polar
    return np.hypot(normal, along)
