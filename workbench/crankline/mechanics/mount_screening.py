"""Screening of everything that holds a powertrain: how the mounts share the loads of a few states, and what is left of each.

Powertrain and chassis are rigid; plates, tabs, tubes and feet between them are springs, so that who carries what follows
from their stiffness. Screening arithmetic for a builder, never a certificate: no fatigue, no fit-up, no heat, no buckling of
plates, no local bending of thin rail walls. Car frame; mm, N, MPa, kg. Formulas and their sources: ``strength``, ``fasteners``,
``welds``, ``beams``; what is held and where: ``mounting``.
"""
from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from . import balance, beams, fasteners, shaft, strength, welds
from .mounting import FootSeat, Mounting, Point, RailSeat, Spring, Strut, TailMount, Tie, shares, springs
from .mounts_load import ASSUMED_CASES, LoadCase, case_loads
from .strength import Allowables, Margin

SHOCK_FACTOR = 1.5
"""Shaft torque at the hit of a launch over its steady value; assumed default, no source. A torque that is put on all at once
doubles in a shaft without damping (closed form), one that grows slowly keeps 1."""

GRIP = {"slick": 3.5, "street": 1.2}
"""Friction of rear tyres at the launch by kind; assumed defaults, no source. Careful side: 60 ft in 1.05 s from rest is a mean
of 2 x 60 ft / (1.05 s)^2 = 3.4 g."""

MOST_LEFT = 99.0
"""A margin is not told above this: what is unloaded has no number."""


# --- torque -----------------------------------------------------------------------------------------------------------


class LaunchTorque(NamedTuple):
    """Shaft torque at launch, N.mm. engine: what the engine can send; grip: what the tyres can hold, inf where that is not
    known; shaft: the lesser of both; mounts: shaft times shock factor."""
    engine: float
    grip: float
    shock_factor: float

    @property
    def shaft(self) -> float:
        """What reaches the driveshaft: when the tyres slip, nothing upstream carries more."""
        return min(self.engine, self.grip)

    @property
    def mounts(self) -> float:
        """What the mounts have to hold against."""
        return self.shaft * self.shock_factor


def launch(peak_torque: float, multiplier: float, first_gear: float, mass: float, cg, wheelbase: float, friction: float,
           tyre_radius: float, axle_ratio: float, shock_factor: float = SHOCK_FACTOR) -> LaunchTorque:
    """Torque of a launch: mass, cg of the whole car; friction of the rear tyres at the load that they get by accelerating as
    hard as they hold (`balance.traction_limit`). multiplier: converter ratio or clutch capacity."""
    cg = np.asarray(cg, dtype=float)
    hardest = balance.traction_limit(friction, cg[0], cg[2], wheelbase)
    rear = balance.rear_load_at(hardest, mass, cg, wheelbase)
    return LaunchTorque(float(shaft.launch_torque(peak_torque, multiplier, first_gear)),
                        float(shaft.grip_torque(friction, rear, tyre_radius, axle_ratio)), shock_factor)


def cases(launch_g: float = 3.0, landing_g: float = 4.0, braking_g: float = 2.5, side_g: float = 2.0,
          reversal: float = 0.5) -> tuple[LoadCase, ...]:
    """`ASSUMED_CASES` with other sizes, all above 0: accelerations in g, reversal as a share of the launch torque."""
    sizes = {"launch": {"forward": launch_g}, "landing": {"up": landing_g}, "braking": {"forward": -braking_g},
             "side left": {"left": side_g}, "side right": {"left": -side_g}, "torque reversal": {"torque": -reversal}}
    return tuple(LoadCase(**{**vars(case), **sizes[case.name]}) for case in ASSUMED_CASES)


@dataclass(frozen=True)
class Item:
    """One screened item: its group (what rules ask by), its worst margin, the keys of its parts, where it is."""
    group: str
    margin: Margin
    subjects: tuple[str, ...]
    point: Point


GROUPS = ("bolts", "bearing", "tab_bending", "tab_welds", "plate_foot", "tie_tab", "support_tube", "cross_bolt", "tail",
          "cross_member", "limiter_strut", "fore_aft")


# --- margins ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Screening:
    """Loads, forces and margins. force (cases, 3) through the CG and moment (cases, 3) about the car's origin act on the
    powertrain; on_mounts (cases, mounts, 3) is what it puts on each."""
    mounting: Mounting
    torque: float
    cases: tuple[LoadCase, ...]
    allowables: Allowables
    mounts: tuple[Spring, ...]
    force: np.ndarray = field(repr=False)
    moment: np.ndarray = field(repr=False)
    on_mounts: np.ndarray = field(repr=False)
    items: tuple[Item, ...]

    def on(self, name: str) -> np.ndarray:
        """(cases, 3) on one mount."""
        return self.on_mounts[:, [spring.name for spring in self.mounts].index(name)]


