"""Screening of everything that holds a powertrain: how the mounts share the loads of a few states, and what is left of each.

The powertrain is rigid; plates, tabs, tubes and feet are springs and the chassis tubes that they stand on a space frame
(``chassis_frame``), so that who carries what follows from their stiffness; a mounting without a chassis stands on rigid ground.
Screening arithmetic for a builder, never a certificate: no fatigue, no fit-up, no heat, no buckling of plates, no dents in thin rail
walls. Car frame; mm, N, MPa, kg. Formulas and their sources: ``strength``, ``fasteners``, ``welds``, ``beams``; what is
held and where: ``mounting``.
"""
from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache, partial
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from . import balance, beams, chassis_frame, fasteners, frames, limiter_strut, shaft, strength, tail_mount, welds
from .mounting import FootSeat, Mounting, RailSeat, Tie, springs
from .mounts_load import ASSUMED_CASES, LoadCase, Spring, case_loads, shares
from .strength import Allowables, Item, Use
from .tail_mount import TailMount

SHOCK_FACTOR = 1.5
"""Shaft torque at the hit of a launch over its steady value; assumed default, no source. A torque that is put on all at once
doubles in a shaft without damping (closed form), one that grows slowly keeps 1."""

GRIP = {"slick": 3.5, "street": 1.2}
"""Friction of rear tires at the launch by kind; assumed defaults, no source. Careful side: 60 ft in 1.05 s from rest is a mean
of 2 x 60 ft / (1.05 s)^2 = 3.4 g."""

MOST_LEFT = 99.0
"""A margin is not told above this: what is unloaded has no number."""


# --- torque -----------------------------------------------------------------------------------------------------------


class LaunchTorque(NamedTuple):
    """Shaft torque at launch, N.mm. engine: what the engine can send; grip: what the tires can hold, inf where that is not
    known; shaft: the lesser of both; mounts: shaft times shock factor. forward: acceleration in g that the shaft's torque gives the car,
    before any shock; None where the car's mass is not known. Numbers, or arrays over placements."""
    engine: float
    grip: Any
    shock_factor: float
    forward: Any = None

    @property
    def shaft(self) -> Any:
        """What reaches the driveshaft: when the tires slip, nothing upstream carries more."""
        return _plain(np.minimum(self.engine, self.grip))

    @property
    def mounts(self) -> Any:
        """What the mounts have to hold against."""
        return self.shaft * self.shock_factor


def _plain(value: np.ndarray) -> Any:
    """A float for one placement, an array for many."""
    return float(value) if np.ndim(value) == 0 else value


def launch(peak_torque: float, multiplier: float, first_gear: float, mass: float, cg: ArrayLike, wheelbase: float, friction: float,
           tire_radii: Iterable[float], axle_ratio: float, shock_factor: float = SHOCK_FACTOR) -> LaunchTorque:
    """Torque of a launch: mass, cg of the whole car; friction of the rear tires under the load that they have standing and the load that
    they get by accelerating as hard as they hold (`balance.traction_limit`), at each of their radii (loaded, free): the most that any
    of these lets through counts. multiplier: converter ratio or clutch capacity. cg: (..., 3), one placement or many."""
    cg, radii = np.asarray(cg, dtype=float), tuple(tire_radii)
    hardest = balance.traction_limit(friction, cg[..., 0], cg[..., 2], wheelbase)
    rear = np.maximum(balance.rear_load_at(0.0, mass, cg, wheelbase), balance.rear_load_at(hardest, mass, cg, wheelbase))
    engine = float(shaft.launch_torque(peak_torque, multiplier, first_gear))
    # The tire pushes with what the engine sends over its radius, the smallest one pushing the hardest, or slips.
    push = np.minimum(friction * rear, engine * axle_ratio / min(radii))
    return LaunchTorque(engine, _plain(shaft.grip_torque(friction, rear, max(radii), axle_ratio)), shock_factor,
                        _plain(push / (mass * balance.STANDARD_GRAVITY / shaft.KG_MM_PER_NEWTON)))


def cases(launch_g: float = 3.0, landing_g: float = 4.0, braking_g: float = 2.5, side_g: float = 2.0,
          reversal: float = 0.5) -> tuple[LoadCase, ...]:
    """`ASSUMED_CASES` with other sizes, all above 0: accelerations in g, reversal as a share of the launch torque, which brakes the car by
    the same share of the launch."""
    sizes = {"launch": {"forward": launch_g}, "landing": {"up": landing_g}, "braking": {"forward": -braking_g},
             "side left": {"left": side_g}, "side right": {"left": -side_g},
             "torque reversal": {"torque": -reversal, "forward": -reversal * launch_g}}
    return tuple(LoadCase(**{**vars(case), **sizes[case.name]}) for case in ASSUMED_CASES)


