"""What two solids have in common: nothing, or how deep they overlap and where. Needs the host.

Whether they overlap by more than allowed is first asked of what costs little: skins that keep apart, planes between them, tubes and what is
fitted to these (``proof``). What that cannot tell is intersected.
"""
from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import FreeCAD
import numpy as np
import Part

from . import overlap_depth, proof, tube_entry
from .body import Body, box_of, faces_of, relative, shape_of
from .clearance import CONTACT, INSIDE, PENETRATION, Clearance, Point
from .host_distance import host_distance
from .kept import Kept
from .proof import TOUCH
from .surface import material_at, near_faces

VOLUME = 1e-2
"""mm3 below which what two solids have in common is noise of the boolean."""

CONTAINED = 1e-6
"""Share of the smaller solid's volume that may be missing from the common one when it is wholly inside the other."""

FIT = 0.5
"""Share of the overlap that is allowed within which a fit must be proven: the depth that is told is an estimate."""


ENTERED = "entered"
"""What told how two parts stand to each other: the center line of a tube that is entered (``Kept.likely``)."""

FROM_TUBE = "at least: measured into the tube, taken as a bar"
ESTIMATED = "estimated from their common volume, tubes taken as bars"
"""What a depth is told from."""


def deeper_than(a: Body, b: Body, allowed: float, kept: Kept) -> Clearance | None:
    """The overlap of two solids where it is deeper than allowed, mm; None where it is not, or there is none."""
    a, b = sorted((a, b), key=lambda body: body.key)

    def measure() -> Clearance | None:
        found = _overlap(a, b, allowed, kept)
        return None if found is None else found.moved(a.back)

    found = kept.between(("deeper than", allowed), (a.mark, b.mark), relative(a, b), measure)
    return None if found is None else found.moved(a.pose).told_of(a.key, b.key)


def known_kept_out(a: Body, b: Body, allowed: float, kept: Kept) -> bool:
    """Whether ``kept_out`` has shown so before."""
    a, b = sorted((a, b), key=lambda body: body.key)
    return bool(kept.known_between(("kept out", allowed), (a.mark, b.mark), relative(a, b)))


def kept_out(a: Body, b: Body, allowed: float, kept: Kept) -> bool:
    """Whether what costs little shows that two solids overlap no deeper than allowed, mm: what ``deeper_than`` begins with, as a slice of
    its own."""
    a, b = sorted((a, b), key=lambda body: body.key)
    return kept.likely.get((a.key, b.key)) != ENTERED and _proven(a, b, allowed, kept)


def _proven(a: Body, b: Body, allowed: float, kept: Kept) -> bool:
    return kept.between(("kept out", allowed), (a.mark, b.mark), relative(a, b),
                        lambda: proof.keep_out(a, b, FIT * allowed, lambda outer: one_holds_the_other(a, b, kept, outer), kept))


def _overlap(a: Body, b: Body, allowed: float, kept: Kept) -> Clearance | None:
    # What was entered last time likely still is, and that is asked for less.
    entered = _entered(a, b, kept) if kept.likely.get((a.key, b.key)) == ENTERED else None
    if entered is not None:
        return entered if entered.depth > allowed else None
    if _proven(a, b, allowed, kept):
        return None
    found = common(a, b, kept)
    return found if found is not None and found.depth > allowed else None


def one_holds_the_other(a: Body, b: Body, kept: Kept, outer: Body | None = None) -> bool:
    """Whether a vertex of one lies in the material of the other, although their surfaces keep apart. outer: the one of which alone it is
    not known that it holds nothing of the other."""
    first, second = faces_of(a, kept), faces_of(b, kept)
    low, high = np.maximum(first.box[:3], second.box[:3]), np.minimum(first.box[3:], second.box[3:])
    for (_one, hold), (inner, _outer) in (((a, b), (first, second)), ((b, a), (second, first))):
        # Surfaces that keep apart hold all of a body or nothing: one vertex decides, and its box lies in the other's.
        if ((outer is None or outer is hold) and len(inner.vertices)
                and np.all(low <= inner.box[:3] + 1e-9) and np.all(high >= inner.box[3:] - 1e-9)):
            own = hold.back[:3, :3] @ inner.vertices[0] + hold.back[:3, 3]
            # A skin takes longer than the host's answer: one that is there is asked.
            if material_at(shape_of(hold, kept), None if kept.exact else kept.known("skin", hold.mark), own, TOUCH):
                return True
    return False


