"""Tie tab: ties the top of the mid plate to the support tube. Bent from flat bar to an L, engine frame.

The upright leg lies against the rear face of the plate, with the tie bolt through both; the level leg runs rearward under
the support tube and is welded to it along the line where it touches. Support tube and plate stand in the engine frame both,
so the fit does not depend on the placement.
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
from . import outline, piece, plate_layout
from .rail_clamp import EDGE_DISTANCE, SIDES

Vector: TypeAlias = FreeCAD.Vector

VERSION = 1


@dataclass(frozen=True)
class Spec:
    """Engine frame, mm. Section (x, z) extruded over ``width`` about ``y``: the upright leg's front face stands at ``x_front``
    from ``z_low`` up, the level leg's upper face at ``z_top`` back to ``x_rear``. ``hole_z`` and ``hole``: the tie bolt's."""
    y: float
    width: float
    x_front: float
    x_rear: float
    z_low: float
    z_top: float
    thickness: float
    bend_radius: float
    hole_z: float
    hole: float


def spec(mid: model.MidPlate, tabs: model.RailTabs, support: model.SupportTube, scene: Scene, side: str) -> Spec:
    """The tab on one side; ValueError where tube and plate leave it no room."""
    mid, tabs, support = filled(mid), filled(tabs), filled(support)
    y, hole_z, hole = next(item for item in plate_layout.tie_holes(mid, tabs, support, scene) if item[0] * SIDES[side] > 0.0)
    radius = support.section.outer_diameter / 2.0
    bend = plate_layout.BEND_RATIO * tabs.thickness
    least = max(radius, tabs.thickness + bend)
    if support.behind_plate < least:
        raise ValueError(f"mounts.support_tube.behind_plate: {sized(support.behind_plate)} leaves no room for tube and tie tabs "
                         f"behind the mid plate; give at least {sized(least)}")
    x_front = -scene.stack.total
    x_rear = x_front - support.behind_plate - 0.5 * radius
    return Spec(y, tabs.width, x_front, x_rear, hole_z - EDGE_DISTANCE * tabs.bolt, support.above_crank - radius, tabs.thickness, bend,
                hole_z, hole)


def section(spec: Spec) -> outline.Loop:
    """The L in the plane square to y, coordinates (x, z)."""
    front, back, top, t = spec.x_front, spec.x_rear, spec.z_top, spec.thickness
    corners = [(front, spec.z_low), (front, top), (back, top), (back, top - t), (front - t, top - t), (front - t, spec.z_low)]
    return outline.rounded(corners, [0.0, spec.bend_radius + t, 0.0, 0.0, spec.bend_radius, 0.0], name="mounts.rail_tabs.thickness")


def developed_length(spec: Spec) -> float:
    """Length of the flat bar before bending, at half the thickness (neutral axis taken there), mm."""
    t, bend = spec.thickness, spec.bend_radius
    straight = (spec.z_top - spec.z_low - t - bend) + (spec.x_front - spec.x_rear - t - bend)
    return straight + 0.5 * math.pi * (bend + t / 2.0)


def build(spec: Spec) -> Part.Solid:
    """The tab in the engine frame."""
    side = spec.y - spec.width / 2.0
    edges = []
    loop = section(spec)
    for item in loop.segments:
        start, end = Vector(item.y0, side, item.z0), Vector(item.y1, side, item.z1)
        if item.sweep:
            x, z = item.at(0.5)
            edges.append(Part.Arc(start, Vector(x, side, z), end).toShape())
        else:
            edges.append(Part.makeLine(start, end))
    body = Part.Face(Part.Wire(edges)).extrude(Vector(0.0, spec.width, 0.0))
    drill = Part.makeCylinder(spec.hole / 2.0, 4.0 * spec.thickness, Vector(spec.x_front + spec.thickness, spec.y, spec.hole_z),
                              Vector(-1.0, 0.0, 0.0))
    return body.cut(drill).Solids[0]


def pieces(spec: Spec) -> tuple[piece.Piece, ...]:
    """The flat bar with the tie bolt's hole, its bend line across; the upright leg is the lower part of the flat."""
    t, bend = spec.thickness, spec.bend_radius
    upright = spec.z_top - spec.z_low - t - bend
    middle = upright + 0.25 * math.pi * (bend + t / 2.0)
    hole = outline.Circle(spec.width / 2.0, spec.hole_z - spec.z_low, spec.hole)
    return (piece.Sheet("tab", piece.rectangle(spec.width, developed_length(spec), [hole]), t,
                        bends=(((0.0, middle), (spec.width, middle)),),
                        note=f"bend 90 deg, inside radius {sized(bend)}", bend_angles=(math.pi / 2.0,), bend_radius=bend),)
