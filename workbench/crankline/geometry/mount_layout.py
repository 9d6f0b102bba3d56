"""Where the transmission mount's pieces stand, and its tab's outline; numbers only, no host. Engine frame, mm.

The cross member stays where the chassis has it. The tube is welded square to the tab on the bench and stands in a receiver on the
cross member, which is tacked with the mount bolted to the tail; the tab, supplied long, reaches fore-and-aft from the pad to the
tube's head. Where the pad is too low over the member for tube, receiver and cross bolt, or the tab would have to reach ahead under the
case, the receiver stands beside the member on two bracket plates: behind it, or ahead of it where the pad is there and no pan is.
Sizes that no record gives are common practice, no source.
"""
from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from .. import model
from ..mechanics.chassis import cross_member_station
from ..mechanics.frames import as_point
from ..mechanics.scene import Scene
from ..record import entries, filled, later
from ..units import INCH, sized
from . import outline
from .tube import check_section

TAIL_BOLT, BOLT_PITCH = (entries(model.MountPad)[name].default for name in ("bolt", "bolt_spacing"))
"""Tail bolts of a transmission that states none: 7/16 in, 1 5/8 in apart (common practice, no source)."""
BOLT_CLEARANCE = 0.4
"""Holes of the tail bolts over their diameter, mm (common practice, no source)."""
SLEEVE_WALL = 0.120 * INCH
"""Wall of the receiver, a stock wall of round tube (common practice, no source)."""
SLEEVE_FIT = 0.25
"""Radial clearance of tube in receiver, mm (common practice, no source)."""
RECEIVER_LENGTH = 1.75 * INCH
"""Least length of the receiver (common practice, no source)."""
TAB_LENGTH = 2.25 * INCH
TAB_WIDTH = 3.5 * INCH
TAB_CORNER = 0.375 * INCH
"""Least size of the tab on the tail, and the radius of its corners (common practice, no source)."""
TAB_EDGE = 0.25 * INCH
"""Of the tab around the tube: room for the weld (common practice, no source)."""
BOTTOM_GAP = 0.125 * INCH
"""Between tube and cross member: so far the tube can slide down to free the pad (common practice, no source)."""
TOP_GAP = 0.25 * INCH
"""Between tab and receiver: the slide, and the weld of tube to tab (common practice, no source)."""
SIDE_GAP = 0.125 * INCH
"""Between the cross member and a receiver beside it, bridged by the bracket plates (common practice, no source)."""
BRACKET_SPREAD = 0.3
"""Bracket plates of a receiver beside the member stand this part of its diameter left and right of its middle (common practice, no
source)."""
BOLTS_APART = 2.0
"""Tail bolts apart over their diameter, at least: a hexagon head is 1.73 diameters wide over its corners (closed form of
1.5 across flats; the rest is room, common practice, no source)."""
EDGE_RATIO = 1.5
"""Edge distance of the cross bolt over its diameter, in tube and receiver (common practice, no source)."""
BOLT_SHARE = 0.6
"""Cross bolt over the tube's diameter, at most: a larger hole leaves too little of the tube (common practice, no source)."""
ROW_SHARE = 0.6
"""Of the tab's least length over which rows of tail bolts are spread (common practice, no source)."""
FORWARD = 1.5 * INCH
"""So far ahead of the pad's center, where the case begins, the tab may reach (half the length of the pad, common practice, no source)."""
FLANGE_REACH = 2.0 * INCH
"""A tab that reaches farther from pad to tube is stiffened by a flange along each edge (common practice, no source)."""
FLANGE_DEPTH = 0.75 * INCH
LEAST_FLANGE = 0.25 * INCH
"""Depth of such a flange, and the least that is left of it over what is below (common practice, no source)."""


