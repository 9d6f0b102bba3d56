"""Transmission mount: tab on the tail's pad and tube below it, and the receiver on the cross member that takes the tube.

To change the transmission: jack under it, tail bolts out, cross bolt out; the tube slides down in its receiver, is lifted out and lies
flat on the cross member (``folded``). Frame: engine frame, mm. Sizes that no record gives are common practice, no source.
"""
from __future__ import annotations

import math
from dataclasses import dataclass, replace

import FreeCAD
import numpy as np
import Part

from .. import model
from ..mechanics.scene import Scene
from ..record import filled
from . import cross_member, outline, tube

VERSION = 1
Vector = FreeCAD.Vector
INCH = 25.4

TAIL_BOLT = 0.4375 * INCH
BOLT_CLEARANCE = 0.4
BOLT_PITCH = 1.625 * INCH
SLEEVE_WALL = 0.120 * INCH
SLEEVE_FIT = 0.25
"""Radial clearance of tube in receiver, mm."""
RECEIVER_LENGTH = 1.75 * INCH
TAB_LENGTH = 2.25 * INCH
TAB_WIDTH = 3.5 * INCH
TAB_CORNER = 0.375 * INCH
BOTTOM_GAP = 0.125 * INCH
"""Between tube and cross member: so far the tube can slide down to free the pad."""


@dataclass(frozen=True)
class Spec:
    """Pad centre and cross member in the engine frame; tab, tube, bolts; whether it is the blank as delivered.

    ``member_point``, ``member_axis``, ``member_diameter``: the cross member where the tube's axis meets it.
    """
    pad: tuple[float, float, float]
    member_point: tuple[float, float, float]
    member_axis: tuple[float, float, float]
    member_diameter: float
    tab_thickness: float
    outer_diameter: float
    wall: float
    cross_bolt: float
    tail_bolts: int
    blank_allowance: float
    blank: bool

    @property
    def receiver_diameter(self) -> float:
        """Outside diameter of the receiver's sleeve."""
        return self.outer_diameter + 2 * (SLEEVE_FIT + SLEEVE_WALL)


def spec(mount: model.TransmissionMount, member: model.CrossMember, scene: Scene, blank: bool = False) -> Spec:
    """From records; ValueError where pad and cross member leave no room for tube and receiver."""
    mount = filled(mount)
    transmission = scene.transmission
    pad = np.array([-(scene.stack.total + transmission.mount_pad.from_bell), 0.0, -transmission.mount_pad.below_axis])
    pad_car = scene.engine_frame.to_car(pad)
    middle = np.array([cross_member.station(member, scene.chassis), pad_car[1], filled(member).z])
    point = scene.engine_frame.to_local(middle)
    axis = scene.engine_frame.directions_to_local(np.array([0.0, 1.0, 0.0]))
    tube.check_section(mount.tube.outer_diameter, mount.tube.wall, "mounts.transmission.tube")
    made = Spec(tuple(map(float, pad)), tuple(map(float, point)), tuple(map(float, axis)), member.section.outer_diameter,
                mount.tab_thickness, mount.tube.outer_diameter, mount.tube.wall, mount.cross_bolt, mount.tail_bolts,
                mount.blank_allowance, blank)
    room = (pad - point)
    least = made.member_diameter / 2 + BOTTOM_GAP + 1.5 * mount.cross_bolt + mount.tab_thickness + 0.25 * INCH
    if np.linalg.norm(room) < least or room[2] < 0.5 * np.linalg.norm(room):
        raise ValueError(f"mounts.cross_member: its centreline lies {room[2] / INCH:.2f} in below and {room[0] / INCH:.2f} in behind the "
                         f"transmission's mount pad, which leaves no room for tube and receiver; it must be at least {least / INCH:.2f} "
                         "in away and no more than 60 deg out of line, so change its z or offset")
    if mount.cross_bolt > 0.6 * mount.tube.outer_diameter:
        raise ValueError(f"mounts.transmission.cross_bolt: {mount.cross_bolt / INCH:.3f} in is too large for a tube of "
                         f"{mount.tube.outer_diameter / INCH:.3f} in; give no more than {0.6 * mount.tube.outer_diameter / INCH:.3f} in")
    return made


def axis(spec: Spec) -> Vector:
    """Unit vector from the cross member to the pad."""
    return (Vector(*spec.pad) - Vector(*spec.member_point)).normalize()


def cross_bolt_seat(spec: Spec) -> Vector:
    """Centre of the cross bolt, which lies along the cross member."""
    return Vector(*spec.member_point) + axis(spec) * _bolt_height(spec)


def _distance(spec: Spec) -> float:
    return (Vector(*spec.pad) - Vector(*spec.member_point)).Length


def _tube_top(spec: Spec) -> float:
    """Where the axis enters the tab, from the cross member's centre."""
    return _distance(spec) - spec.tab_thickness / axis(spec).z


def _receiver_top(spec: Spec) -> float:
    """Top of the receiver: its usual length, or what the tab's weld leaves."""
    bottom = spec.member_diameter / 2
    return bottom + min(RECEIVER_LENGTH, max(0.3 * INCH, _tube_top(spec) - bottom - 0.25 * INCH))


def _bolt_height(spec: Spec) -> float:
    bottom = spec.member_diameter / 2 + BOTTOM_GAP
    return 0.5 * (bottom + _receiver_top(spec))


