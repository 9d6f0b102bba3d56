"""Receiver of the transmission mount: sleeve on the cross member that takes the mount's tube (see ``mount_layout``).

Its frame stands on the cross member: origin where the member's centerline pierces the plane of the tube, axes as the engine frame's.
So it is the same wherever the powertrain stands along the car, as long as the mount leaves it its length.
"""
from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

from .. import model
from ..host import FreeCAD, Part
from ..mechanics.frames import Frame
from ..mechanics.scene import Scene
from ..units import sized
from . import mount_layout as layout
from . import piece, tube
from .outline import Flat, polygon

Vector: TypeAlias = FreeCAD.Vector

VERSION = 3
COPE, BRACKET = 0.3, 0.6
"""Where a sleeve on the member begins and how far brackets reach around it, in radii of the member (common practice, no source)."""


@dataclass(frozen=True)
class Spec:
    """Own frame, mm. Direction and diameter of the cross member; ``aside``: the sleeve's centerline ahead of the member's, 0 on top of it;
    outside diameter of the sleeve, its lower and upper end, height of the cross bolt and its hole."""
    member_axis: tuple[float, float, float]
    member_diameter: float
    aside: float
    diameter: float
    low: float
    high: float
    bolt_z: float
    bolt_hole: float


def spec(mount: model.TransmissionMount, member: model.CrossMember, scene: Scene) -> Spec:
    """From records; ValueError as of the mount that it takes."""
    return taking(layout.spec(mount, member, scene))


def taking(mount: layout.Spec) -> Spec:
    """The receiver that takes a mount's tube."""
    axis, (low, high) = float(mount.foot[2]), mount.receiver_span
    return Spec(mount.member_axis, mount.member_diameter, mount.aside, mount.receiver_diameter, float(low - axis), float(high - axis),
                float(mount.bolt_seat[2] - axis), mount.cross_bolt + layout.BOLT_CLEARANCE)


def frame(mount: layout.Spec, engine: Frame) -> Frame:
    """Where the receiver's frame stands, given the engine's."""
    return Frame(engine.rotation, engine.to_car(mount.foot))


def build(spec: Spec) -> Part.Solid:
    """The sleeve with the cross bolt's hole, one solid: coped to the top of the cross member, or beside it with the two bracket plates
    that are coped to it."""
    radius, member, wall = spec.diameter / 2, spec.member_diameter / 2, layout.SLEEVE_WALL
    bar = tube.header_bar(tube.Header((0.0, 0.0, 0.0), spec.member_axis, spec.member_diameter), 3 * spec.diameter)
    along, seat = Vector(*spec.member_axis).normalize(), Vector(spec.aside, 0, spec.bolt_z)
    drill = Part.makeCylinder(spec.bolt_hole / 2, 4 * spec.diameter, seat - along * (2 * spec.diameter), along)
    if spec.aside == 0.0:
        # The cope ends above the member's axis: a sleeve as wide as the member would end in feather edges there.
        return tube.largest(tube.straight(Vector(0, 0, COPE * member), Vector(0, 0, spec.high), spec.diameter, wall).cut([bar, drill]))
    corners = [Vector(x, 0, z) for x, z in _bracket(spec)]
    profile = Part.Face(Part.makePolygon(corners + corners[:1]))
    plates = []
    for sign in (1.0, -1.0):
        plate = profile.extrude(Vector(0, wall, 0))
        plate.translate(Vector(0, sign * layout.BRACKET_SPREAD * spec.diameter - wall / 2, 0))
        plates.append(plate)
    length = spec.high - spec.low
    body = Part.makeCylinder(radius, length, Vector(spec.aside, 0, spec.low)).fuse(plates)
    bore = Part.makeCylinder(radius - wall, 3 * length, Vector(spec.aside, 0, spec.low - length))
    return tube.largest(body.cut([bore, bar, drill]))


def pieces(spec: Spec) -> tuple[piece.Piece, ...]:
    """The sleeve, coped to the cross member where it stands on top of it; beside it also the two plates that hold it."""
    wall = layout.SLEEVE_WALL
    hole = f"cross hole {sized(spec.bolt_hole)}, {sized(spec.high - spec.bolt_z)} from the upper end"
    if spec.aside == 0.0:
        member = tube.Header((0.0, 0.0, 0.0), spec.member_axis, spec.member_diameter)
        low = COPE * spec.member_diameter / 2
        return (piece.straight("sleeve", spec.diameter, wall, (0.0, 0.0, low), (0.0, 0.0, spec.high), (member,), (), note=hole,
                               holes=(piece.CrossHole(spec.bolt_z - low, spec.bolt_hole),)),)
    corners = _bracket(spec)
    sign = -1.0 if spec.aside < 0.0 else 1.0
    outline = polygon([(sign * x, z) for x, z in corners]).counterclockwise()
    return (piece.straight("sleeve", spec.diameter, wall, (spec.aside, 0.0, spec.low), (spec.aside, 0.0, spec.high), note=hole,
                           holes=(piece.CrossHole(spec.bolt_z - spec.low, spec.bolt_hole),)),
            piece.Sheet("bracket plate", Flat(outline), wall, count=2, note="cope to cross member and sleeve at fit-up"))


def _bracket(spec: Spec) -> tuple[tuple[float, float], ...]:
    """Corners (x, z) of a bracket plate before it is coped."""
    member = spec.member_diameter / 2
    return ((0.0, BRACKET * member), (spec.aside, spec.high), (spec.aside, spec.low), (0.0, -BRACKET * member))


def seams(spec: Spec) -> tuple[piece.Seam, ...]:
    """The plates beside a sleeve that stands ahead of its member or behind it."""
    if spec.aside == 0.0:
        return ()
    spread = layout.BRACKET_SPREAD * spec.diameter
    x = spec.aside - math.copysign(math.sqrt(spec.diameter ** 2 / 4.0 - spread ** 2), spec.aside)
    return (piece.Seam("bracket plate to sleeve", tuple((x, side * spread, (spec.low + spec.high) / 2.0) for side in (1.0, -1.0)), False),)
