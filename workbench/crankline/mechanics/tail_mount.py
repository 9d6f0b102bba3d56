"""Transmission mount as it is built, as numbers: tab bolted under the tail, tube square to it, receiver with a cross bolt, cross member.

Two of its joints may let a moment go: the pad (tail bolts that slip) and the cross bolt (the tube's play in its sleeve). Which of them
does is not known, so each part is screened for the harder one: *loose at the pad*, everything below is bent by the force at the pad;
*loose at the cross bolt*, everything above is bent by the force at the bolt. Car frame; mm, N, MPa. Screening, never a certificate.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from . import beams, fasteners, frames, strength, welds
from .beams import Bar
from .fasteners import Bolt
from .strength import Allowables, Use

Point = tuple[float, float, float]
MAST = 2.0
"""Effective length of a strut clamped at one end and free at the other, over its length."""


@dataclass(frozen=True)
class Tab:
    """Tab of the mount: width, thickness, depth of the flanges along its edges (0: none). hole: of its bolts; across: how many of them
    stand in a row; row: from the pad's middle to the row nearest to the tube; edge: a hole's center to the nearest edge."""
    width: float
    thickness: float
    flange: float
    hole: float
    across: int
    row: float
    edge: float
    yield_strength: float
    ultimate: float
    modulus: float = beams.STEEL_MODULUS
    shear_modulus: float = 77_000.0

    @property
    def whole(self) -> beams.Flanged:
        """Its section between the bolts and the tube."""
        return beams.flanged(self.width, self.thickness, self.flange)

    @property
    def drilled(self) -> beams.Flanged:
        """Its section through a row of bolts."""
        return beams.flanged(self.width, self.thickness, self.flange, self.across * self.hole)


@dataclass(frozen=True)
class TailBolts:
    """Bolts into the tail: places (x, y) from the pad's middle. engagement: thread in the tail, tapped_ultimate: of its metal; bearing: how
    far beyond the outermost bolt the pad still bears."""
    bolt: Bolt
    places: tuple[tuple[float, float], ...]
    engagement: float
    tapped_ultimate: float
    bearing: float


@dataclass(frozen=True)
class Receiver:
    """Sleeve on the cross member: outside diameter, wall, radial fit of the tube. tube_end, sleeve_end: cross bolt to the nearest end of
    tube and sleeve; hole: of the cross bolt. weld: middle of what holds it on the member.

    plates: None where the sleeve stands on the member, else of the two bracket plates beside it: (thickness, height at the member, from the
    tube's axis to the member's surface, half their distance).
    """
    diameter: float
    wall: float
    fit: float
    hole: float
    tube_end: float
    sleeve_end: float
    weld: Point
    yield_strength: float
    ultimate: float
    weld_leg: float
    filler_strength: float
    plates: tuple[float, float, float, float] | None = None


@dataclass(frozen=True)
class TailMount:
    """The mount between tail and rails. axes: unit vectors of the engine frame (forward, left, up) in the car frame.

    point: middle of the pad on top of the tab; head: tube's axis at the tab's underside; bolt_point: the cross bolt; member_point: the
    cross member's axis below. tube: head to cross bolt; bolt: the cross bolt; head_leg: fillet of tube to tab; member: rail to rail,
    offset (rearward, as a size) in its middle; member_leg: fillet at its ends.
    """
    point: Point
    head: Point
    bolt_point: Point
    member_point: Point
    axes: tuple[Point, Point, Point]
    tab: Tab
    tail_bolts: TailBolts
    tube: Bar
    bolt: Bolt
    receiver: Receiver
    head_leg: float
    member: Bar
    member_leg: float
    offset: float = 0.0


def give(tail: TailMount, on_member: bool = True) -> np.ndarray:
    """Displacement of the pad over the force on it, (3, 3) mm/N: tab bent from the pad to the tube, tube from its head to the cross bolt,
    and, unless the chassis gives it, the member, bent and twisted between the rails (its ends free to turn in bending, held in twist)."""
    forward, left, up = np.array(tail.axes)
    tab, tube, member = tail.tab, tail.tube, tail.member
    head, section = np.array(tail.head), tab.whole
    over_head = tail.point + forward * (forward @ (head - tail.point))
    bent = beams.cantilever_give(tail.point, tail.point, over_head, (left, up), (tab.modulus * section.weak, tab.modulus * section.strong),
                                 tab.shear_modulus * section.torsion, tab.modulus * section.area)
    bent = bent + beams.cantilever_give(tail.point, head, tail.bolt_point, (forward, left), (tube.bending, tube.bending), tube.twist,
                                        tube.modulus * float(tube.section.area))
    if not on_member:
        return bent
    sag = member.length**3 / (48.0 * member.bending)
    reach = np.subtract(tail.point, tail.member_point)
    twist, rock = member.length / (4.0 * member.twist), member.length / (12.0 * member.bending)
    about_y, about_x = frames.cross([0.0, 1.0, 0.0], reach), frames.cross([1.0, 0.0, 0.0], reach)
    return bent + np.diag([sag, 0.0, sag]) + twist * np.outer(about_y, about_y) + rock * np.outer(about_x, about_x)


def uses(tail: TailMount, force: ArrayLike, allowables: Allowables = Allowables(), on_member: bool = True) -> list[Use]:
    """How forces (cases, 3) in N on its pad, car frame, use every item of the mount: bolts and threads in the tail, tab, tube, cross bolt,
    receiver and, unless the chassis is screened with it, cross member."""
    force = np.atleast_2d(np.asarray(force, dtype=float))
    return [*_tail_bolts(tail, force, allowables), *_tab(tail, force, allowables), *_tube(tail, force, allowables),
            *_receiver(tail, force, allowables), *(_member(tail, force, allowables) if on_member else ())]


def _bent(tail: TailMount, force: np.ndarray, source: Point, section: Point) -> np.ndarray:
    """Moments (cases, 3) along the engine's axes at a section, of the force acting at a point."""
    return frames.cross(np.subtract(source, section), force) @ np.array(tail.axes).T