def tab(spec: Spec) -> outline.Flat:
    """The tab in its plane: coordinates (y, x) about the pad's centre. The blank is longer at its rear end by the allowance."""
    rear = TAB_LENGTH / 2 + (spec.blank_allowance if spec.blank else 0.0)
    pitch, rows = BOLT_PITCH / 2, (spec.tail_bolts + 1) // 2
    steps = [0.0] if rows == 1 else [TAB_LENGTH * (0.6 * i / (rows - 1) - 0.3) for i in range(rows)]
    diameter = TAIL_BOLT + BOLT_CLEARANCE
    seats = [(side * pitch, step) for step in steps for side in (1.0, -1.0)][:spec.tail_bolts]
    if spec.tail_bolts == 1:
        seats = [(pitch, 0.0)]
    half = TAB_WIDTH / 2
    corners = [(-half, -rear), (half, -rear), (half, TAB_LENGTH / 2), (-half, TAB_LENGTH / 2)]
    return outline.Flat(outline.rounded(corners, TAB_CORNER), tuple(outline.Circle(y, x, diameter) for y, x in seats))


flat = tab


def trim_line(spec: Spec) -> tuple[tuple[float, float], tuple[float, float]]:
    """Ends (y, x) of the line to which a blank is cut, in the tab's plane."""
    return (-TAB_WIDTH / 2, -TAB_LENGTH / 2), (TAB_WIDTH / 2, -TAB_LENGTH / 2)


def build(spec: Spec) -> Part.Solid:
    """Tab and tube, one solid; the cross bolt's hole goes through the tube."""
    shape = flat(spec)
    center = Vector(*spec.pad)

    def wire(item) -> Part.Wire:
        """The tab's lines at the pad: y stays, the second coordinate is x."""
        if isinstance(item, outline.Circle):
            return Part.Wire(Part.makeCircle(item.diameter / 2, center + Vector(item.z, item.y, 0), Vector(0, 0, -1)))
        edges = []
        for segment in item.segments:
            start, end = (center + Vector(z, y, 0) for y, z in ((segment.y0, segment.z0), (segment.y1, segment.z1)))
            middle_y, middle_z = segment.at(0.5)
            edges.append(Part.Arc(start, center + Vector(middle_z, middle_y, 0), end).toShape() if segment.sweep
                         else Part.makeLine(start, end))
        return Part.Wire(edges)

    wires = [wire(shape.outer)]
    for hole in shape.inner:
        inner = wire(hole)
        inner.reverse()
        wires.append(inner)
    plate = Part.Face(wires).extrude(Vector(0, 0, -spec.tab_thickness))
    foot = Vector(*spec.member_point)
    along = axis(spec)
    low = spec.member_diameter / 2 + BOTTOM_GAP
    under = Vector(0, 0, -spec.tab_thickness) + center
    body = tube.straight(foot + along * low, foot + along * (_distance(spec) + spec.outer_diameter), spec.outer_diameter, spec.wall)
    cutters = [tube.half_space(tube.Plane(tuple(under), (0.0, 0.0, 1.0)), 4 * spec.outer_diameter), _bolt_hole(spec)]
    body = tube.largest(body.cut(cutters))
    return tube.largest(plate.fuse(body))


def _bolt_hole(spec: Spec) -> Part.Solid:
    direction = Vector(*spec.member_axis).normalize()
    seat = cross_bolt_seat(spec)
    return Part.makeCylinder((spec.cross_bolt + BOLT_CLEARANCE) / 2, 4 * spec.receiver_diameter,
                             seat - direction * 2 * spec.receiver_diameter, direction)


def build_receiver(spec: Spec) -> Part.Solid:
    """The receiver's sleeve, coped to the cross member, with the cross bolt's hole: one solid."""
    foot, along = Vector(*spec.member_point), axis(spec)
    sleeve = tube.straight(foot, foot + along * _receiver_top(spec), spec.receiver_diameter, SLEEVE_WALL)
    header = tube.Header(spec.member_point, spec.member_axis, spec.member_diameter)
    left = sleeve.cut([tube.header_bar(header, 3 * spec.receiver_diameter), _bolt_hole(spec)])
    # Where the sleeve is wider than the member, what hangs beside the member stays on it; what is left below is one piece.
    return tube.largest(left)


def slide(spec: Spec) -> float:
    """How far the tube can slide down its receiver before it meets the cross member, mm."""
    return BOTTOM_GAP


def folded(spec: Spec) -> FreeCAD.Placement:
    """Where mount and tube lie when they are folded flat: along the cross member, on top of it, beside the receiver (left)."""
    foot, along = Vector(*spec.member_point), axis(spec)
    across = Vector(*spec.member_axis).normalize()
    fore = across.cross(Vector(0, 0, 1)).normalize()
    up = fore.cross(across).normalize()
    turn = FreeCAD.Rotation(along, across)
    low = spec.member_diameter / 2 + BOTTOM_GAP
    rear = TAB_LENGTH / 2 + (spec.blank_allowance if spec.blank else 0.0)
    corners = [Vector(*spec.pad) + Vector(x, y, z) for x in (-rear, TAB_LENGTH / 2) for y in (-TAB_WIDTH / 2, TAB_WIDTH / 2)
               for z in (0.0, -spec.tab_thickness)]
    # The tab stands across the tube, so it is the tab's lowest corner that rests on the member.
    reach = max([spec.outer_diameter / 2] + [-turn.multVec(corner - foot).dot(up) for corner in corners])
    target = foot + up * (spec.member_diameter / 2 + reach) + across * (spec.receiver_diameter / 2 + 5.0)
    return FreeCAD.Placement(target - turn.multVec(foot + along * low), turn)


def as_blank(spec: Spec) -> Spec:
    """The same mount as it is delivered."""
    return replace(spec, blank=True)


def tilt(spec: Spec) -> float:
    """Angle of the tube out of square to the tab, rad."""
    return math.acos(max(-1.0, min(1.0, axis(spec).z)))
