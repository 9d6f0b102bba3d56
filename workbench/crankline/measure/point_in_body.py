"""Where a point stands to a body, from the body's skin: what that proves the host need not be asked. Needs no host.

A skin's triangles stand off the faces by no more than their slack, and those of a plane face lie in its plane. So a point that is farther
than that from all of them is on the same side of the triangles as of the surface, and which side that is the solid angle tells that the
triangles fill about it (A. van Oosterom, J. Strackee, The solid angle of a plane triangle, IEEE Trans. Biomed. Eng. 30, 1983).
"""
from __future__ import annotations

import math

import numpy as np

from ..mechanics.frames import cross
from .skin import ROUNDING, Skin
from .triangle_distance import TINY

WHOLE = 0.05
"""Share of all directions by which a skin may miss to close: faces that are cut into triangles apart need not share the corners of their
common edges. What is missing there is no farther from an edge than the slack, and the point is."""


def near_faces(skin: Skin, point: np.ndarray, limit: float) -> dict[int, float]:
    """Numbers of the faces of which it is not shown that they are farther from a point (3,) than a limit, mm, each with a distance that it
    is shown to be no farther than; the skin's own frame."""
    slack = skin.slack[skin.face]
    reach = limit + slack + ROUNDING
    left = np.flatnonzero(_gaps(skin, point) <= reach)
    normal = skin.normals[skin.face[left]]
    off = np.abs(np.einsum("ni,ni->n", point - skin.corners[left, 0], normal))
    # Off its plane a face is nowhere.
    left = left[~(normal.any(axis=1) & (off > limit + ROUNDING))]
    found: dict[int, float] = {}
    for number, distance in zip(left, _distances(skin, left, point)):
        if distance <= reach[number]:
            face = int(skin.face[number])
            found[face] = min(found.get(face, math.inf), float(distance + slack[number] + ROUNDING))
    return found


def holds(skin: Skin, point: np.ndarray, limit: float) -> bool | None:
    """Whether a point (3,) lies in a body's material; None where the skin does not show it, or it may be no farther than a limit from the
    surface, mm. The skin's own frame."""
    low, high = skin.box[:3] - limit, skin.box[3:] + limit
    if (point < low).any() or (point > high).any():
        return False
    if near_faces(skin, point, limit):
        return None
    a, b, c = np.moveaxis(skin.corners - point, 1, 0)
    la, lb, lc = (np.sqrt(np.einsum("ni,ni->n", side, side)) for side in (a, b, c))
    ab, bc, ca = (np.einsum("ni,ni->n", *two) for two in ((a, b), (b, c), (c, a)))
    angles = np.arctan2(np.einsum("ni,ni->n", a, cross(b, c)), la * lb * lc + ab * lc + bc * la + ca * lb)
    share = float(angles.sum()) / (2.0 * math.pi)
    return True if abs(share - 1.0) < WHOLE else False if abs(share) < WHOLE else None


def lies_on(skin: Skin, point: np.ndarray) -> bool:
    """Whether a point (3,) is shown to lie on a body's surface: on triangles of a plane face, and where these reach past its rim, as they
    do in a round hole, no nearer to the faces beyond than that; the skin's own frame."""
    near = np.flatnonzero(_gaps(skin, point) <= ROUNDING)
    near = near[_distances(skin, near, point) <= ROUNDING]
    return any(skin.slack[face] == 0.0 or is_alone(skin, face, point, 0.0) for face in np.unique(skin.face[near]))


def is_alone(skin: Skin, face: int, point: np.ndarray, depth: float) -> bool:
    """Whether a point (3,) that stands so deep, mm, straight under a triangle of a face is shown to stand under the face itself, and no
    other one as near: where triangles of a plane face reach past its rim, another face is no farther from them than their slack. The skin's
    own frame."""
    return bool(skin.normals[face].any()) and set(near_faces(skin, point, depth + float(skin.slack[face]))) == {face}


def _gaps(skin: Skin, point: np.ndarray) -> np.ndarray:
    """Distances of a point from the boxes of the triangles, (t,)."""
    low, high = skin.boxes
    gap = np.maximum(np.maximum(low - point, point - high), 0.0)
    return np.sqrt(np.einsum("ni,ni->n", gap, gap))


def _distances(skin: Skin, chosen: np.ndarray, point: np.ndarray) -> np.ndarray:
    """Distances of a point from triangles of a skin by number, (n,)."""
    corners = skin.corners[chosen]
    sides, off = corners[:, [1, 2, 0]] - corners, point - corners
    length = np.einsum("nij,nij->ni", sides, sides)
    share = np.minimum(np.maximum(np.einsum("nij,nij->ni", off, sides) / np.where(length > 0.0, length, 1.0), 0.0), 1.0)
    apart = off - share[..., None] * sides
    from_sides = np.sqrt(np.einsum("nij,nij->ni", apart, apart).min(axis=1))
    normal = cross(sides[:, 0], sides[:, 1])
    size = np.sqrt(np.einsum("ni,ni->n", normal, normal))
    # Over the inside of a triangle its plane is nearest.
    over = (np.einsum("nij,nj->ni", cross(sides, off), normal) >= 0.0).all(axis=1) & (size > TINY)
    return np.where(over, np.abs(np.einsum("ni,ni->n", off[:, 0], normal)) / np.where(size > TINY, size, 1.0), from_sides)