def _harder(tail: TailMount, force: np.ndarray, section: Point) -> np.ndarray:
    """Moments at a section between pad and cross bolt, each axis at its harder end let loose; sizes, (cases, 3)."""
    return np.maximum(np.abs(_bent(tail, force, tail.point, section)), np.abs(_bent(tail, force, tail.bolt_point, section)))


def _tail_bolts(tail: TailMount, force: np.ndarray, allowables: Allowables) -> list[Use]:
    """Loose at the cross bolt: what the force there bends at the pad tips the tab on its bolts."""
    held, local = tail.tail_bolts, force @ np.array(tail.axes).T
    # The chassis answers with -F at the cross bolt. Along (left, forward, down) the normal points away from the tail: where the tail lifts,
    # the chassis pulls the tab off it.
    moment = _bent(tail, -force, tail.bolt_point, tail.point)
    turn = np.array([1.0, 1.0, -1.0])
    shear, pull = fasteners.group_forces([(y, x) for x, y in held.places], held.bearing, -local[:, [1, 0, 2]] * turn,
                                         moment[:, [1, 0, 2]] * turn)
    used = fasteners.utilisation(shear, pull, held.bolt, gamma=allowables.gamma_bolt)
    stripped = fasteners.strip_resistance(held.bolt.diameter, held.engagement, held.tapped_ultimate, allowables.gamma_bolt)
    bearing = fasteners.bearing_resistance(held.bolt.diameter, tail.tab.thickness, tail.tab.hole, tail.tab.edge, tail.tab.edge,
                                           tail.tab.ultimate, held.bolt.ultimate, allowables.gamma_bolt)
    parts = ("transmission_mount", "transmission")
    return [Use("tail_bolts", parts, tail.point, "transmission mount: tail bolts", used, 1.0, "",
                "shear and tension, EN 1993-1-8 table 3.4", allowables.on_bolts),
            Use("tail_bolts", parts, tail.point, "transmission mount: threads in the tail", pull, stripped, "N",
                "internal thread, FED-STD-H28/2B, assumed cast aluminum", allowables.on_bolts),
            Use("tail_tab", parts[:1], tail.point, "transmission mount: tab bearing", shear, bearing, "N",
                "EN 1993-1-8 table 3.4", allowables.on_bolts)]


