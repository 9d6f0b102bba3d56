"""Rail tabs: in front of and behind an ear of a plate on each rail, coped to the rail's tube, bolted through the ear.

The plate is square to the crank and the rail is not, so the solid's saddle is cut by the rail itself: it touches the rail
over its whole thickness. ``flat`` is what a laser can cut: a saddle square to the sheet that clears the rail everywhere; at
its far face the gap is the thickness times the slope of the rail (0.16 mm for 3/16 in at 2 deg), which the weld fills.
"""
from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

from .. import model
from ..host import FreeCAD, Part
from ..mechanics.scene import Scene
from ..record import filled
from ..units import sized
from . import piece, plate, rail_clamp
from .outline import Circle, Flat, Loop, Vertex, rounded
from .rail_clamp import SIDES, RailLine

Vector: TypeAlias = FreeCAD.Vector

VERSION = 1
FACES = ("front", "rear")

SADDLE = 0.35
"""Lower edge over the rail's centerline, in rail radii: the saddle holds the rail and its legs keep some width (common practice, no
source)."""
CORNER_SHARE, BOLT_CORNER = 0.4, 1.2
"""Radius of the upper corners: of the tab's width at most, and over the bolt's diameter (common practice, no source)."""


@dataclass(frozen=True)
class Spec:
    """Engine frame, mm. The rail runs through (0, rail_y, rail_z) with these slopes; ``holes``: (y, z, diameter)."""
    x_rear: float
    thickness: float
    y: float
    width: float
    z_low: float
    z_top: float
    corner_radius: float
    holes: tuple[tuple[float, float, float], ...]
    rail_y: float
    rail_z: float
    slope_y: float
    slope_z: float
    rail_radius: float


def spec(tabs: model.RailTabs, plate_thickness: float, plate_x_rear: float, scene: Scene, side: str, face: str,
         level: str = "lower") -> Spec:
    """The tab on one rail at one face of a plate that stands from plate_x_rear forward by its thickness.

    side: left or right; face: front or rear; level: lower or upper rail.
    """
    if side not in SIDES or face not in FACES:
        raise ValueError(f"rail tab: found side {side!r}, face {face!r}; allowed are {', '.join(SIDES)} and {', '.join(FACES)}")
    tabs = filled(tabs)
    ear = rail_clamp.clamp(scene, tabs, plate_x_rear, plate_thickness, side, level)
    if face == "front":
        x_rear = plate_x_rear + plate_thickness + tabs.gap
    else:
        x_rear = plate_x_rear - tabs.gap - tabs.thickness
    hole = ear.bolts[0][2]
    if tabs.width < hole + tabs.bolt:
        raise ValueError(f"mounts.rail_tabs.width: {sized(tabs.width)} leaves less than half a bolt beside the hole; give at "
                         f"least {sized(hole + tabs.bolt)}")
    rail = ear.rail
    z_low = min(rail.at(x_rear)[1], rail.at(x_rear + tabs.thickness)[1]) + SADDLE * rail.radius
    radius = min(CORNER_SHARE * tabs.width, BOLT_CORNER * tabs.bolt)
    return Spec(x_rear, tabs.thickness, ear.y, tabs.width, z_low, ear.top, radius, ear.bolts, rail.y, rail.z, rail.slope_y,
                rail.slope_z, rail.radius)


def rail_of(spec: Spec) -> RailLine:
    """The rail that a tab stands on."""
    return RailLine(spec.rail_y, spec.rail_z, spec.slope_y, spec.slope_z, spec.rail_radius)


def blank(spec: Spec) -> Flat:
    """The tab before its saddle is cut."""
    left, right = spec.y + spec.width / 2.0, spec.y - spec.width / 2.0
    outer = rounded([(right, spec.z_low), (left, spec.z_low), (left, spec.z_top), (right, spec.z_top)],
                    [0.0, 0.0, spec.corner_radius, spec.corner_radius], name="mounts.rail_tabs.width")
    return Flat(outer, tuple(Circle(*hole) for hole in spec.holes)).checked("mounts.rail_tabs")


def flat(spec: Spec) -> Flat:
    """The tab as a laser cuts it, with a round saddle that clears the rail over the whole thickness."""
    rail, body = rail_of(spec), blank(spec)
    x = spec.x_rear, spec.x_rear + spec.thickness
    yc = (rail.at(x[0])[0] + rail.at(x[1])[0]) / 2.0
    zc = max(rail.at(x[0])[1], rail.at(x[1])[1])
    r = max(rail.half_height, rail.half_width) + abs(spec.slope_y) * spec.thickness / 2.0
    right, left, *upper = body.outer.vertices

    def end(vertex: Vertex, sign: float) -> tuple[list[Vertex], tuple[float, float]]:
        """The tab's corner where a leg is left beside the saddle, and the end of the saddle."""
        half = math.sqrt(max(0.0, r * r - (spec.z_low - zc) ** 2))
        if sign * (vertex.y - yc) > half + 1e-3:
            return [Vertex(vertex.y, spec.z_low)], (yc + sign * half, spec.z_low)
        return [], (vertex.y, zc + math.sqrt(max(0.0, r * r - (vertex.y - yc) ** 2)))

    leg_right, start = end(right, -1.0)
    leg_left, stop = end(left, 1.0)
    sweep = math.atan2(start[1] - zc, start[0] - yc) - math.atan2(stop[1] - zc, stop[0] - yc)
    saddle = [Vertex(*start, -math.tan(sweep / 4.0)), Vertex(*stop)]
    return Flat(Loop(tuple(leg_right + saddle + leg_left + upper)), body.inner).checked("mounts.rail_tabs")


def build(spec: Spec) -> Part.Solid:
    """The tab in the engine frame, its saddle cut by the rail."""
    rail, reach = rail_of(spec), 4.0 * spec.rail_radius
    middle = spec.x_rear + spec.thickness / 2.0
    along = Vector(1.0, rail.slope_y, rail.slope_z).normalize()
    tube = Part.makeCylinder(rail.radius, 2.0 * reach, Vector(middle, *rail.at(middle)) - along * reach, along)
    return plate.solid(blank(spec), spec.x_rear, spec.thickness).cut(tube).Solids[0]


def pieces(spec: Spec) -> tuple[piece.Piece, ...]:
    """One tab."""
    return (piece.Sheet("tab", flat(spec), spec.thickness),)
