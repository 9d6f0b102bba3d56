"""Mid plate: clamped between block and transmission, spanning the rails, tied to the support tube at its top.

From the bottom up, on each side: the lower edge between the rails; a step over the rail; the ear that the rail tabs clamp;
a slope to the body beside the bell; for a double-rail chassis a second ear over the upper rail; a taper to the tie-down ear
at the top, and between both tie-down ears a dip. ``half_width`` is counted from the middle between the rails, so that both
ears reach equally far over their rail when the crank stands off the center plane; everything else is counted from the crank.
A hole of the rear-face pattern that falls wholly inside an opening is not drilled; one that an opening would cut is an error.
An opening for the starter may stand by itself or run into the center opening.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .. import model
from ..mechanics.scene import Scene
from ..record import filled
from ..units import INCH, sized
from . import outline, piece, rail_clamp
from .openings import covers, merged
from .outline import Circle, Flat, Loop
from .plate_layout import EAR_SLOPE, WEB, passes_crank_flange, tie_holes
from .rail_clamp import EDGE_DISTANCE, LEVELS, RAIL_CLEARANCE, SIDES, Clamp

if TYPE_CHECKING:
    import Part

VERSION = 1

NECK = 0.5 * INCH
"""Least height of the neck between two rails (common practice, no source)."""
DIP_SLOPE = 0.6
"""Run over rise of the flanks of the dip between the ties at the top edge (common practice, no source)."""

@dataclass(frozen=True)
class Spec:
    """Engine frame, mm. ``corners``: (y, z, radius), counterclockwise about +x; holes and openings: (y, z, diameter).

    ``openings``, center first, may overlap each other; ``holes`` and ``lightening`` may not.
    """
    x_rear: float
    thickness: float
    corners: tuple[tuple[float, float, float], ...]
    openings: tuple[tuple[float, float, float], ...]
    holes: tuple[tuple[float, float, float], ...]
    lightening: tuple[tuple[float, float, float], ...] = ()


def spec(mid: model.MidPlate, tabs: model.RailTabs | None, support: model.SupportTube | None, scene: Scene) -> Spec:
    """What the plate is made from; ValueError where the numbers make no plate. Without rail tabs its ears and ties are not drilled yet."""
    clamped = tabs is not None
    mid, tabs = filled(mid), filled(tabs) if tabs is not None else rail_clamp.TABS_ASSUMED
    passes_crank_flange("plates.mid.center_opening", mid.center_opening, scene)
    x_rear, thickness = -scene.stack.total, scene.stack.mid_plate
    bolts = clamps(mid, tabs, scene)
    opening = mid.center_opening / 2.0
    starter = mid.starter or scene.transmission.starter
    openings = ((0.0, 0.0, mid.center_opening),) + (((starter.y, starter.z, starter.diameter),) if starter else ())
    pattern = drilled(scene.engine.rear_holes, openings)
    margins = [(abs(y), z, EDGE_DISTANCE * d) for y, z, d in pattern]
    body = max([opening + WEB] + [y + e for y, _, e in margins])
    shoulder = max([opening + WEB] + [z + e for _, z, e in margins])
    ties = tie_holes(mid, tabs, support, scene)
    middle = sum(c.y for c in bolts if c.level == "lower") / 2.0
    chains = {}
    for side, sign in SIDES.items():
        ears = [c for c in bolts if c.side == side]
        chains[side] = [(sign * u, z, r) for u, z, r in
                        _side(mid, tabs, ears, scene, sign, sign * middle + mid.half_width, body, shoulder, ties)]
    corners = tuple(chains["left"] + chains["right"][::-1])
    holes = pattern + (tuple(h for c in bolts for h in c.bolts) + ties if clamped else ())
    return Spec(x_rear, thickness, corners, openings, holes, mid.lightening_holes or ())


def clamps(mid: model.MidPlate, tabs: model.RailTabs, scene: Scene) -> tuple[Clamp, ...]:
    """The ears of the plate on the rails: left and right, and for a double-rail plate lower and upper."""
    levels = LEVELS if mid.kind == "double_rail" else LEVELS[:1]
    return tuple(rail_clamp.clamp(scene, tabs, -scene.stack.total, scene.stack.mid_plate, side, level)
                 for level in levels for side in SIDES)


def drilled(pattern: tuple, openings: tuple) -> tuple[tuple[float, float, float], ...]:
    """The holes of a pattern that round openings leave to be drilled."""
    return tuple((float(y), float(z), float(d)) for y, z, d in pattern if not covers(openings, (y, z, d)))


def cut(outer: Loop, openings: tuple, lightening: tuple, holes: tuple, name: str, opening_field: str) -> Flat:
    """A checked plate; a hole that does not fit is told by the field that puts it there."""
    large, light = merged(openings), tuple(Circle(*map(float, hole)) for hole in lightening)
    if len(openings) > 1:
        Flat(outer, large).checked(opening_field)
    if light:
        Flat(outer, large + light).checked(f"{name}.lightening_holes")
    return Flat(outer, large + tuple(Circle(*hole) for hole in holes) + light).checked(name)


def flat(spec: Spec) -> Flat:
    """The plate in its plane, checked."""
    outer = outline.rounded([c[:2] for c in spec.corners], [c[2] for c in spec.corners], shrink=True, name="plates.mid")
    return cut(outer, spec.openings, spec.lightening, spec.holes, "plates.mid", "plates.mid.starter")


def build(spec: Spec) -> Part.Solid:
    """The plate in the engine frame. The host is imported here, so that rules read the flat without it."""
    from . import plate
    return plate.solid(flat(spec), spec.x_rear, spec.thickness)


def _side(mid, tabs, ears, scene, sign, outside, body, shoulder, ties) -> list[tuple[float, float, float]]:
    """Corners of one side from the bottom up, as (distance outward from the crank, z, radius)."""
    r, top = mid.corner_radius, mid.above_crank
    low, x_rear = -mid.below_crank, -scene.stack.total
    points = []
    for ear in ears:
        rail_in, rail_out = sorted(sign * y for y in ear.rail.sides(x_rear, x_rear + scene.stack.mid_plate))
        rail_in -= RAIL_CLEARANCE
        column = sign * ear.y
        if outside < column + EDGE_DISTANCE * tabs.bolt:
            raise ValueError(f"plates.mid.half_width: {sized(mid.half_width)} ends inside the edge of the clamp ear; at least "
                             f"{sized(mid.half_width + column + EDGE_DISTANCE * tabs.bolt - outside)} is needed over this rail")
        if rail_in < mid.center_opening / 2.0:
            raise ValueError(f"plates.mid.center_opening: {sized(mid.center_opening)} reaches the {ear.side} rail; at most "
                             f"{sized(2.0 * rail_in)} is left between the rails")
        if ear.level == "lower":
            if low > (ear.bottom + ear.top) / 2.0:
                raise ValueError(f"plates.mid.below_crank: {sized(mid.below_crank)} ends above the clamp ears; give at least "
                                 f"{sized(-(ear.bottom + ear.top) / 2.0)}, or raise the rails")
            if abs(low - ear.bottom) > 1.0:
                points += [(rail_in, low, r), (rail_in, ear.bottom, r / 2.0)]
        else:
            # Between the rails the plate draws in to a neck, as far as there is height for two slopes, and widens again below the
            # upper rail to carry its ear.
            below = ear.rail.at(x_rear)[1] - ear.rail.half_height
            room = below - ears[0].top - NECK
            widest = min(rail_in, sign * ears[0].y - tabs.width / 2.0)
            if room < NECK or body > widest:
                raise ValueError("chassis.rails.upper_height: the upper rail leaves no room for the plate to pass between the rails, over "
                                 "the clamp ear of the lower one; raise it, or use plates.mid.kind single_rail")
            neck = max(body, widest - room / (2.0 * EAR_SLOPE))
            points = [p for p in points if p[1] <= ears[0].top]
            points += [(neck, ears[0].top + EAR_SLOPE * (points[-1][0] - neck), r), (neck, below - EAR_SLOPE * (rail_in - neck), r)]
            points += [(rail_in, below, r), (rail_in, ear.bottom, r / 2.0)]
        points += [(outside, ear.bottom, r), (outside, ear.top, r)]
        inner = column - tabs.width / 2.0
        if inner - body > 1.0:
            points += [(inner, ear.top, r), (body, ear.top + EAR_SLOPE * (inner - body), r)]
    tie_u, tie_z = abs(ties[0][0]), ties[0][1]
    half = max(EDGE_DISTANCE * tabs.bolt, 1.0 * INCH)
    if shoulder > top or points[-1][1] > top:
        raise ValueError(f"plates.mid.above_crank: {sized(top)} ends below the bolt pattern or the clamp ears; give at least "
                         f"{sized(max(shoulder, points[-1][1]))}")
    taper = max(shoulder, points[-1][1] + 1.0)
    neck = max(taper, tie_z - half)
    if points[-1][0] > tie_u + half + 1.0:
        if taper - points[-1][1] > 1.0:
            points.append((points[-1][0], taper, r))
        if top - neck > 1.0:
            points.append((tie_u + half, neck, r))
    points.append((tie_u + half, top, r))
    dip = max(shoulder, tie_z - half)
    slope = DIP_SLOPE * (top - dip)
    if top - dip > 0.5 * INCH and tie_u - half - slope > 0.5 * INCH:
        points += [(tie_u - half, top, r), (tie_u - half - slope, dip, r)]
    return points


def pieces(spec: Spec) -> tuple[piece.Piece, ...]:
    """One plate."""
    return (piece.Sheet("plate", flat(spec), spec.thickness),)
