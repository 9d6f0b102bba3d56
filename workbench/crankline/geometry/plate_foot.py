"""Plate foot: carries a narrow front plate. A web bolts to the front of the plate's lug, runs toward the rail as its own
gusset and ends in a slot of the foot tube, which is coped to the rail and welded there.

The tube starts clear of the plate, so that plate and engine lift straight out when the two bolts are gone.
"""
from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

from .. import model
from ..host import FreeCAD, Part
from ..mechanics.scene import Scene
from ..record import filled
from ..units import INCH, sized
from . import piece, plate, rail_clamp, tube
from .front_plate import lug
from .outline import Circle, Flat, convex_hull, rounded
from .rail_clamp import EDGE_DISTANCE, SIDES

Vector: TypeAlias = FreeCAD.Vector

VERSION = 1

CLEAR = 0.125 * INCH
"""Tube's end to the plate's lug (common practice, no source)."""

SLOT = 1.0 * INCH
"""How deep the web stands in the tube's slot (common practice, no source)."""


@dataclass(frozen=True)
class Spec:
    """Engine frame, mm. The web lies from x_rear forward; its ``corners`` are (y, z), ``holes`` (y, z, diameter). The tube's
    axis lies in the web's middle plane from ``start`` to ``end`` (y, z), where it meets the rail's centerline."""
    x_rear: float
    thickness: float
    corners: tuple[tuple[float, float], ...]
    corner_radius: float
    holes: tuple[tuple[float, float, float], ...]
    start: tuple[float, float]
    end: tuple[float, float]
    tube_diameter: float
    tube_wall: float
    rail_y: float
    rail_z: float
    slope_y: float
    slope_z: float
    rail_radius: float


def spec(front: model.FrontPlate, tabs: model.RailTabs, scene: Scene, side: str) -> Spec:
    """What the foot on one side is made from; ValueError where the numbers make none."""
    front, tabs = filled(front), filled(tabs)
    if front.kind != "narrow":
        raise ValueError("plates.front.kind: a wide front plate is clamped at the rails and has no plate feet; use narrow, or leave out "
                         "the feet")
    item, sign = lug(front, tabs, scene, side), SIDES[side]
    rail = rail_clamp.rail_line(scene, side)
    x_rear, web_thickness, section = scene.engine.block_length + front.thickness, front.foot_web or tabs.thickness, front.foot_tube
    tube.check_section(section.outer_diameter, section.wall, "plates.front.foot_tube")
    end = rail.at(x_rear + web_thickness / 2.0)
    z = (item.bottom + item.top) / 2.0
    dy, dz = end[0] - item.y, end[1] - z
    reach = math.hypot(dy, dz)
    if sign * dy < 0.0 or dz > 0.0:
        raise ValueError(f"plates.front.foot_half_spacing: the {side} plate foot is not inside and above its rail; bring it "
                         "inside the rail and give a smaller foot_drop")
    dy, dz = dy / reach, dz / reach
    half = EDGE_DISTANCE * item.bolt
    lug_corners = [(item.y + s * half, top) for s in (-1.0, 1.0) for top in (item.bottom, item.top)]
    # A tube that starts beyond the farthest corner of the lug along its own axis cannot meet the plate.
    first = max((y - item.y) * dy + (w - z) * dz for y, w in lug_corners) + CLEAR
    if first + SLOT > reach - rail.radius - 0.25 * INCH:
        raise ValueError(f"plates.front.foot_drop: the {side} plate foot leaves {sized(reach - rail.radius - first)} for its "
                         f"tube, at least {sized(SLOT + 0.25 * INCH)} is needed; move the feet farther from the rails")
    radius = section.outer_diameter / 2.0
    start = (item.y + first * dy, z + first * dz)
    tongue = (item.y + (first + SLOT) * dy, z + (first + SLOT) * dz)
    # The web narrows to the tube's width where the tube begins and keeps it in the slot.
    web = convex_hull(lug_corners + [(p[0] - s * radius * dz, p[1] + s * radius * dy) for p in (start, tongue) for s in (-1.0, 1.0)])
    return Spec(x_rear, web_thickness, tuple(web), 0.5 * item.bolt, item.bolts, start, end, section.outer_diameter, section.wall,
                rail.y, rail.z, rail.slope_y, rail.slope_z, rail.radius)


def flat(spec: Spec) -> Flat:
    """The web in its plane, checked."""
    return Flat(rounded(spec.corners, spec.corner_radius, shrink=True),
                tuple(Circle(*hole) for hole in spec.holes)).checked("plates.front")


def build(spec: Spec) -> Part.Solid:
    """Web and coped tube as one solid in the engine frame."""
    web = plate.solid(flat(spec), spec.x_rear, spec.thickness)
    middle = spec.x_rear + spec.thickness / 2.0
    foot = tube.Spec((middle, *spec.start), (middle, *spec.end), spec.tube_diameter, spec.tube_wall, (_rail(spec),))
    return tube.largest(tube.build(foot).fuse(web))


def _rail(spec: Spec) -> tube.Header:
    return tube.Header((0.0, spec.rail_y, spec.rail_z), (1.0, spec.slope_y, spec.slope_z), 2.0 * spec.rail_radius)


def pieces(spec: Spec) -> tuple[piece.Piece, ...]:
    """The web, and the foot tube that it stands in; its end is slotted for the web, the other one coped to the rail."""
    rail = _rail(spec)
    middle = spec.x_rear + spec.thickness / 2.0
    return (piece.Sheet("web", flat(spec), spec.thickness),
            piece.straight("foot tube", spec.tube_diameter, spec.tube_wall, (middle, *spec.start), (middle, *spec.end), (), (rail,),
                           note=f"slot the square end {sized(SLOT)} deep for the web"))


def seams(spec: Spec) -> tuple[piece.Seam, ...]:
    """The web in the tube's slot, along both sides of it."""
    dy, dz = spec.end[0] - spec.start[0], spec.end[1] - spec.start[1]
    reach, radius = math.hypot(dy, dz), spec.tube_diameter / 2.0
    dy, dz = dy / reach, dz / reach
    across = (-dz, dy) if dy > 0.0 else (dz, -dy)   # upward
    y, z = (start + SLOT / 2.0 * way + radius * off for start, way, off in zip(spec.start, (dy, dz), across))
    return (piece.Seam("web in slot of foot tube", ((spec.x_rear + spec.thickness, y, z),), False),)
