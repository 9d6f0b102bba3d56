"""What needs no exact distance: bodies that are proven to keep apart, or to be fitted to each other. Needs the host.

Every answer is either proven or "not known"; the host's own distance and intersection then decide (``distance``, ``overlap``).
"""
from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from functools import cache, cached_property, partial

import numpy as np

from . import box_tree, core, slabs, tube_distance, tube_joint
from .body import Body, framed_box, inverse, relative, rounds_of, shape_of, skin_of, tubes_of
from .kept import Kept
from .skin import Skin
from .surface import material_at
from .tube_piece import SAME

TOUCH = 1e-6
"""mm below which two surfaces touch."""

FITTED = 0.2
"""mm of overlap beyond which what is allowed is a weld's fit or more: such parts touch."""

NEARLY = 1.0
"""mm by which the quick boxes of parts that lie side by side may overlap."""

DEEP = 25.0
"""mm by which the boxes of bodies overlap of which one is likely to go around the other."""

FEW = 3
"""Pairs of faces that are measured in less time than it takes to tell more of them."""

SOME = 64
"""Corners of a skin that are first held against a plane."""


class _Pair:
    """Skins of two bodies as they stand to each other, each turned to the other's axes when that is first asked for."""

    def __init__(self, bodies: tuple[Body, Body], skins: tuple[Skin, Skin], kept: Kept):
        self.bodies, self.skins, self.kept, self.pose = bodies, skins, kept, relative(*bodies)

    @classmethod
    def of(cls, a: Body, b: Body, kept: Kept) -> _Pair | None:
        """The pair; None where either has no skin, or nothing is to be decided by bounds."""
        if kept.exact or not (a.mark and b.mark):
            return None
        first, second = skin_of(a, kept), skin_of(b, kept)
        return None if first is None or second is None else cls((a, b), (first, second), kept)

    @cached_property
    def gap(self) -> float:
        """What boxes along the axes of either keep from each other, mm: a lower bound of the distance; negative where they overlap."""
        first, second = self.skins
        gap = box_tree.least_gap(first.box, second.box_along(self.pose))
        return gap if gap >= 0.0 else max(gap, box_tree.least_gap(second.box, first.box_along(inverse(self.pose))))

    @cached_property
    def trees(self) -> tuple[box_tree.Tree, box_tree.Tree]:
        """Both skins as they stand to each other, along the own axes of the coarser one: boxes of large triangles fit them along these
        only. What was turned is not moved where the other one has less to move."""
        first, second = self.skins
        coarse = int(second.grain > first.grain)
        pose, still, turned = self._pose_to(coarse), self.skins[coarse].tree, self.skins[1 - coarse].turned(self._pose_to(coarse)[:3, :3])
        if len(still.face) < len(turned.face):
            still = still.moved(-pose[:3, 3])
        else:
            turned = turned.moved(pose[:3, 3])
        return (turned, still) if coarse else (still, turned)

    def apart(self, limit: float) -> bool:
        """Whether the surfaces are proven to keep farther apart than a limit, mm, triangle by triangle."""
        return box_tree.keep_apart(*self.trees, limit)

    @cached_property
    def aside(self) -> tuple[int, np.ndarray] | None:
        """Which of both is slender, and what its faces keep at least from the triangles of the other, mm (``slabs``); None: neither is."""
        for number, body, skin in zip((0, 1), self.bodies, self.skins):
            few = len(self.skins[1 - number].face) <= slabs.MOST
            found = self.kept.of("slabs", body.mark, partial(slabs.of, skin)) if few else None
            if found is not None:
                return number, found.gaps(self.skins[1 - number], self._pose_to(number))
        return None

    def beside(self, limit: float) -> bool:
        """Whether one of both is slender and the other proven to keep farther from it than a limit, mm, seen along it."""
        return self.aside is not None and bool(self.aside[1].min() > limit)

    @cached_property
    def faces_aside(self) -> np.ndarray | None:
        """The same of the faces of both, (faces of the first, faces of the second)."""
        if self.aside is None:
            return None
        number, gaps = self.aside
        order, starts = self.skins[1 - number].by_face
        found = np.minimum.reduceat(gaps[:, order], starts, axis=1)
        return np.asarray(found.T if number else found)

    def triangles(self, limit: float) -> tuple[np.ndarray, np.ndarray] | None:
        """Numbers of triangles of the first and of the second, beside each other, that may come within a limit, mm, seen along the one that
        is slender; None where neither is."""
        if self.aside is None:
            return None
        number, gaps = self.aside
        near, skin = gaps <= limit, self.skins[number]
        own, others = np.nonzero(near[skin.face])
        return (others, own) if number else (own, others)

    def tubes(self) -> tuple[int, int]:
        """The first (0) and the second (1), the one first that is round for the most part, and so is likelier a tube."""
        shares = [len(tubes_of(body, self.kept)) / len(skin.slack) for body, skin in zip(self.bodies, self.skins)]
        first = int(shares[1] > shares[0])
        return first, 1 - first

    def fitted(self, number: int, depth: float) -> bool:
        """Whether the first (0) or the second (1) is a tube, of which the other is proven to keep out but for a depth, mm."""
        tube, other = self._tube(number), self.bodies[1 - number]
        if not tube.one_bar:
            return bool(tube.pieces) and tube_joint.keeps_out(tube, self._other(number), depth)
        # What keeps out of a bar does so wherever along it: parts on a rail are moved along it with the powertrain.
        return bool(self.kept.between(("keeps out", depth), (self.bodies[number].mark, other.mark),
                                      tube_joint.slid_back(tube.pieces[0], self._pose_to(number)),
                                      lambda: tube_joint.keeps_out(tube, self._other(number), depth)))

    def past_end(self, number: int, depth: float) -> bool:
        """Whether the first (0) or the second (1) is one straight tube, of which the other is proven to keep out but for a depth, mm, where
        it is not past its ends."""
        tube = self._tube(number)
        return tube.one_bar and tube_joint.keeps_out(tube, self._other(number), depth, ended=True)

    def in_bore(self, number: int, depth: float) -> bool:
        """Whether the first (0) or the second (1) is a tube, in the bore of which the other is proven to stay but for a depth, mm."""
        tube = self._tube(number)
        return tube.bore is not None and tube_joint.stays_in_bore(tube, self._other(number), depth)

    def _tube(self, number: int) -> tube_joint.Tube:
        body, kept = self.bodies[number], self.kept
        return kept.of("tube joint", body.mark, lambda: tube_joint.Tube(shape_of(body, kept), self.skins[number], rounds_of(body, kept)))

    def _other(self, number: int) -> tube_joint.Other:
        """The other one than the first (0) or the second (1), as it stands to that."""
        return tube_joint.Other(shape_of(self.bodies[1 - number], self.kept), self.skins[1 - number], self._pose_to(number))

    def _pose_to(self, number: int) -> np.ndarray:
        """Placement of the other one in the frame of the first (0) or the second (1)."""
        return inverse(self.pose) if number else self.pose

    def beside_plane(self, number: int) -> bool:
        """Whether a plane face of the first (0) or the second (1) is proven to have the other one on its outside and, as far as that one's
        box goes, nothing of its own: so parts stand that are bolted face to face, whatever they are elsewhere."""
        skin, other, boxes = self.skins[number], self.skins[1 - number], self.skins[number].tree.boxes[-1]
        pose, box = self._pose_to(number), other.box_along(self._pose_to(number))
        (order, starts), corners = skin.by_face, other.corners.reshape(-1, 3) @ pose[:3, :3].T + pose[:3, 3]
        flat = np.flatnonzero((skin.normals != 0.0).any(axis=1))
        normals, points = skin.normals[flat], skin.corners[order[starts[flat]], 0]
        # Some of the corners leave few planes.
        heights = corners[::max(len(corners) // SOME, 1)] @ normals.T - np.einsum("ki,ki->k", points, normals)
        left = np.flatnonzero(heights.min(axis=0) > -TOUCH)
        near = np.flatnonzero(((boxes[:, :3] <= box[3:]) & (boxes[:, 3:] >= box[:3])).all(axis=1)) if len(left) else left
        for normal, point in zip(normals[left], points[left]):
            if other.lowest(normal @ pose[:3, :3]).min() + (pose[:3, 3] - point) @ normal <= -TOUCH:
                continue
            by_corners = (skin.corners[near] @ normal).max(axis=1) + skin.widened(normal[None])[skin.face[near], 0]
            if np.minimum(by_corners, -skin.lowest(-normal)[skin.face[near]]).max(initial=-np.inf) - point @ normal < TOUCH:
                # Beyond the plane and in the box there is no surface of its own: one point tells whether all of that is its material.
                farthest = corners[int((corners @ normal).argmax())]
                return not material_at(shape_of(self.bodies[number], self.kept), skin, farthest, SAME, border=True)
        return False


AROUND: dict[str, Callable[[Body, Body], tuple[Body, Body]]] = {"around 0": lambda a, b: (b, a), "around 1": lambda a, b: (a, b)}
"""Ways in which one of two bodies may stand around the other: which is the outer one and which the inner."""

OF_SKINS: dict[str, Callable[[_Pair, float], bool]] = {
    "boxes": lambda pair, _depth: pair.gap > -TOUCH, "apart": lambda pair, _depth: pair.apart(TOUCH),
    "fitted 0": lambda pair, depth: pair.fitted(0, depth), "fitted 1": lambda pair, depth: pair.fitted(1, depth),
    "past the end 0": lambda pair, depth: pair.past_end(0, depth), "past the end 1": lambda pair, depth: pair.past_end(1, depth),
    "bore 0": lambda pair, depth: pair.in_bore(0, depth), "bore 1": lambda pair, depth: pair.in_bore(1, depth),
    "plane 0": lambda pair, _depth: pair.beside_plane(0), "plane 1": lambda pair, _depth: pair.beside_plane(1)}
"""Ways that skins show."""

WAYS = {"side by side", *AROUND, *OF_SKINS}


def keep_apart(a: Body, b: Body, limit: float, kept: Kept) -> bool:
    """Whether the surfaces of two bodies are proven to keep farther apart than a limit, mm. One may be inside the other."""

    # What holds for a limit holds for every smaller one; where it is not known, it is not of a larger one.
    known = kept.between("keep apart", (a.mark, b.mark), relative(a, b), lambda: {True: -math.inf, False: math.inf})
    if known[True] < limit < known[False]:
        clear = True if _dear(a, b, kept) and core.keeps_clear(a, b, limit, kept) else tube_distance.keep_apart(a, b, limit, kept)
        if clear is None:
            pair = _Pair.of(a, b, kept)
            clear = pair is not None and (pair.gap > limit or pair.beside(limit) or pair.apart(limit))
        known[clear] = limit
    return bool(limit <= known[True])


def least_distance(a: Body, b: Body, kept: Kept) -> float:
    """A lower bound of the distance of the surfaces of two bodies, mm, that is less by no more than their skins stand off them; 0 where
    it is not known."""
    pair = _Pair.of(a, b, kept)
    return 0.0 if pair is None else box_tree.least_distance(*pair.trees)


def face_gaps(a: Body, b: Body, bound: float, distance: Callable[[int, int], float], kept: Kept) -> tuple[np.ndarray, float] | None:
    """Lower bounds of the distances of every two faces of two bodies, (faces of a, faces of b), inf where they cannot be nearest, and what
    the distance of the bodies' surfaces does not exceed; bound: the same as far as it is known, mm; distance: that of two faces, which is
    asked for once. None: not known."""
    pair = _Pair.of(a, b, kept)
    if pair is None:
        return None
    # What was nearest last time likely still is, or nearly so.
    hint, (first, second) = (a.key, f"{b.key}, nearest faces"), pair.skins
    likely = [int(number) for number in kept.likely.get(hint, "").split()]
    if not likely or likely[0] >= len(first.slack) or likely[1] >= len(second.slack):
        likely = [*box_tree.likely_faces(*pair.trees)]
    bound = min(bound, distance(*likely) + TOUCH)
    gaps = np.full((len(first.slack), len(second.slack)), np.inf)
    if (aside := pair.faces_aside) is not None and np.count_nonzero(aside <= bound) <= FEW:
        gaps = np.maximum(aside, 0.0)
    else:
        found = box_tree.face_gaps(*pair.trees, bound, pair.triangles(bound))
        if found is None:
            return None
        gaps[:found[0].shape[0], :found[0].shape[1]], bound = found
    kept.likely[hint] = " ".join(map(str, np.unravel_index(gaps.argmin(), gaps.shape)))
    return gaps, bound


def near_faces(a: Body, b: Body, limit: float, kept: Kept) -> np.ndarray | None:
    """Which two faces of two bodies may come within a limit, mm: (faces of a, faces of b). None: not known."""
    pair = _Pair.of(a, b, kept)
    found = None if pair is None else box_tree.near_faces(*pair.trees, limit)
    if pair is None or found is None:
        return None
    near = np.zeros((len(pair.skins[0].slack), len(pair.skins[1].slack)), dtype=bool)
    near[:found.shape[0], :found.shape[1]] = found
    return near


def keep_out(a: Body, b: Body, depth: float, holds: Callable[[Body | None], bool], kept: Kept) -> bool:
    """Whether two solids are proven to overlap by no more than a depth, mm: they stand side by side, or their surfaces keep apart, or one
    is a tube to which the other is fitted. holds: tells whether one holds the other, or whether the given one does, which surfaces that
    keep apart do not tell."""

    @cache
    def pair() -> _Pair | None:
        return _Pair.of(a, b, kept)

    def proven(way: str) -> bool:
        if way == "side by side":
            return side_by_side(a, b, kept)
        if way in AROUND:
            outer, inner = AROUND[way](a, b)
            return core.stays_around(outer, inner, TOUCH, kept) and not holds(outer)
        both = pair()
        return both is not None and OF_SKINS[way](both, depth) and (way != "apart" or not holds(None))

    # What told last time most often tells again.
    known = kept.likely.get((a.key, b.key), "")
    way = known if known in WAYS and proven(known) else next(
        (way for way in _order(a, b, depth, pair, kept) if way != known and proven(way)), None)
    if way is not None:
        kept.likely[a.key, b.key] = way
    return way is not None


def _order(a: Body, b: Body, depth: float, pair: Callable[[], _Pair | None], kept: Kept) -> Iterator[str]:
    """The ways in which two solids may be proven to keep out of each other, the cheap and likely ones first."""
    if _dear(a, b, kept):
        yield from (*AROUND, "side by side")
    both = pair()
    if both is None:
        yield "side by side"
        return
    yield "boxes"
    if both.gap < -DEEP:
        yield from AROUND
    # Plates face to face, then what is fitted to a tube with room to spare, then what stands clear.
    beside, fitted = both.gap > -NEARLY, [f"{way} {number}" for number in both.tubes() for way in ("fitted", "past the end")]
    yield from (*["side by side"] * beside, *fitted * (depth > FITTED), "apart", *fitted * (0.0 < depth <= FITTED),
                *["side by side"] * (not beside), "plane 0", "plane 1", "bore 0", "bore 1")


def least_gap(a: Body, b: Body, kept: Kept) -> float:
    """What boxes along the axes of either body keep from each other, mm: a lower bound of their distance; 0 where that is not known."""

    def measure() -> float:
        pair = _Pair.of(a, b, kept)
        return 0.0 if pair is None else max(pair.gap, 0.0)

    return kept.between("least gap", (a.mark, b.mark), relative(a, b), measure)


def _dear(a: Body, b: Body, kept: Kept) -> bool:
    return core.dear(a, kept) or core.dear(b, kept)


def side_by_side(a: Body, b: Body, kept: Kept) -> bool:
    """Whether a plane square to an axis of either's own frame has one body on each side, as with plates bolted face to face: then
    they cannot overlap. From exact boxes."""
    return kept.between("side by side", (a.mark, b.mark), relative(a, b),
                        lambda: _boxes_side_by_side(a, b, kept) or _boxes_side_by_side(b, a, kept))


def _boxes_side_by_side(a: Body, b: Body, kept: Kept) -> bool:
    place = a.shape.Placement
    first, second = (framed_box(body, place, kept, tight=False) for body in (a, b))
    if np.minimum(first[3:] - second[:3], second[3:] - first[:3]).min() > NEARLY:
        return False
    first, second = (framed_box(body, place, kept, tight=True) for body in (a, b))
    return bool(np.minimum(first[3:] - second[:3], second[3:] - first[:3]).min() < TOUCH)