GROUPS = ("chassis_tubes", "bolts", "bearing", "tab_bending", "tab_welds", "plate_foot", "tie_tab", "support_tube", "tail_bolts",
          "tail_tab", "cross_bolt", "tail", "tail_alone", "cross_member", "limiter_strut", "limiter_bolts", "limiter_bracket", "fore_aft")


# --- margins ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Together:
    """What is worked out together, at the first time that any of its groups is asked for: a search for a remedy asks for one."""
    groups: tuple[str, ...]
    make: Callable[[], list[Item]]

    @cached_property
    def items(self) -> tuple[Item, ...]:
        """All of them."""
        return tuple(self.make())


@dataclass(frozen=True)
class Screening:
    """Loads, forces and margins. force (cases, 3) through the CG and moment (cases, 3) about the car's origin act on the
    powertrain; on_mounts (cases, mounts, 3) is what it puts on each. With a chassis every case stands there once for each condition
    of the tubes' ends, and its name says which; gives: the compliance of the seats, (3 mounts, 3 mounts), under each condition."""
    mounting: Mounting
    torque: float
    cases: tuple[LoadCase, ...]
    allowables: Allowables
    mounts: tuple[Spring, ...]
    force: np.ndarray = field(repr=False)
    moment: np.ndarray = field(repr=False)
    on_mounts: np.ndarray = field(repr=False)
    together: tuple[_Together, ...] = field(repr=False)
    gives: tuple[np.ndarray, ...] = field(default=(), repr=False)

    def of(self, groups: Iterable[str]) -> tuple[Item, ...]:
        """Items of some of `GROUPS`."""
        wanted = set(groups)
        return tuple(item for some in self.together if wanted & {*some.groups} for item in some.items if item.group in wanted)

    @property
    def items(self) -> tuple[Item, ...]:
        """Items of all groups."""
        return tuple(item for some in self.together for item in some.items)

    def on(self, name: str) -> np.ndarray:
        """(cases, 3) on one mount."""
        return self.on_mounts[:, [spring.name for spring in self.mounts].index(name)]


@lru_cache(maxsize=64)
def screen(mounting: Mounting, torque: float, load_cases: tuple[LoadCase, ...] = ASSUMED_CASES,
           allowables: Allowables = Allowables()) -> Screening:
    """Every margin of a mounting under a launch torque on its mounts, N.mm. ValueError where the mounts leave a motion free.

    The last ones are kept: several findings try the same changes of a car, and an edit may leave the mounting as it was.
    """
    held = springs(mounting)
    force, moment = case_loads(mounting.mass, mounting.cg, torque, load_cases, mounting.output_axis)
    built = None if mounting.chassis is None else chassis_frame.build(mounting.chassis)
    gives: tuple[np.ndarray, ...] = ()
    if built is None:
        found = shares(held, force, moment)
    else:
        gives = tuple(built.give)
        found = shares(held, force, moment, built.give).reshape(-1, len(held), 3)
        load_cases = tuple(replace(case, name=f"{case.name} ({ends} tube ends)") for ends in chassis_frame.ENDS for case in load_cases)
        force, moment = np.tile(force, (len(gives), 1)), np.tile(moment, (len(gives), 1))
    names, by_name = [case.name for case in load_cases], {spring.name: found[:, i] for i, spring in enumerate(held)}
    together = []
    if built is not None:
        together.append(_Together(("chassis_tubes", "cross_member"), partial(chassis_frame.margins, built, names, found, allowables)))
    for seat in mounting.rails:
        together.append(_Together(("bolts", "bearing", "tab_bending", "tab_welds"),
                                  partial(_rail, seat, names, by_name[seat.name], allowables)))
    for foot in mounting.feet:
        together.append(_Together(("bolts", "bearing", "plate_foot"), partial(_foot, foot, names, by_name[foot.name], allowables)))
    for tie in mounting.ties:
        together.append(_Together(("bolts", "bearing", "tie_tab"), partial(_tie, tie, names, by_name[tie.name], allowables)))
    if mounting.support_tube is not None and mounting.ties:
        together.append(_Together(("support_tube",), partial(_support_tube, mounting, names, by_name, allowables)))
    if (tail := mounting.tail) is not None:
        alone = tail_alone(mounting, load_cases)
        uses = lru_cache(maxsize=1)(lambda: tail_mount.uses(tail, np.concatenate([by_name["tail"], alone]), allowables, built is None))
        together += [_Together(("tail_bolts", "tail_tab", "cross_bolt", "tail", "cross_member"), lambda: [
                         *(use.worst(names, slice(len(names))) for use in uses()), *_member_welds(built, tail, names, found)]),
                     _Together(("tail_alone",), lambda: _tail_alone(mounting, names, uses(), alone, allowables, built))]
    if (strut := mounting.strut) is not None:
        together.append(_Together(("limiter_strut", "limiter_bolts", "limiter_bracket", "bearing"),
                                  partial(limiter_strut.margins, strut, names, by_name["limiter strut"], allowables)))
    together.append(_Together(("fore_aft",), partial(_fore_aft, mounting, names, by_name, allowables)))
    return Screening(mounting, torque, tuple(load_cases), allowables, held, force, moment, found, tuple(together), gives)


