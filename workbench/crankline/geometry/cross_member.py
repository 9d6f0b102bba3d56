"""Transmission cross member, car frame, mm: straight, or bent rearward so that a deep pan clears it in plan.

Counted from the footwell tube it stands in that tube's line: the footwell tube is broken under the transmission and the
member is welded between its two ends (``chassis_tube``), in line where the offset is 0, else as a bow whose middle lies
``offset`` behind. Counted from a chassis X, or at another height than the footwell tube, it runs from rail to rail.
"""
from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from .. import model
from ..host import FreeCAD, Part
from ..mechanics.chassis import cross_member_station
from ..mechanics.joints import angle_between
from ..mechanics.scene import Scene
from ..record import filled
from ..units import INCH, sized
from . import bent_tube, chassis_tube, piece, tube

VERSION = 1
Vector: TypeAlias = FreeCAD.Vector
MIDDLE_MARGIN = 0.5 * INCH
"""Straight middle beyond the pan's half width, to the tube's side (common practice, no source)."""
MIDDLE_SHARE = 0.72
"""Of the room between footwell and center plane that the straight middle may take, so that bends fit beside it (common practice, no
source)."""
BEND_SHARE = 0.48
"""Of the shorter piece beside a corner that its bend may take: both bends on one piece leave some of it straight (common practice, no
source)."""
LEAST_BEND = 0.6
"""Least center-line radius over the tube's diameter: below one half the inside of the bend would fold (common practice, no source)."""
BEND_RATIO = 2.0
"""Centre-line radius of a bend over the tube's diameter (common practice, no source); less where there is no room."""


@dataclass(frozen=True)
class Spec:
    """Centreline corners from right to left, bend radius at the inner corners (0: straight), section, rails to cope to."""
    points: tuple[tuple[float, float, float], ...]
    bend_radius: float
    outer_diameter: float
    wall: float
    headers: tuple[tube.Header, ...]


station = cross_member_station


def spec(member: model.CrossMember, scene: Scene) -> Spec:
    """From records."""
    member, chassis = filled(member), scene.chassis
    x, section, rails = station(member, chassis), member.section, chassis.rails
    tube.check_section(section.outer_diameter, section.wall, "mounts.cross_member.section")
    if rails.half_spacing is None or rails.height is None:
        raise ValueError("chassis.rails needs half_spacing and height before a cross member can be made; give both")
    inner = chassis_tube.footwell_break(chassis, member)
    if inner is None:
        right, left, headers = chassis_tube.cross_ends(x, member.z, section, rails)
        return Spec((right, left), 0.0, section.outer_diameter, section.wall, headers)
    footwell = chassis.footwell_tube
    if abs(member.offset) < 0.5:
        return Spec(((x, -inner, member.z), (x, inner, member.z)), 0.0, section.outer_diameter, section.wall, ())
    pan = scene.transmission.pan
    half = pan.half_width if pan is not None else scene.transmission.case_half_width
    middle = min(half + section.outer_diameter / 2 + MIDDLE_MARGIN, MIDDLE_SHARE * inner)
    outer = 0.5 * (inner + max(middle, inner - abs(member.offset)))
    plan = ((footwell.x, -inner), (footwell.x, -outer), (x, -middle), (x, middle), (footwell.x, outer), (footwell.x, inner))
    points = tuple((px, py, member.z) for px, py in plan)
    return Spec(points, _bend_radius(points, section.outer_diameter), section.outer_diameter, section.wall, ())


def _bend_radius(points: tuple, diameter: float) -> float:
    """The wanted bend radius, or the largest that the straight pieces leave room for."""
    corners = [np.array(point) for point in points]
    room = math.inf
    for before, corner, after in zip(corners, corners[1:], corners[2:]):
        turn = float(angle_between(corner - before, after - corner))
        shorter = min(math.dist(corner, before), math.dist(after, corner))
        room = min(room, BEND_SHARE * shorter / max(math.tan(turn / 2), 1e-9))
    if room < LEAST_BEND * diameter:
        raise ValueError(f"mounts.cross_member.offset: a bow of this depth leaves a bend radius of {sized(room, 2)} for a tube of "
                         f"{sized(diameter, 2)}; give a smaller offset, or count a straight member from chassis_x")
    return min(BEND_RATIO * diameter, room)


def developed_length(spec: Spec) -> float:
    """Length of the centerline before bending and coping, mm."""
    return bent_tube.developed_length(spec.points, spec.bend_radius)


def build(spec: Spec) -> Part.Solid:
    """One solid."""
    return bent_tube.coped(spec.points, spec.bend_radius, spec.outer_diameter, spec.wall, spec.headers, ())


def pieces(spec: Spec) -> tuple[piece.Piece, ...]:
    """One tube: straight and coped to what it meets, or bent with square ends."""
    if len(spec.points) == 2:
        return (piece.coped("tube", tube.Spec(*spec.points, spec.outer_diameter, spec.wall, spec.headers)),)
    return (piece.bent("tube", spec.points, spec.bend_radius, spec.outer_diameter, spec.wall),)
