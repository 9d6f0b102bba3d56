"""Front plate on the front face of the block: *wide*, with ears that stand over the rails as the mid plate's do, or
*narrow*, with a lug on each side that a plate foot carries.

It stands from the block's front face forward, takes the front-face pattern, and passes the damper and what else the engine's
front face asks for (``engine.front_openings``) through openings, which may run into each other.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .. import model
from ..mechanics.frames import as_point
from ..mechanics.scene import Scene
from ..record import filled
from ..units import INCH, sized
from . import outline, piece, rail_clamp
from .limiter import bracket_holes
from .mid_plate import cut, drilled
from .outline import Circle, Flat, boss, convex_hull
from .plate_layout import EAR_SLOPE, lug
from .rail_clamp import EDGE_DISTANCE, SIDES

if TYPE_CHECKING:
    import Part

VERSION = 1

DAMPER_CLEARANCE = INCH / 8.0
"""Opening beyond the damper all round, so that the plate comes off over it (common practice, no source)."""

WEB = 0.75 * INCH
"""Material around the damper's opening (common practice, no source)."""

CORNER_RADIUS = 0.5 * INCH
"""Of the outline (common practice, no source)."""


@dataclass(frozen=True)
class Spec:
    """Engine frame, mm, as of the mid plate; the damper's opening is the first."""
    x_rear: float
    thickness: float
    corners: tuple[tuple[float, float, float], ...]
    openings: tuple[tuple[float, float, float], ...]
    holes: tuple[tuple[float, float, float], ...]
    lightening: tuple[tuple[float, float, float], ...] = ()
    bracket: tuple[tuple[float, float, float], ...] = ()


def spec(front: model.FrontPlate, tabs: model.RailTabs | None, scene: Scene, limiter: model.LimiterStrut | None = None) -> Spec:
    """What the plate is made from, with the holes of a limiter strut's bracket; ValueError where the numbers make no plate. Without rail
    tabs its ears are not drilled yet."""
    clamped = tabs is not None
    front, tabs, engine = filled(front), filled(tabs) if tabs is not None else rail_clamp.TABS_ASSUMED, scene.engine
    if not engine.front_holes:
        raise ValueError("engine.front_holes is missing, so the front plate has nothing to bolt to; give the engine a front-face "
                         "pattern, or say plates.front: none")
    opening = engine.damper_diameter / 2.0 + DAMPER_CLEARANCE
    openings = ((0.0, 0.0, 2.0 * opening),) + tuple(as_point(item) for item in engine.front_openings or ())
    pattern = drilled(engine.front_holes, openings)
    low = min(z - d / 2.0 for _, z, d in openings) - WEB
    body = max([abs(y) + d / 2.0 + WEB for y, _, d in openings] + [abs(y) + EDGE_DISTANCE * d for y, _, d in pattern])
    held = {side: lug(front, tabs, scene, side) for side in SIDES}
    middle = sum(item.y for item in held.values()) / 2.0
    bosses = [p for y, z, d in pattern for p in boss(y, z, EDGE_DISTANCE * d)]
    bosses += [p for y, z, d in openings for p in boss(y, z, d / 2.0 + WEB)]
    chains = {}
    for side, sign in SIDES.items():
        item, bolt = held[side], held[side].bolt
        column = sign * item.y
        if front.kind == "wide":
            outside = sign * middle + front.half_width
            inner = column - tabs.width / 2.0
            if outside < column + EDGE_DISTANCE * tabs.bolt:
                raise ValueError(f"plates.front.half_width: {sized(front.half_width)} ends inside the edge of the clamp ear; give "
                                 f"at least {sized(front.half_width + column + EDGE_DISTANCE * tabs.bolt - outside)}")
        else:
            outside = column + EDGE_DISTANCE * bolt
            inner = column - EDGE_DISTANCE * bolt
        if inner < body:
            field = "foot_half_spacing" if front.kind == "narrow" else "half_width"
            raise ValueError(f"plates.front.{field}: the plate is held {sized(column)} from the crank, within its own body; at "
                             f"least {sized(body + column - inner)} is needed")
        slope = item.top + EAR_SLOPE * (inner - body)
        start = max(slope, 0.0)
        hull = convex_hull(bosses + [(s * body, start) for s in SIDES.values()])
        top = max(z for _, z in hull)
        if start >= top - 1.0:
            raise ValueError(f"plates.front.kind: the {side} mount is {sized(item.top)} above the crank, over the engine's "
                             "front pattern; use wide where it is narrow, or lower the mount")
        # The hull's upper half on this side: from its widest corner to the top edge.
        upper = sorted(((sign * y, z) for y, z in hull if sign * y > 0.0 and z > start + 1.0), key=lambda p: (p[1], -p[0]))
        points = [(body, low), (inner, item.bottom), (outside, item.bottom), (outside, item.top), (inner, item.top), (body, slope)]
        if start > slope + 1.0:
            points.append((body, start))
        chains[side] = [(sign * u, z, CORNER_RADIUS) for u, z in points + upper]
    corners = tuple(chains["left"] + chains["right"][::-1])
    holes = pattern + (tuple(b for item in held.values() for b in item.bolts) if clamped else ())
    return Spec(engine.block_length, front.thickness, corners, openings, holes, front.lightening_holes or (),
                bracket_holes(filled(limiter)) if limiter is not None else ())


def flat(spec: Spec) -> Flat:
    """The plate in its plane, checked."""
    outer = outline.rounded([c[:2] for c in spec.corners], [c[2] for c in spec.corners], shrink=True, name="plates.front")
    if spec.bracket:
        # Told apart from the plate's own holes, because the way out is another one.
        before = cut(outer, spec.openings, spec.lightening, spec.holes, "plates.front", "engine.front_openings")
        return Flat(outer, before.inner + tuple(Circle(*hole) for hole in spec.bracket)).checked("mounts.limiter_strut.plate_y")
    return cut(outer, spec.openings, spec.lightening, spec.holes, "plates.front", "engine.front_openings")


def build(spec: Spec) -> Part.Solid:
    """The plate in the engine frame. The host is imported here, so that rules read the flat without it."""
    from . import plate
    return plate.solid(flat(spec), spec.x_rear, spec.thickness)


def pieces(spec: Spec) -> tuple[piece.Piece, ...]:
    """One plate."""
    return (piece.Sheet("plate", flat(spec), spec.thickness),)