def _member_welds(built: chassis_frame.Built | None, tail: TailMount, names: Sequence[str], force: np.ndarray) -> list[Item]:
    """The welds at the ends of the transmission cross member, as the frame loads them."""
    if built is None:
        return []
    key = chassis_frame.MEMBER
    return [strength.item("cross_member", (key,), tail.member_point, "cross member: end welds", names,
                          chassis_frame.weld_force(built, key, force),
                          welds.allowable_force(tail.receiver.filler_strength, tail.member_leg), "N/mm",
                          f"space frame, {welds.AS_A_LINE}", strength.ON_WELDS)]


def _rail(seat: RailSeat, names: Sequence[str], force: np.ndarray, allowables: Allowables) -> list[Item]:
    found = strength.rail_mount(seat.name, names, force, seat.mount, allowables)
    group = {"bolts": ("bolts", (seat.plate, *seat.tabs)), "plate bearing": ("bearing", (seat.plate,)),
             "tab bearing": ("bearing", seat.tabs), "tab bending": ("tab_bending", seat.tabs), "tab welds": ("tab_welds", seat.tabs)}
    items = []
    for margin in found:
        word = margin.item.split(": ")[1]
        if word in group:
            name, subjects = group[word]
            items.append(Item(name, margin, subjects, seat.point))
    return items


def _foot(seat: FootSeat, names: Sequence[str], force: np.ndarray, allowables: Allowables) -> list[Item]:
    """The tube bent at the rail: fore-aft as a cantilever, in the plane of the plate with half the moment at each end; the
    other half turns the column of bolts, which are in single shear. The web bent where it leaves the tube, alone between tube and bolts."""
    y, z = seat.direction
    axial, across = force[:, 1] * y + force[:, 2] * z, force[:, 2] * y - force[:, 1] * z
    turned = 0.5 * np.abs(across) * seat.bar.length
    # Plate and web lap: what goes along the foot bends both, each by half of force times lap, and tips the bolts that hold them together.
    lapped = 0.5 * np.abs(axial) * seat.lap
    rows = (np.arange(seat.bolts) - 0.5 * (seat.bolts - 1)) * seat.pitch
    shear = np.hypot(force[:, 1], force[:, 2]) / seat.bolts + turned * rows.max() / (rows**2).sum()
    pull = np.abs(force[:, 0]) / seat.bolts + lapped * rows.max() / (rows**2).sum()
    used = fasteners.utilisation(shear, pull, seat.bolt, gamma=allowables.gamma_bolt)
    (width, reach), thick = seat.web, seat.bearing[1][0]
    web = (np.abs(axial) / (width * thick) + (np.abs(force[:, 0]) * reach + lapped) / beams.rectangle_modulus(width, thick)
           + np.maximum(turned - np.abs(across) * reach, 0.0) / beams.rectangle_modulus(thick, width))
    moment = np.hypot(force[:, 0] * seat.bar.length, turned)
    welded = welds.tube_weld_force(seat.bar.outer_diameter, axial, np.hypot(force[:, 0], across), moment)
    foot = (seat.foot,)
    return [*_bearing(seat.name, names, shear, seat, allowables, (seat.plate, seat.foot), ("plate", "web")),
            strength.item("bolts", (seat.foot, seat.plate), seat.point, f"{seat.name}: bolts", names, used, 1.0, "",
                          "shear and tension, EN 1993-1-8 table 3.4", allowables.on_bolts),
            strength.item("plate_foot", foot, seat.point, f"{seat.name}: web", names, web,
                          seat.bar.yield_strength / allowables.yield_safety, "MPa",
                          "bent where the tube begins, lap offset counted, yield over safety", allowables.on_yield),
            strength.item("plate_foot", foot, seat.point, f"{seat.name}: tube", names, seat.bar.stress(axial, moment),
                          seat.bar.yield_strength / allowables.yield_safety, "MPa", "cantilever, yield over safety", allowables.on_yield),
            strength.item("plate_foot", foot, seat.point, f"{seat.name}: weld", names, welded,
                          welds.allowable_force(seat.filler_strength, seat.weld_leg), "N/mm",
                          welds.AS_A_LINE, strength.ON_WELDS)]