@dataclass(frozen=True)
class Spec:
    """Pad center and cross member in the engine frame; tab, tube, bolts; whether it is the blank as delivered.

    ``member_point``, ``member_axis``, ``member_diameter``: the cross member below the pad. ``side``: where the receiver stands, 0 on
    top of the member, 1 ahead of it, -1 behind it.
    """
    pad: tuple[float, float, float]
    member_point: tuple[float, float, float]
    member_axis: tuple[float, float, float]
    member_diameter: float
    side: int
    tab_thickness: float
    outer_diameter: float
    wall: float
    cross_bolt: float
    tail_bolts: int
    blank_allowance: float
    blank: bool
    tail_bolt: float = later(TAIL_BOLT)
    bolt_spacing: float = later(BOLT_PITCH)

    @cached_property
    def receiver_diameter(self) -> float:
        """Outside diameter of the receiver's sleeve."""
        return self.outer_diameter + 2 * (SLEEVE_FIT + SLEEVE_WALL)

    @cached_property
    def foot(self) -> np.ndarray:
        """The cross member's centerline in the plane of the tube, which is the pad's middle plane, (3,)."""
        point, axis = np.array(self.member_point), np.array(self.member_axis)
        return point + axis * ((self.pad[1] - point[1]) / axis[1])

    @cached_property
    def aside(self) -> float:
        """From the cross member's centerline forward to the receiver's."""
        return self.side * _aside(self.member_diameter, self.receiver_diameter)

    @cached_property
    def head(self) -> tuple[float, float]:
        """Where the tube's centerline enters the tab: (x, y)."""
        return float(self.foot[0] + self.aside), self.pad[1]

    @cached_property
    def reach(self) -> float:
        """From the pad's center forward to the tube's head; negative: rearward."""
        return self.head[0] - self.pad[0]

    @cached_property
    def under(self) -> float:
        """Height of the tab's underside."""
        return self.pad[2] - self.tab_thickness

    @cached_property
    def receiver_span(self) -> tuple[float, float]:
        """Heights of the receiver's lower and upper end; on top of the member the lower end is the member's upper surface."""
        axis, radius, highest = float(self.foot[2]), self.member_diameter / 2, self.under - TOP_GAP
        if self.side == 0:
            return axis + radius, min(axis + radius + RECEIVER_LENGTH, highest)
        length = max(RECEIVER_LENGTH, 2 * EDGE_RATIO * self.cross_bolt + BOTTOM_GAP)
        top = min(axis + length / 2, highest)
        return top - length, top

    @cached_property
    def tube_low(self) -> float:
        """Height of the tube's lower end."""
        return self.receiver_span[0] + BOTTOM_GAP

    @cached_property
    def bolt_seat(self) -> tuple[float, float, float]:
        """Centre of the cross bolt, which lies along the cross member: half way up what tube and receiver have in common."""
        return self.head[0], self.head[1], 0.5 * (self.tube_low + self.receiver_span[1])

    @cached_property
    def tab_span(self) -> tuple[float, float]:
        """Rear and front edge of the tab as trimmed, from the pad's center: both bolt rows and the tube stand on it."""
        bolted = 0.5 * row_pitch(self.tail_bolts, self.tail_bolt) * (rows(self.tail_bolts) - 1) + EDGE_RATIO * self.tail_bolt
        half, around = max(TAB_LENGTH / 2, bolted), self.outer_diameter / 2 + TAB_EDGE
        return min(-half, self.reach - around), max(half, self.reach + around)

    @cached_property
    def half_width(self) -> float:
        """Half of the tab's width."""
        return max(TAB_WIDTH / 2, self.outer_diameter / 2 + TAB_EDGE, self.bolt_spacing / 2 + EDGE_RATIO * self.tail_bolt)

    @cached_property
    def over_member(self) -> float:
        """Room between the tab's underside and the cross member below it; infinite where the tab does not reach over it."""
        rear, front = (self.pad[0] + x for x in self.tab_span)
        axis, radius = self.foot[0], self.member_diameter / 2
        return float(self.under - self.foot[2]) - radius if rear < axis + radius and front > axis - radius else float("inf")

    @cached_property
    def flange_depth(self) -> float:
        """Depth of the flanges along the tab's edges, 0 where the tab is short or stands close over the cross member."""
        if abs(self.reach) <= FLANGE_REACH:
            return 0.0
        # The cross bolt is drawn out sideways below the flange; a hexagon head is 1.73 diameters wide over its corners.
        depth = min(FLANGE_DEPTH, self.over_member - 2 * BOTTOM_GAP, self.under - self.bolt_seat[2] - self.cross_bolt)
        return depth if depth >= LEAST_FLANGE else 0.0

    @cached_property
    def slide(self) -> float:
        """How far the tube can slide down its receiver before it or the tab meets something, at least 0."""
        room = [self.under - self.receiver_span[1], self.over_member - self.flange_depth]
        if self.side == 0:
            room.append(BOTTOM_GAP)
        return max(0.0, float(min(room)))


