"""What needs no exact distance: bodies that are proven to keep apart, or to be fitted to each other. Needs the host.

Every answer is either proven or "not known"; the host's own distance and intersection then decide (``distance``, ``overlap``).
"""
from __future__ import annotations

from collections.abc import Callable
from functools import cached_property

import numpy as np

from . import box_tree, core, tube_joint
from .body import Body, framed_box, inverse, relative, shape_of, skin_of, tubes_of
from .kept import Kept
from .skin import Skin

TOUCH = 1e-6
"""mm below which two surfaces touch."""

FITTED = 0.2
"""mm of overlap beyond which what is allowed is a weld's fit or more: such parts touch."""

NEARLY = 1.0
"""mm by which the quick boxes of parts that lie side by side may overlap."""


AROUND = 50.0
"""mm by which the boxes of bodies overlap of which one is likely to go around the other."""


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
    def second(self) -> box_tree.Tree:
        """The second's skin in the first's frame."""
        return self.skins[1].placed(self.pose)

    @cached_property
    def first(self) -> box_tree.Tree:
        """The first's skin in the second's frame."""
        return self.skins[0].placed(inverse(self.pose))

    def least_gap(self) -> float:
        """What boxes along the axes of either keep from each other, mm: a lower bound of the distance; negative where they overlap."""
        first, second = self.skins
        gap = box_tree.least_gap(first.box, second.box_along(self.pose))
        return gap if gap >= 0.0 else max(gap, box_tree.least_gap(second.box, first.box_along(inverse(self.pose))))

    def apart(self, limit: float) -> bool:
        """Whether the surfaces are proven to keep farther apart than a limit, mm."""
        if self.least_gap() > limit:
            return True
        # Boxes of large triangles fit them along their own axes only.
        if self.skins[1].grain > self.skins[0].grain:
            return box_tree.keep_apart(self.skins[1].tree, self.first, limit)
        return box_tree.keep_apart(self.skins[0].tree, self.second, limit)

    def fitted(self, depth: float) -> bool:
        """Whether either is a tube, of which the other is proven to keep out but for a depth, mm."""
        # What is round for the most part is likelier the tube.
        shares = [len(tubes_of(body, self.kept)) / len(skin.slack) for body, skin in zip(self.bodies, self.skins)]
        first = int(shares[1] > shares[0])
        return self._keeps_out(first, depth) or self._keeps_out(1 - first, depth)

    def _keeps_out(self, number: int, depth: float) -> bool:
        """The same of the tube that is the first (0) or the second (1)."""
        kept, tube, other = self.kept, self.bodies[number], self.bodies[1 - number]
        pose = inverse(self.pose) if number else self.pose
        pieces = tubes_of(tube, kept)
        if not pieces:
            return False

        def measure(ended: bool = False) -> bool:
            return tube_joint.keeps_out(shape_of(tube, kept), self.skins[number], pieces, shape_of(other, kept), self.skins[1 - number],
                                        self.first if number else self.second, pose, depth, ended)

        if not kept.of("one bar", tube.mark, lambda: tube_joint.is_one_bar(shape_of(tube, kept), self.skins[number], pieces)):
            return measure()
        # What keeps out of a bar does so wherever along it: parts on a rail are moved along it with the powertrain.
        return (kept.between(("keeps out", depth), (tube.mark, other.mark), tube_joint.slid_back(pieces[0], pose), measure)
                or measure(ended=True))


def keep_apart(a: Body, b: Body, limit: float, kept: Kept) -> bool:
    """Whether the surfaces of two bodies are proven to keep farther apart than a limit, mm. One may be inside the other."""

    def measure() -> bool:
        if _dear(a, b, kept) and core.keeps_clear(a, b, limit, kept):
            return True
        pair = _Pair.of(a, b, kept)
        return pair is not None and pair.apart(limit)

    return kept.between(("keep apart", limit), (a.mark, b.mark), relative(a, b), measure)


def face_gaps(a: Body, b: Body, bound: float, distance: Callable[[int, int], float], kept: Kept) -> tuple[np.ndarray, float] | None:
    """Lower bounds of the distances of every two faces of two bodies, (faces of a, faces of b), inf where they cannot be nearest, and what
    the distance of the bodies' surfaces does not exceed; bound: the same as far as it is known, mm; distance: that of two faces, which is
    asked for once. None: not known."""
    pair = _Pair.of(a, b, kept)
    if pair is None:
        return None
    # As in ``apart`` boxes are taken along the axes of the coarser skin.
    first, second = pair.skins
    turned = second.grain > first.grain
    trees = (pair.first, second.tree) if turned else (first.tree, pair.second)
    found = box_tree.face_gaps(*trees, min(bound, distance(*box_tree.likely_faces(*trees)) + TOUCH))
    if found is None:
        return None
    gaps = np.full((len(first.slack), len(second.slack)), np.inf)
    gaps[:found[0].shape[0], :found[0].shape[1]] = found[0]
    return gaps, found[1]


def near_faces(a: Body, b: Body, limit: float, kept: Kept) -> np.ndarray | None:
    """Which two faces of two bodies may come within a limit, mm: (faces of a, faces of b). None: not known."""
    pair = _Pair.of(a, b, kept)
    found = None if pair is None else box_tree.near_faces(pair.skins[0].tree, pair.second, limit)
    if pair is None or found is None:
        return None
    near = np.zeros((len(pair.skins[0].slack), len(pair.skins[1].slack)), dtype=bool)
    near[:found.shape[0], :found.shape[1]] = found
    return near


def keep_out(a: Body, b: Body, depth: float, holds: Callable[[], bool], kept: Kept) -> bool:
    """Whether two solids are proven to overlap by no more than a depth, mm: they stand side by side, or their surfaces keep apart, or one
    is a tube to which the other is fitted. holds: tells whether one holds the other, which surfaces that keep apart do not tell."""
    if _dear(a, b, kept):
        if core.keeps_clear(a, b, TOUCH, kept):
            return not holds()
        if side_by_side(a, b, kept):
            return True
    pair = _Pair.of(a, b, kept)
    if pair is None:
        return side_by_side(a, b, kept)
    gap = pair.least_gap()
    if gap > -TOUCH:
        return True
    if gap < -AROUND and core.keeps_clear(a, b, TOUCH, kept):
        return not holds()
    # What is most likely comes first: plates face to face, then what is fitted to a tube with room to spare, then what stands clear.
    beside = gap > -NEARLY
    if (beside and side_by_side(a, b, kept)) or (depth > FITTED and pair.fitted(depth)):
        return True
    if pair.apart(TOUCH):
        return not holds()
    return (0.0 < depth <= FITTED and pair.fitted(depth)) or (not beside and side_by_side(a, b, kept))


def least_gap(a: Body, b: Body, kept: Kept) -> float:
    """What boxes along the axes of either body keep from each other, mm: a lower bound of their distance; 0 where that is not known."""

    def measure() -> float:
        pair = _Pair.of(a, b, kept)
        return 0.0 if pair is None else max(pair.least_gap(), 0.0)

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