def screen(mounting: Mounting, torque: float, load_cases: tuple[LoadCase, ...] = ASSUMED_CASES,
           allowables: Allowables = Allowables()) -> Screening:
    """Every margin of a mounting under a launch torque on its mounts, N.mm. ValueError where the mounts leave a motion free."""
    held = springs(mounting)
    force, moment = case_loads(mounting.mass, mounting.cg, torque, load_cases, mounting.output_axis)
    found = shares(held, force, moment)
    names, by_name = [case.name for case in load_cases], {spring.name: found[:, i] for i, spring in enumerate(held)}
    items: list[Item] = []
    for seat in mounting.rails:
        items += _rail(seat, names, by_name[seat.name], allowables)
    for seat in mounting.feet:
        items += _foot(seat, names, by_name[seat.name], allowables)
    for tie in mounting.ties:
        items += _tie(tie, names, by_name[tie.name], allowables)
    if mounting.support_tube is not None and mounting.ties:
        items.append(_support_tube(mounting, names, by_name, allowables))
    if mounting.tail is not None:
        items += _tail(mounting.tail, names, by_name["tail"], allowables)
    if mounting.strut is not None:
        items += _strut(mounting.strut, names, by_name["limiter strut"], allowables)
    items += _fore_aft(mounting, names, by_name, allowables)
    return Screening(mounting, torque, tuple(load_cases), allowables, held, force, moment, found, tuple(items))


def _rail(seat: RailSeat, names, force, allowables) -> list[Item]:
    found = strength.rail_mount(seat.name, names, force, seat.mount, allowables)
    group = {"bolts": ("bolts", (seat.plate, *seat.tabs)), "plate bearing": ("bearing", (seat.plate,)),
             "tab bearing": ("bearing", seat.tabs), "tab bending": ("tab_bending", seat.tabs), "tab welds": ("tab_welds", seat.tabs)}
    return [Item(*_named(group, margin), seat.point) for margin in found if margin.item.split(": ")[1] in group]


def _named(group, margin: Margin):
    name, subjects = group[margin.item.split(": ")[1]]
    return name, margin, subjects


def _foot(seat: FootSeat, names, force, allowables) -> list[Item]:
    """The tube bent at the rail: fore-aft as a cantilever, in the plane of the plate with half the moment at each end; the
    other half turns the column of bolts, which are in single shear."""
    y, z = seat.direction
    axial, across = force[:, 1] * y + force[:, 2] * z, force[:, 2] * y - force[:, 1] * z
    turned = 0.5 * np.abs(across) * seat.bar.length
    rows = (np.arange(seat.bolts) - 0.5 * (seat.bolts - 1)) * seat.pitch
    shear = np.hypot(force[:, 1], force[:, 2]) / seat.bolts + turned * rows.max() / (rows**2).sum()
    used = fasteners.utilisation(shear, np.abs(force[:, 0]) / seat.bolts, seat.bolt, gamma=allowables.gamma_bolt)
    moment = np.hypot(force[:, 0] * seat.bar.length, turned)
    welded = welds.tube_weld_force(seat.bar.outer_diameter, axial, np.hypot(force[:, 0], across), moment)
    foot = (seat.foot,)
    return [Item("bolts", strength.margin(f"{seat.name}: bolts", names, used, 1.0, "", "shear and tension, EN 1993-1-8 table 3.4"),
                 (seat.foot, seat.plate), seat.point),
            Item("plate_foot", strength.margin(f"{seat.name}: tube", names, seat.bar.stress(axial, moment),
                                               seat.bar.yield_strength / allowables.yield_safety, "MPa", "cantilever, yield over safety"),
                 foot, seat.point),
            Item("plate_foot", strength.margin(f"{seat.name}: weld", names, welded,
                                               welds.allowable_force(seat.filler_strength, seat.weld_leg), "N/mm",
                                               "weld as a line, 0.30 F_EXX on the throat (AWS D1.1)"), foot, seat.point)]


def _tie(tie: Tie, names, force, allowables) -> list[Item]:
    """Bolt in single shear; the tab bent at its weld under the tube by what pulls fore-aft and up, both at once."""
    x, y, z = np.abs(force.T)
    used = fasteners.utilisation(np.hypot(y, z), x, tie.bolt, gamma=allowables.gamma_bolt)
    bent = (beams.cantilever_stress(x, tie.up, tie.width, tie.thickness) + beams.cantilever_stress(z, tie.back, tie.width, tie.thickness)
            + beams.cantilever_stress(y, tie.up, tie.thickness, tie.width))
    return [Item("bolts", strength.margin(f"{tie.name}: bolt", names, used, 1.0, "", "shear and tension, EN 1993-1-8 table 3.4"),
                 (tie.key, "mid_plate"), tie.point),
            Item("tie_tab", strength.margin(f"{tie.name}: bending", names, bent, tie.yield_strength / allowables.yield_safety, "MPa",
                                            "cantilever, yield over safety"), (tie.key,), tie.point)]


