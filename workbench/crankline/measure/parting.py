"""Whether two solids overlap by no more than they may: asked while one is moved until they do, so no depth is told. Needs the host."""
from __future__ import annotations

from .distance import TOUCH, VOLUME, Body, Cache, _one_holds_the_other, _separated, _thickness, prepared, surfaces
from .overlap_depth import FIT, filled_depth


def parted(a: Body, b: Body, allowed: float, cache: Cache) -> bool:
    """Whether two solids overlap no deeper than allowed, mm; the same verdict that the depth of their overlap gives."""
    if surfaces(prepared(a, cache), prepared(b, cache), cache)[0] >= TOUCH and not _one_holds_the_other(a, b, cache):
        return True
    if _separated(a, b, cache) or _separated(b, a, cache):
        return True
    cache.booleans += 1
    solids = [solid for solid in a.shape.common(b.shape).Solids if solid.Volume > VOLUME]
    places = a.shape.Placement, b.shape.Placement
    depth = max((_thickness(solid, places) for solid in solids), default=0.0)
    # With bores filled an overlap is told deeper, but only one that is deeper than a weld's fit: what is refused already needs no more.
    if depth <= allowed and FIT < depth:
        depth = max(depth, filled_depth(a.shape, b.shape, _thickness))
    return depth <= allowed