def _tab(tail: TailMount, force: np.ndarray, allowables: Allowables) -> list[Use]:
    """Bent across, in its plane, and twisted, at the row of bolts nearest to the tube and at the tube; and its weld to the tube."""
    tab, (forward, _left, _up) = tail.tab, np.array(tail.axes)
    reach = float(forward @ np.subtract(tail.head, tail.point))
    row = np.array(tail.point) + np.sign(reach) * min(tab.row, abs(reach)) * forward
    axial, stresses = np.abs(force @ forward), []
    for section, place in ((tab.drilled, tuple(row)), (tab.whole, tuple(np.array(tail.point) + reach * forward))):
        twist, across, plane = _harder(tail, force, place).T
        direct = axial / section.area + across / section.weak_modulus + plane / section.strong_modulus
        stresses.append(np.sqrt(direct**2 + 3.0 * (twist * tab.thickness / section.torsion) ** 2))
    bent = _harder(tail, force, tail.head)
    local = force @ np.array(tail.axes).T
    welded = welds.tube_weld_force(tail.tube.outer_diameter, local[:, 2], np.hypot(local[:, 0], local[:, 1]),
                                   np.hypot(bent[:, 0], bent[:, 1]), bent[:, 2])
    part = ("transmission_mount",)
    return [Use("tail_tab", part, tail.point, "transmission mount: tab bending", np.max(stresses, axis=0),
                tab.yield_strength / allowables.yield_safety, "MPa",
                "tab from the tail bolts to the tube, yield over safety", allowables.on_yield),
            Use("tail_tab", part, tail.head, "transmission mount: weld of tube to tab", welded,
                welds.allowable_force(tail.receiver.filler_strength, tail.head_leg), "N/mm",
                welds.AS_A_LINE, strength.ON_WELDS)]


def _tube(tail: TailMount, force: np.ndarray, allowables: Allowables) -> list[Use]:
    """Bent at its head or, through the cross bolt's hole, at the bolt; pressed as a mast; its walls on the cross bolt."""
    tube, seat, local = tail.tube, tail.receiver, force @ np.array(tail.axes).T
    at_head = _harder(tail, force, tail.head)
    stress = [tube.stress(local[:, 2], np.hypot(at_head[:, 0], at_head[:, 1]), at_head[:, 2])]
    # A tube that the hole takes apart holds nothing.
    area, about_forward, about_left = np.maximum(beams.tube_net_section(tube.outer_diameter, tube.wall, seat.hole), 1e-9)
    bent = np.abs(_bent(tail, force, tail.point, tail.bolt_point))
    direct = np.abs(local[:, 2]) / area + bent[:, 0] / about_forward + bent[:, 1] / about_left
    stress.append(np.sqrt(direct**2 + 3.0 * (tube.stress(0.0, 0.0, bent[:, 2]) ** 2 / 3.0)))
    across = np.hypot(local[:, 0], local[:, 2])
    bearing = [fasteners.bearing_resistance(tail.bolt.diameter, wall, seat.hole, end, np.pi / 4.0 * diameter, ultimate, tail.bolt.ultimate,
                                            allowables.gamma_bolt)
               for wall, end, diameter, ultimate in ((tube.wall, seat.tube_end, tube.outer_diameter, tail.tab.ultimate),
                                                     (seat.wall, seat.sleeve_end, seat.diameter, seat.ultimate))]
    # A hollow tube bears on the bolt by its two walls: a sleeve of their length stands for them.
    bolt = strength.cross_bolt("cross_bolt", ("transmission_mount", "receiver"), tail.bolt_point, "transmission mount: cross bolt", force,
                               tail.bolt, seat.wall, seat.fit, 2.0 * tube.wall, allowables)
    mount = ("transmission_mount",)
    return [*bolt,
            Use("cross_bolt", mount, tail.bolt_point, "transmission mount: tube on the cross bolt", 0.5 * across,
                bearing[0], "N", "EN 1993-1-8 table 3.4", allowables.on_bolts),
            Use("cross_bolt", ("receiver",), tail.bolt_point, "receiver: sleeve on the cross bolt", 0.5 * across,
                bearing[1], "N", "EN 1993-1-8 table 3.4", allowables.on_bolts),
            Use("tail", mount, tail.head, "transmission mount: tube", np.max(stress, axis=0),
                tube.yield_strength / allowables.yield_safety, "MPa",
                "bent at the tab, and through the cross bolt's hole, yield over safety", allowables.on_yield),
            Use("tail", mount, tail.head, "transmission mount: tube as a strut", np.maximum(-local[:, 2], 0.0),
                tube.column(MAST) / allowables.yield_safety, "N",
                "Euler and Johnson column of twice its length, over safety", allowables.on_yield)]