def _support_tube(mounting: Mounting, names, by_name, allowables) -> Item:
    tube = mounting.support_tube
    force = np.stack([by_name[tie.name] for tie in mounting.ties], axis=1)
    found = strength.tube_beam("support tube", names, force, [tie.along for tie in mounting.ties], tube.length, tube.outer_diameter,
                               tube.wall, tube.yield_strength, tube.modulus, allowables)
    middle = np.mean([tie.point for tie in mounting.ties], axis=0)
    return Item("support_tube", found, ("support_tube",), tuple(map(float, middle)))


def _tail(tail: TailMount, names, force, allowables) -> list[Item]:
    """Cross bolt with everything on it (friction and contact in the receiver count for nothing); tube and receiver's weld
    bent by the force at the pad; member bent as a simple beam and twisted by what stands off its axis."""
    # A hollow tube bears on the bolt by its two walls: a sleeve of their length stands for them.
    found = strength.cross_bolt("transmission mount", names, force, tail.bolt, tail.receiver_wall, tail.fit, 2.0 * tail.tube.wall,
                                allowables)
    items = [Item("cross_bolt", margin, ("transmission_mount", "receiver"), tail.bolt_point) for margin in found]
    lever = np.subtract(tail.point, tail.bolt_point)
    along = lever / np.linalg.norm(lever)
    axial, turned = force @ along, np.cross(lever, force)
    twist = turned @ along
    bent = np.linalg.norm(turned - twist[:, None] * along, axis=-1)
    items.append(Item("tail", strength.margin("transmission mount: tube", names, tail.tube.stress(axial, bent, twist),
                                              tail.tube.yield_strength / allowables.yield_safety, "MPa", "cantilever, yield over safety"),
                      ("transmission_mount",), tail.point))
    reach = np.subtract(tail.point, tail.member_point)
    at_member = np.cross(reach - 0.5 * tail.member.outer_diameter * along, force)
    twist = at_member @ along
    bent = np.linalg.norm(at_member - twist[:, None] * along, axis=-1)
    across = np.linalg.norm(force - axial[:, None] * along, axis=-1)
    welded = welds.tube_weld_force(tail.receiver_diameter, axial, across, bent, twist)
    items.append(Item("tail", strength.margin("receiver: weld", names, welded, welds.allowable_force(tail.filler_strength, tail.weld_leg),
                                              "N/mm", "weld as a line, 0.30 F_EXX on the throat (AWS D1.1)"),
                      ("receiver", "cross_member"), tail.member_point))
    member, turned = tail.member, np.cross(reach, force)
    # Half of force and twist go to each end; a moment at the middle of a simple beam bends each half by half of it.
    vertical = np.abs(force[:, 2]) * member.length / 4.0 + 0.5 * np.abs(turned[:, 0])
    level = np.abs(force[:, 0]) * member.length / 4.0 + 0.5 * np.abs(turned[:, 2])
    stress = member.stress(0.5 * force[:, 1], np.hypot(vertical, level), 0.5 * (np.abs(turned[:, 1]) + tail.offset * np.abs(force[:, 2])))
    items.append(Item("cross_member", strength.margin("cross member: bending and twist", names, stress,
                                                      member.yield_strength / allowables.yield_safety, "MPa", "simple beam, yield over safety"),
                      ("cross_member",), tail.member_point))
    return items


def _strut(strut: Strut, names, force, allowables) -> list[Item]:
    """The strut as a column between two rod ends: Euler's load or its yield, the lesser, over the same safety."""
    tube, axial = strut.tube, np.abs(force[:, 0]) / abs(strut.direction[0])
    holds = min(np.pi**2 * tube.bending / tube.length**2, tube.yield_strength * float(tube.section.area)) / allowables.yield_safety
    return [Item("limiter_strut", strength.margin("limiter strut: push", names, axial, holds, "N", "Euler column and yield, over safety"),
                 ("limiter_strut",), strut.point)]


def _fore_aft(mounting: Mounting, names, by_name, allowables) -> list[Item]:
    """Each plate on its side strips; a strut on it has taken its share already. The harder loaded side counts for both."""
    items = []
    seats = [seat for seat in (*mounting.rails, *mounting.feet)]
    for plate in dict.fromkeys(seat.plate for seat in seats):
        own = [seat for seat in seats if seat.plate == plate]
        strip = own[0].strip
        force = 2.0 * np.max([np.abs(by_name[seat.name][:, 0]) for seat in own], axis=0)
        found = strength.plate_fore_aft(plate.replace("_", " "), names, force, strip.modulus, strip.poisson, strip.yield_strength,
                                        strip.thickness, strip.width, strip.span, allowables)
        middle = tuple(map(float, np.mean([seat.point for seat in own], axis=0)))
        items += [Item("fore_aft", margin, (plate,), middle) for margin in found]
    return items
