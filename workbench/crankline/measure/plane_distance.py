"""Exact distance of a body from an outer plane face of another in closed form. Needs the host.

All of a body is behind the plane of such a face. What stands beyond that plane is no nearer to the body than it is to the plane, and so
near it is if the place of it that is nearest to the plane stands over the face.
"""
from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial

import numpy as np

from ..mechanics.frames import cross, dot
from . import round_face
from .body import Body, Point, relative, skin_of
from .clearance import first_of
from .kept import Kept
from .round_face import EQUAL
from .skin import ROUNDING, Skin
from .triangle_distance import NEXT

MOST = 64
"""Faces of a body beyond which none of them is looked at: of few of so many all the others are behind."""


@dataclass(frozen=True, eq=False)
class Outer:
    """Plane faces between straight edges of a body that have all of it behind them, in its own frame: their numbers, outward unit normals,
    (k, 3), and how far along these they stand, mm, (k,)."""
    numbers: np.ndarray
    normals: np.ndarray
    heights: np.ndarray


def between(a: Body, b: Body, kept: Kept) -> tuple[float, tuple[Point, Point]] | None:
    """Distance of the surfaces of two bodies, mm, and a point on each, car frame; None where it is not told."""
    if kept.exact or not (a.mark and b.mark):
        return None
    first, second = skin_of(a, kept), skin_of(b, kept)
    if first is None or second is None:
        return None
    for flat, skin, other, around in ((a, first, b, second), (b, second, a, first)):
        outer = kept.of("outer planes", flat.mark, partial(_outer, skin))
        found = _from_planes(outer, skin, other, around, relative(flat, other), kept) if len(outer.numbers) else None
        if found is None:
            continue
        distance, on_flat, on_other = found
        return distance, first_of((on_flat, on_other) if flat is a else (on_other, on_flat), flat.pose)
    return None


def _outer(skin: Skin) -> Outer:
    numbers = np.flatnonzero((skin.slack == 0.0) & (dot(skin.normals, skin.normals) > 0.5)) if len(skin.slack) <= MOST else np.zeros(0, int)
    normals, (order, starts) = skin.normals[numbers], skin.by_face
    heights = dot(skin.corners[order[starts[numbers]], 0], normals)
    tops = (skin.corners @ normals.T).max(axis=1) + skin.slack[skin.face, None]
    outer = tops.max(axis=0, initial=-math.inf) < heights + ROUNDING
    return Outer(numbers[outer], normals[outer], heights[outer])


def _from_planes(outer: Outer, skin: Skin, other: Body, around: Skin, pose: np.ndarray, kept: Kept,
                 ) -> tuple[float, np.ndarray, np.ndarray] | None:
    """Distance of a body from those faces of another, and places (n, 3) on the face and on the body that are so far apart, in the frame of
    the faces' body; around: the body's skin; pose: (4, 4), from the body's frame to the faces'."""
    ways = outer.normals @ pose[:3, :3]
    lows = (around.corners @ ways.T).min(axis=1) - around.slack[around.face, None]
    gaps = lows.min(axis=0) + outer.normals @ pose[:3, 3] - outer.heights
    best = int(gaps.argmax())
    # Of bodies that touch more is asked than how far they are apart.
    if not gaps[best] > ROUNDING:
        return None
    way, straight = ways[best], around.slack[around.face] == 0.0
    least, places = math.inf, list[np.ndarray]()
    if straight.any():
        least, found = round_face.lowest(around.corners[straight].reshape(-1, 3), way)
        places = [found]
    bounds = np.full(len(around.slack), math.inf)
    np.minimum.at(bounds, around.face[~straight], lows[~straight, best] - ROUNDING)
    told = round_face.nearest(other, bounds, lambda face: face.lowest(way), least, places, kept)
    if told is None:
        return None
    least, places = told
    on_other = np.concatenate(places) @ pose[:3, :3].T + pose[:3, 3]
    normal = outer.normals[best]
    distance = least + float(normal @ pose[:3, 3] - outer.heights[best])
    on_flat = on_other - distance * normal
    over = _holds(skin.corners[skin.of_face(int(outer.numbers[best]))], normal, on_flat)
    return (distance, on_flat[over], on_other[over]) if over.any() else None


def _holds(triangles: np.ndarray, normal: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Whether points (n, 3) of a plane lie in any of its triangles (t, 3, 3) that turn around its normal, (n,)."""
    inward = cross(normal, triangles[:, NEXT] - triangles)
    inward /= np.sqrt(dot(inward, inward))[..., None]
    return np.asarray((dot(points[:, None, None] - triangles, inward) > -EQUAL).all(axis=2).any(axis=1))