def _bearing(name: str, names: Sequence[str], shear: np.ndarray, seat: FootSeat | Tie, allowables: Allowables, keys: Iterable[str],
             words: Iterable[str]) -> list[Item]:
    """The two parts of a joint in single shear on its bolts."""
    limits = [fasteners.bearing_resistance(seat.bolt.diameter, thick, seat.hole, seat.edge, seat.edge, ultimate, seat.bolt.ultimate,
                                           allowables.gamma_bolt) for thick, ultimate in seat.bearing]
    return [strength.item("bearing", (key,), seat.point, f"{name}: {word} bearing", names, shear, limit, "N", "EN 1993-1-8 table 3.4",
                          allowables.on_bolts)
            for key, word, limit in zip(keys, words, limits)]


def _tie(tie: Tie, names: Sequence[str], force: np.ndarray, allowables: Allowables) -> list[Item]:
    """Bolt in single shear; the tab bent at its weld under the tube by what pulls fore-aft and up, both at once; the weld as two
    lines along the tube."""
    x, y, z = np.abs(force.T)
    used = fasteners.utilisation(np.hypot(y, z), x, tie.bolt, gamma=allowables.gamma_bolt)
    bent = (beams.cantilever_stress(x, tie.up, tie.width, tie.thickness) + beams.cantilever_stress(z, tie.back, tie.width, tie.thickness)
            + beams.cantilever_stress(y, tie.up, tie.thickness, tie.width))
    # Weld plane: u along the tube (Y), v against X, normal up; the bolt stands ahead of and below its middle.
    turned = np.stack([force[:, 1], -force[:, 0], force[:, 2]], axis=-1)
    welded = welds.peak_line_force(welds.pair(tie.weld, tie.width), turned, frames.cross([0.0, -tie.back, -tie.up], turned))
    return [*_bearing(tie.name, names, np.hypot(y, z), tie, allowables, ("mid_plate", tie.key), ("plate", "tab")),
            strength.item("bolts", (tie.key, "mid_plate"), tie.point, f"{tie.name}: bolt", names, used, 1.0, "",
                          "shear and tension, EN 1993-1-8 table 3.4", allowables.on_bolts),
            strength.item("tie_tab", (tie.key,), tie.point, f"{tie.name}: bending", names, bent,
                          tie.yield_strength / allowables.yield_safety, "MPa", "cantilever, yield over safety", allowables.on_yield),
            strength.item("tie_tab", (tie.key, "support_tube"), tie.point, f"{tie.name}: weld", names, welded,
                          welds.allowable_force(tie.filler_strength, tie.weld_leg), "N/mm",
                          welds.AS_A_LINE, strength.ON_WELDS)]