def _receiver(tail: TailMount, force: np.ndarray, allowables: Allowables) -> list[Use]:
    """Bent and twisted at the member by the force at the pad: sleeve and weld round it, or bracket plates and the welds of both."""
    seat, local = tail.receiver, force @ np.array(tail.axes).T
    moment = _bent(tail, force, tail.point, seat.weld)
    allowed, safe = welds.allowable_force(seat.filler_strength, seat.weld_leg), seat.yield_strength / allowables.yield_safety
    if seat.plates is None:
        bent, shear = np.hypot(moment[:, 0], moment[:, 1]), np.hypot(local[:, 0], local[:, 1])
        welded = welds.tube_weld_force(seat.diameter, local[:, 2], shear, bent, moment[:, 2])
        stress = Bar(seat.diameter, seat.wall, 1.0, seat.yield_strength).stress(local[:, 2], bent, moment[:, 2])
    else:
        thick, high, reach, spread = seat.plates
        # Two upright plates, each welded on both faces: lines along up, in the plane of left and up, the normal forward.
        faces = [plate + side for plate in (-spread, spread) for side in (-0.5 * thick, 0.5 * thick)]
        lines = np.array([[[y, -0.5 * high], [y, 0.5 * high]] for y in faces])
        turned = local[:, [1, 2, 0]], moment[:, [1, 2, 0]]
        welded = welds.peak_line_force(lines, *turned)
        # Each plate is pulled by half the force and by the couple of the moment about up, bent in its plane by half the moment about left
        # and by the couple of the moment about forward, and over its thickness by half a push sideways, as a post between two ends.
        couple = np.abs(moment) / (2.0 * spread)
        stress = ((0.5 * np.abs(local[:, 0]) + couple[:, 2]) / (thick * high)
                  + (0.5 * np.abs(moment[:, 1]) + couple[:, 0] * reach) / beams.rectangle_modulus(thick, high)
                  + 0.25 * np.abs(local[:, 1]) * reach / beams.rectangle_modulus(high, thick))
    return [Use("tail", ("receiver",), seat.weld, "receiver: bending at the cross member", stress, safe, "MPa",
                "yield over safety", allowables.on_yield),
            Use("tail", ("receiver", "cross_member"), seat.weld, "receiver: weld", welded, allowed, "N/mm",
                welds.AS_A_LINE, strength.ON_WELDS)]


def _member(tail: TailMount, force: np.ndarray, allowables: Allowables) -> list[Use]:
    """A simple beam bent by force and moment in its middle, and twisted by what stands off its axis; its end welds as if clamped."""
    member, length = tail.member, tail.member.length
    turned = np.abs(frames.cross(np.subtract(tail.point, tail.member_point), force))
    up, along = np.abs(force[:, 2]), np.abs(force[:, 0])
    # Half of force and twist go to each end; a moment at the middle of a simple beam bends each half by half of it.
    moment = np.hypot(up * length / 4.0 + 0.5 * turned[:, 0], along * length / 4.0 + 0.5 * turned[:, 2])
    twist, axial = 0.5 * (turned[:, 1] + tail.offset * up), 0.5 * np.abs(force[:, 1])
    stress = member.stress(axial, moment, twist)
    # Clamped: F L / 8 from a force and a quarter of a moment, both in the middle; the moment's end forces are 1.5 M / L.
    fixed = np.hypot(up * length / 8.0 + 0.25 * turned[:, 0], along * length / 8.0 + 0.25 * turned[:, 2])
    shear = np.hypot(0.5 * up + 1.5 * turned[:, 0] / length, 0.5 * along + 1.5 * turned[:, 2] / length)
    welded = welds.tube_weld_force(member.outer_diameter, axial, shear, fixed, twist)
    part = ("cross_member",)
    return [Use("cross_member", part, tail.member_point, "cross member: bending and twist", stress,
                member.yield_strength / allowables.yield_safety, "MPa", "simple beam, yield over safety", allowables.on_yield),
            Use("cross_member", part, tail.member_point, "cross member: end welds", welded,
                welds.allowable_force(tail.receiver.filler_strength, tail.member_leg), "N/mm",
                f"clamped beam, {welds.AS_A_LINE}", strength.ON_WELDS)]