def spec(mount: model.TransmissionMount, member: model.CrossMember, scene: Scene, blank: bool = False) -> Spec:
    """From records; ValueError where tube and cross bolt, or the tail's bolts, do not go together. Where the parts stand is never refused:
    what runs into something is a finding."""
    mount = filled(mount)
    tube, bolt = mount.tube, mount.cross_bolt
    check_section(tube.outer_diameter, tube.wall, "mounts.transmission.tube")
    if bolt > BOLT_SHARE * tube.outer_diameter:
        raise ValueError(f"mounts.transmission.cross_bolt: {sized(bolt)} is too large for a tube of "
                         f"{sized(tube.outer_diameter)}; give no more than {sized(BOLT_SHARE * tube.outer_diameter)}")
    transmission = scene.transmission
    tail = transmission.mount_pad
    if tail.bolt_spacing < BOLTS_APART * tail.bolt - 1e-9:
        raise ValueError(f"transmission.mount_pad.bolt_spacing: {sized(tail.bolt_spacing)} leaves no room for the heads of bolts of "
                         f"{sized(tail.bolt)}; give at least {sized(BOLTS_APART * tail.bolt)}")
    pad = np.array([-(scene.stack.total + transmission.mount_pad.from_bell), 0.0, -transmission.mount_pad.below_axis])
    middle = np.array([cross_member_station(member, scene.chassis), scene.engine_frame.to_car(pad)[1], filled(member).z])
    point = scene.engine_frame.to_local(middle)
    axis = scene.engine_frame.directions_to_local(np.array([0.0, 1.0, 0.0]))

    def made(side: int) -> Spec:
        return Spec(as_point(pad), as_point(point), as_point(axis), member.section.outer_diameter, side,
                    mount.tab_thickness, tube.outer_diameter, tube.wall, bolt, mount.tail_bolts, mount.blank_allowance, blank,
                    tail.bolt, tail.bolt_spacing)

    return made(_side(made(0), scene))


def _aside(member_diameter: float, receiver_diameter: float) -> float:
    return (member_diameter + receiver_diameter) / 2 + SIDE_GAP


def _side(top: Spec, scene: Scene) -> int:
    """Where the receiver stands: on top where there is room, else on the pad's side of the member, but never ahead under case or pan."""
    least = BOTTOM_GAP + 2 * EDGE_RATIO * top.cross_bolt + TOP_GAP
    ahead = FORWARD - top.outer_diameter / 2 - TAB_EDGE
    if top.under - top.foot[2] - top.member_diameter / 2 >= least and top.reach <= ahead:
        return 0
    front = top.reach + _aside(top.member_diameter, top.receiver_diameter)
    clear = front <= ahead
    pan = scene.transmission.pan
    if clear and pan is not None:
        # The pan comes back by the travel that frees the dowels before it goes down.
        pan_rear = scene.transmission.mount_pad.from_bell - pan.from_bell_rear - scene.transmission.disengage_travel
        clear = front + top.receiver_diameter / 2 < pan_rear
    return 1 if clear and abs(front) < abs(front - 2 * _aside(top.member_diameter, top.receiver_diameter)) else -1


def rows(tail_bolts: int) -> int:
    """Rows of tail bolts, two in each."""
    return (tail_bolts + 1) // 2


def row_pitch(tail_bolts: int, bolt: float) -> float:
    """Distance between rows of bolts of a diameter, mm."""
    return max(ROW_SHARE * TAB_LENGTH / max(rows(tail_bolts) - 1, 1), 2 * EDGE_RATIO * bolt)


def tab(spec: Spec) -> outline.Flat:
    """The tab in its plane: coordinates (y, x) about the pad's center. The blank is longer at its rear end by the allowance."""
    rear, front = spec.tab_span
    rear -= spec.blank_allowance if spec.blank else 0.0
    count, pitch = rows(spec.tail_bolts), row_pitch(spec.tail_bolts, spec.tail_bolt)
    steps = [(i - 0.5 * (count - 1)) * pitch for i in range(count)]
    seats = [(side * spec.bolt_spacing / 2, step) for step in steps for side in (1.0, -1.0)][:spec.tail_bolts]
    half = spec.half_width
    corners = [(-half, rear), (half, rear), (half, front), (-half, front)]
    holes = tuple(outline.Circle(y, x, spec.tail_bolt + BOLT_CLEARANCE) for y, x in seats)
    return outline.Flat(outline.rounded(corners, TAB_CORNER), holes)


def trim_line(spec: Spec) -> tuple[tuple[float, float], tuple[float, float]]:
    """Ends (y, x) of the line to which a blank is cut, in the tab's plane."""
    rear = spec.tab_span[0]
    return (-spec.half_width, rear), (spec.half_width, rear)


def flanges(spec: Spec) -> tuple[tuple[float, float, float, float, float, float], ...]:
    """Boxes (x, y, z of the low corner, then of the high corner) of the flanges under the tab's edges; none where it is short."""
    depth = spec.flange_depth
    if depth <= 0.0:
        return ()
    rear, front = (spec.pad[0] + x for x in spec.tab_span)
    return tuple((rear + TAB_CORNER, spec.pad[1] + min(inner, outer), spec.under - depth,
                  front - TAB_CORNER, spec.pad[1] + max(inner, outer), spec.under)
                 for outer, inner in ((side * spec.half_width, side * (spec.half_width - spec.tab_thickness)) for side in (1.0, -1.0)))