def _support_tube(mounting: Mounting, names: Sequence[str], by_name: Mapping[str, np.ndarray], allowables: Allowables) -> list[Item]:
    """A simple beam that the ties pull at; the welds at its ends as if they were clamped, and pushed by what the ties carry sideways."""
    tube, ties = mounting.support_tube, mounting.ties
    assert tube is not None
    force, places = np.stack([by_name[tie.name] for tie in ties], axis=1), [tie.along for tie in ties]
    # What pulls fore-aft and up bends it, each on its own; what pushes sideways runs along it.
    across = np.moveaxis(force[..., [0, 2]], -1, 0)
    beam = beams.simple_beam(tube.length, places, across)
    found = strength.tube_beam("support tube", names, beam.moment, tube.outer_diameter, tube.wall, tube.yield_strength, allowables)
    fixed = np.hypot(*np.abs(beams.fixed_end_moments(tube.length, places, across)).max(axis=-1))
    shear = np.hypot(*np.abs(beam.reactions).max(axis=-1))
    # Both ends share what is pushed along the tube, and what the ties, which stand off its axis, twist.
    radius = 0.5 * tube.outer_diameter
    twist = 0.5 * np.abs(sum(frames.cross([tie.back, 0.0, -tie.up - radius], by_name[tie.name])[:, 1] for tie in ties))
    welded = welds.tube_weld_force(tube.outer_diameter, 0.5 * force[..., 1].sum(axis=-1), shear, fixed, twist)
    middle = frames.as_point(np.mean([tie.point for tie in ties], axis=0))
    allowed = welds.allowable_force(ties[0].filler_strength, ties[0].tube_leg)
    return [Item("support_tube", found, ("support_tube",), middle),
            strength.item("support_tube", ("support_tube",), middle, "support tube: end welds", names, welded, allowed, "N/mm",
                          f"clamped beam, {welds.AS_A_LINE}", strength.ON_WELDS)]


def tail_alone(mounting: Mounting, load_cases: tuple[LoadCase, ...]) -> np.ndarray:
    """Forces (cases, 3) in N on the pad from a transmission that hinges in the middle of its bell's face: by its lever alone, up and down
    and sideways, whatever the mounts' stiffness. Torque and what goes along the car stay with the plates. No cases, (0, 3), where what
    hangs there is not known."""
    hung, tail = mounting.hung, mounting.tail
    if hung is None or tail is None:
        return np.zeros((0, 3))
    inertia, moment = case_loads(hung.mass, np.subtract(hung.cg, hung.hinge), 0.0, load_cases)
    lever = tail.point[0] - hung.hinge[0]
    return np.stack([np.zeros(len(inertia)), moment[:, 2] / lever, -moment[:, 1] / lever], axis=-1)


def _tail_alone(mounting: Mounting, names: Sequence[str], uses: Sequence[Use], force: np.ndarray, allowables: Allowables,
                built: chassis_frame.Built | None) -> list[Item]:
    """The weakest item of the mount and of the cross member under `tail_alone`, the last cases of ``uses``: what stiff plates spare them,
    as far as they do."""
    if len(force) == 0 or mounting.tail is None:
        return []
    found = [use.worst(names, slice(len(names), None)) for use in uses]
    if built is not None:
        on_mounts = np.zeros((len(names), len(built.seats), 3))
        # The tail's seat comes after those of rails, feet and ties (`springs`).
        on_mounts[:, len(mounting.rails) + len(mounting.feet) + len(mounting.ties)] = force
        found += [*chassis_frame.margins(built, names, on_mounts, allowables, chassis_frame.MEMBER),
                  *_member_welds(built, mounting.tail, names, on_mounts)]
    items = []
    # Named by the part and not by what is weakest on it: that may change with every dimension.
    for name, subjects, own in (("mount", ("transmission_mount", "receiver"), [item for item in found if item.group != "cross_member"]),
                                ("cross member", ("cross_member",), [item for item in found if item.group == "cross_member"])):
        item = min(own, key=lambda item: item.margin.margin)
        items.append(replace(item, group="tail_alone", subjects=subjects, margin=item.margin._replace(
            item=f"transmission alone, {name}", basis=f"{item.margin.item}; {item.margin.basis}")))
    return items


def _fore_aft(mounting: Mounting, names: Sequence[str], by_name: Mapping[str, np.ndarray], allowables: Allowables) -> list[Item]:
    """Each plate on its side strips; a strut on it has taken its share already. The harder loaded side counts for both."""
    items = []
    seats: list[RailSeat | FootSeat] = [*mounting.rails, *mounting.feet]
    for plate in dict.fromkeys(seat.plate for seat in seats):
        own = [seat for seat in seats if seat.plate == plate]
        strip = own[0].strip
        force = 2.0 * np.max([np.abs(by_name[seat.name][:, 0]) for seat in own], axis=0)
        found = strength.plate_fore_aft(plate.replace("_", " "), names, force, strip.modulus, strip.poisson, strip.yield_strength,
                                        strip.thickness, strip.width, strip.span, allowables)
        middle = frames.as_point(np.mean([seat.point for seat in own], axis=0))
        items += [Item("fore_aft", margin, (plate,), middle) for margin in found]
    return items
