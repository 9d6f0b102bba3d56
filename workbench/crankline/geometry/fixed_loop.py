"""Fixed loop: welded between the rear cross member below and the upper fore-aft members above.

Its legs are square to the ring's bends and coped to the members they meet; where the loop does not stand over the
cross member, its lower legs stand on floor tubes as high as the main rails. Frame: the loop's (``loop_ring``).
"""
from __future__ import annotations

import math
from dataclasses import dataclass

from .. import model
from ..host import Part
from ..mechanics.scene import Scene
from ..record import filled, later
from . import frame_tube, loop_ring, piece, tube
from .loop_ring import Leg, Ring
from .split_loop import LEAST_SPREAD, MOST_SPREAD

VERSION = 1
LEG_ANGLE = math.radians(32.0)
"""Lower legs off straight down (common practice, no source)."""
FARTHEST = 20.0
"""A member farther than so many outer radii of the ring carries no leg: it belongs to another part of the car (common practice, no
source)."""
SQUARE = -0.2
"""How far below its bend's center, over the distance, a leg up to a member may end (common practice, no source)."""
LEVEL = 0.05
"""Least cosine that a fall is divided by: a leg that stands level reaches no member below (numerical)."""
SIDES = (1.0, -1.0)


@dataclass(frozen=True)
class Spec:
    """Ring, and the members that its legs meet; heights and distances from the loop's center, mm.

    ``lower_z``, ``lower_diameter``: the member below; ``lower_along``: it runs along the car (a floor tube), otherwise
    across it, ``lower_x`` ahead of the loop. ``upper_*``: the pair above; diameter 0 where there is none. ``stand``: (y, z, diameter) of
    further tubes of the chassis that pass under the loop, left and right, on which its lower legs stand instead; empty where none does.
    """
    ring: Ring
    lower_z: float
    lower_diameter: float
    lower_along: bool
    lower_x: float
    upper_y: float
    upper_z: float
    upper_diameter: float
    center_y: float
    stand: tuple[tuple[float, float, float] | None, ...] = later(())


def spec(loop: model.Loop, scene: Scene, tubes: tuple[model.Tube, ...] = ()) -> Spec:
    """From a record, the chassis and its further tubes."""
    loop = filled(loop)
    ring = loop_ring.ring_of(loop)
    center = scene.loop_center(loop)
    chassis = scene.chassis
    rails, cross, upper = chassis.rails, chassis.rear_cross_member, chassis.upper_fore_aft
    lower_z, lower_diameter, along, ahead = (rails.height or 0.0) - center[2], rails.section.outer_diameter, True, 0.0
    if cross is not None and cross.x is not None and cross.z is not None:
        if abs(cross.x - loop.x) < cross.section.outer_diameter / 2:
            lower_z, lower_diameter, along, ahead = cross.z - center[2], cross.section.outer_diameter, False, cross.x - loop.x
    upper_y = upper_z = upper_diameter = 0.0
    if upper is not None and upper.half_spacing is not None and upper.z is not None:
        upper_y, upper_z, upper_diameter = upper.half_spacing, upper.z - center[2], upper.section.outer_diameter
    return Spec(ring, float(lower_z), lower_diameter, along, float(ahead), upper_y, float(upper_z), upper_diameter,
                float(center[1]), _stands(ring, center, tubes) if along else ())


def _stands(ring: Ring, center, tubes: tuple[model.Tube, ...]) -> tuple[tuple[float, float, float] | None, ...]:
    """The nearest tube that passes under the ring on each side."""
    found = tuple(min((place for y, z, leg in frame_tube.at_station(tubes, float(center[0]))
                       if _in_reach(ring, side, place := (y - float(center[1]), z - float(center[2]), leg.diameter))),
                      key=lambda place: math.hypot(place[0], place[1]), default=None) for side in SIDES)
    return found if any(found) else ()


def _in_reach(ring: Ring, side: float, place: tuple[float, float, float]) -> bool:
    away = (place[0] - side * ring.offset_y, place[1] + ring.offset_z)
    outer = ring.bend + ring.depth / 2
    return outer + place[2] / 2 < math.hypot(*away) < FARTHEST * outer and LEAST_SPREAD < math.atan2(side * away[0], -away[1]) < MOST_SPREAD


def legs(spec: Spec) -> tuple[Leg, ...]:
    """The legs: none where the ring already reaches the member."""
    ring = spec.ring
    depth = loop_ring.leg_section(ring)[0] if ring.form == "tube" else ring.depth
    outer = ring.bend + ring.depth / 2
    angle = loop_ring.leg_angle(ring, LEG_ANGLE, depth)
    found = []
    for side, stand in zip(SIDES, spec.stand or (None, None)):
        center = (side * ring.offset_y, -ring.offset_z)
        if stand is not None:
            away = (stand[0] - center[0], stand[1] - center[1])
            rho = math.hypot(*away)
            header = tube.Header((0.0, stand[0], stand[1]), (1.0, 0.0, 0.0), stand[2])
            found.append(Leg(center, (away[0] / rho, away[1] / rho), ring.bend, rho, (header,)))
            continue
        direction = (side * math.sin(angle), -math.cos(angle))
        fall = -spec.lower_z - ring.offset_z
        rho = fall / max(math.cos(angle), LEVEL)
        if outer + spec.lower_diameter / 2 / max(math.cos(angle), LEVEL) < rho < FARTHEST * outer:
            point = (spec.lower_x, center[0] + rho * direction[0], spec.lower_z)
            header = tube.Header(point, (1.0, 0.0, 0.0) if spec.lower_along else (0.0, 1.0, 0.0), spec.lower_diameter)
            found.append(Leg(center, direction, ring.bend, rho, (header,)))
    if spec.upper_diameter:
        for side in SIDES:
            center = (side * ring.offset_y, ring.offset_z)
            away = (side * spec.upper_y - spec.center_y - center[0], spec.upper_z - center[1])
            rho = math.hypot(*away)
            # A member on the inner side of the bend is not met square: the ring stands beside it or around it.
            if outer + spec.upper_diameter / 2 < rho < FARTHEST * outer and away[0] * side > -1e-9 and away[1] > SQUARE * rho:
                header = tube.Header((0.0, side * spec.upper_y - spec.center_y, spec.upper_z), (1.0, 0.0, 0.0),
                                     spec.upper_diameter)
                found.append(Leg(center, (away[0] / rho, away[1] / rho), ring.bend, rho, (header,)))
    return tuple(found)


def build(spec: Spec) -> Part.Solid:
    """One solid: the ring and the legs that carry it."""
    ring = spec.ring
    body = loop_ring.outside(ring)
    added = [loop_ring.leg_solid(ring, leg) for leg in legs(spec)]
    if added:
        body = tube.largest(body.fuse(added))
    bores = [loop_ring.swept(loop_ring.full_path(ring), ring.bore_radius)] if ring.form == "tube" else []
    body = loop_ring.with_voids(body, bores)
    return tube.largest(body.cut(loop_ring.opening_wedge(ring))) if ring.open_angle else body


def pieces(spec: Spec) -> tuple[piece.Piece, ...]:
    """The ring, and its legs one by one: left and right may differ."""
    return (loop_ring.ring_piece(spec.ring),
            *(loop_ring.leg_piece(spec.ring, leg, f"leg {number}", leg.headers) for number, leg in enumerate(legs(spec), 1)))


def seams(spec: Spec) -> tuple[piece.Seam, ...]:
    """Every leg is welded to the ring."""
    return loop_ring.leg_seam(spec.ring, legs(spec), "leg to ring")
