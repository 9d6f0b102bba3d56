"""Whether two solids overlap by no more than they may: asked while one is moved until they do, so no depth is told. Needs the host."""
from __future__ import annotations

from . import overlap, proof, tube_entry
from .body import Body, relative
from .kept import Kept
from .overlap_depth import FIT, filled_depth


def parted(a: Body, b: Body, allowed: float, kept: Kept) -> bool:
    """Whether two solids overlap no deeper than allowed, mm; the same verdict that the depth of their overlap gives."""
    a, b = sorted((a, b), key=lambda body: body.key)
    return kept.between(("parted", allowed), (a.mark, b.mark), relative(a, b), lambda: _parted(a, b, allowed, kept))


def _parted(a: Body, b: Body, allowed: float, kept: Kept) -> bool:
    if proof.keep_out(a, b, overlap.FIT * allowed, lambda outer: overlap.one_holds_the_other(a, b, kept, outer), kept):
        return True
    entry = tube_entry.entered(a, b, kept)
    if entry is not None:
        return entry.depth <= allowed
    kept.booleans += 1
    both = a.shape.common(b.shape)
    solids = [solid for solid in both.Solids if solid.Volume > overlap.VOLUME]
    places = a.shape.Placement, b.shape.Placement
    depth = max((overlap.thickness(solid, places) for solid in solids), default=0.0)
    # With bores filled an overlap is told deeper, but only one that is deeper than a weld's fit: what is refused already needs no more.
    if depth <= allowed and FIT < depth:
        depth = max(depth, filled_depth(a.shape, b.shape, both, overlap.thickness))
    return depth <= allowed