def touching(a: Body, b: Body, points: tuple[Point, Point], kept: Kept) -> Clearance:
    """Contact, penetration or containment of two solids whose surfaces touch or of which one holds the other: what they have in common."""
    found = None if proof.side_by_side(a, b, kept) else common(a, b, kept)
    return Clearance(a.key, b.key, CONTACT, 0.0, points) if found is None else found


def common(a: Body, b: Body, kept: Kept) -> Clearance | None:
    """Penetration or containment of two solids, from the center line of a tube that is entered, else by the host's intersection; None
    where they have no volume in common."""
    entered = _entered(a, b, kept)
    if entered is not None:
        return entered
    kept.booleans += 1
    both = a.shape.common(b.shape)
    solids = [solid for solid in both.Solids if solid.Volume > VOLUME]
    if not solids:
        return None
    volume = sum(solid.Volume for solid in solids)
    smaller = min(a.shape.Volume, b.shape.Volume)
    kind = INSIDE if volume >= smaller * (1.0 - CONTAINED) else PENETRATION
    places = a.shape.Placement, b.shape.Placement
    depth, deepest = max(((thickness(solid, places), solid) for solid in solids), key=lambda item: item[0])
    if depth > overlap_depth.FIT:
        depth = max(depth, overlap_depth.filled_depth(a.shape, b.shape, both, thickness))
    middle = deepest.CenterOfMass
    ends = tuple(_nearest_point(body, middle, kept) for body in (a, b))
    return Clearance(a.key, b.key, kind, -depth, (ends[0], ends[1]), ESTIMATED)


def _entered(a: Body, b: Body, kept: Kept) -> Clearance | None:
    """Penetration of a tube that is entered, from its center line; None where that does not tell."""
    entry = tube_entry.entered(a, b, kept)
    if entry is None:
        return None
    kept.likely[a.key, b.key] = ENTERED
    ends = [nearest or _nearest_point(body, entry.point, kept) for body, nearest in zip((a, b), entry.nearest)]
    return Clearance(a.key, b.key, PENETRATION, -entry.depth, (ends[0], ends[1]), FROM_TUBE)


def _nearest_point(body: Body, point: Any, kept: Kept) -> Point:
    """The point of a body's surface that is nearest to a point."""
    faces = faces_of(body, kept)
    near = near_faces(faces.boxes, faces.vertices, np.array(point))
    return host_distance(Part.Compound([faces.faces[i] for i in near]), Part.Vertex(point), kept)[1][0]


def thickness(solid: Any, placements: Sequence[Any]) -> float:
    """How thick a solid is where two bodies overlap, mm: an estimate from volume, area and box.

    A box of sides t, a, b has 2 volume / area = m with 1/m = 1/t + 1/a + 1/b. Solved for t with a and b the two larger extents it is
    exact for boxes and spheres and nearly so for long rods, and for a thin curved sheet (a tube pushed into its cope) it gives the mean
    thickness, where the smallest extent would give the sheet's width. The box is the tightest of those along the axes of the car and of
    both parts.
    """
    tightest: list[float] = []
    for placement in (FreeCAD.Placement(), *placements):
        turned = solid.copy(True, False)
        turned.Placement = placement.inverse().multiply(turned.Placement)
        box = box_of(turned)
        sides = sorted((box[3:] - box[:3]).tolist())
        if not tightest or math.prod(sides) < math.prod(tightest):
            tightest = sides
    least, middle, most = tightest
    rest = 0.5 * solid.Area / solid.Volume - 1.0 / middle - 1.0 / most
    return min(least, 1.0 / rest) if rest > 0.0 else least
