"""Quantities of what holds the powertrain: margins of the strength screening, edge distances and clearance holes.

They follow from the records that the shapes are made from; loads and safety are assumed and can be set where a rule is
written. Screening for a builder, never a certificate.
"""
from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields
from typing import Any
from weakref import WeakKeyDictionary

from ... import units
from ...geometry import rail_clamp
from ...mechanics import mount_screening as screening
from ...mechanics.beams import Bar, nonslender_ratio
from ...mechanics.mounting import Mounting
from ...mechanics.strength import Item, Margin
from ...rules.quantity import (
    NO_DIMENSION,
    Found,
    Measurement,
    NotEvaluated,
    Setting,
    Tries,
    Unmeasured,
    formula,
    parts,
    quantity,
)
from ...sections import MID_PLATE, RAIL_TABS
from ...snapshot import Snapshot
from ...units import INCH, sized
from ..context import Context
from ..finding import Finding
from ..strength import bolt_holes, load_model
from .clearing import STRUT, on_subjects, stronger, unique
from .whirl import SHOCK

DEFAULT = load_model.Settings()
LOADS: dict[str, Any] = {
    "shock_factor": SHOCK,
    "grip_slick": Setting("ratio", screening.GRIP["slick"], "grip of slicks, which limits the torque (assumed)"),
    "grip_street": Setting("ratio", screening.GRIP["street"], "grip of street tires, which limits the torque (assumed)"),
    "launch_g": Setting("ratio", DEFAULT.launch_g, "forward acceleration at launch in g; 0: what the launch torque gives the car, "
                        "3 where its mass is not known"),
    "landing_g": Setting("ratio", DEFAULT.landing_g, "upward acceleration of a landing in g, weight not counted (assumed)"),
    "braking_g": Setting("ratio", DEFAULT.braking_g, "deceleration by parachute and brakes in g (assumed)"),
    "side_g": Setting("ratio", DEFAULT.side_g, "sideways acceleration of a slide in g (assumed)"),
    "reversal": Setting("ratio", DEFAULT.reversal, "share of the launch torque that kicks back (assumed)"),
    "yield_safety": Setting("ratio", DEFAULT.yield_safety, "safety on yield strength (common practice)"),
    "plate_travel": Setting("length", DEFAULT.plate_travel, "fore-aft movement at a plate that needs no limiter strut (assumed)")}


def _settings(context: Context) -> load_model.Settings:
    given = {entry.name: context.settings[entry.name] for entry in fields(load_model.Settings) if entry.name in context.settings}
    return load_model.Settings(**given, grip=context.settings[f"grip_{context.car.car.tires}"])


# Every rule of the set asks for the same screening and the same holes: each is made once for a context (and settings).
_MADE: WeakKeyDictionary = WeakKeyDictionary()


def _made(context: Context, what: object, make: Callable[[], Any]) -> Any:
    """What was made for a context, made once; where that is refused, so it is each time."""
    made = _MADE.setdefault(context, {})
    if what not in made:
        try:
            made[what] = make()
        except ValueError as refused:
            made[what] = refused
    if isinstance(made[what], ValueError):
        raise ValueError(str(made[what]))
    return made[what]


def _mounting(context: Context) -> Mounting:
    return _made(context, "mounting", lambda: load_model.mounting(context.car, context.scene))


def _screened(context: Context) -> tuple[screening.Screening, screening.LaunchTorque]:
    settings, scene = _settings(context), context.scene
    return _made(context, settings, lambda: load_model.screened(context.car, scene, settings, _mounting(context)))


def _limiter(finding: Finding) -> bool:
    """Whether a finding is about the limiter strut or what it is bolted to."""
    return any(word in f"{finding.discriminator} {' '.join(finding.subjects)}" for word in ("limiter", "strut"))


def _stronger(finding: Finding, settings: Mapping[str, Any], _snapshot: Snapshot) -> Tries:
    """What the parts of the joint say; where a bolt bears on a plate, the plate and where its strut is."""
    roles = [key.partition("/")[0] for key in finding.subjects]
    bearing = (*stronger("bearing", roles), *(STRUT if _limiter(finding) else ())) if "bearing" in settings["groups"] else ()
    # What bears on a bolt, and what spans, is made stronger where it is weak.
    own = stronger("chassis_tubes", roles) if "chassis_tubes" in settings["groups"] else ()
    others = (*own, *(path for group in settings["groups"] if group not in ("bearing", "chassis_tubes") for path in stronger(group)))
    return on_subjects(finding, unique((*bearing, *others)))


@quantity("mount_margin", "ratio", needs=(MID_PLATE, RAIL_TABS,),
          clears=_stronger, groups=Setting("choices", None, "what is screened", screening.GROUPS), **LOADS)
def mount_margin(snapshot: Snapshot, context: Context) -> Found:
    """Margin (allowable over actual, less 1) of parts that hold the powertrain, at the worst of the load cases."""
    found, torque = _screened(context)
    inch = context.car.car.units == "in"
    torque_words = torque_in_words(torque, inch)
    results: list[Measurement | Unmeasured] = []
    for item in _sound(context, found, results):
        worst = item.margin
        results.append(Measurement(min(worst.margin, screening.MOST_LEFT), item.subjects, worst.item, how=_how(worst, torque_words, inch),
                                   points=(item.point,)))
    return tuple(results)


def _how(worst: Margin, torque: str, inch: bool) -> str:
    return (f"{worst.item}: case {worst.case} governs, {used_in_words(worst, inch)} ({worst.basis}; {worst.concept.words}); {torque}; "
            "screening only, not certified")


def _sound(context: Context, found, results: list[Measurement | Unmeasured]) -> Iterator[Item]:
    """The screened items of the groups that are asked for; one that hangs on a part in error goes to the results instead. NotEvaluated
    where the chassis is asked for and nothing holds its rails."""
    groups = context.settings["groups"]
    if "chassis_tubes" in groups and found.mounting.chassis is None:
        raise NotEvaluated("no uprights are described, so how far the rails span is not known and they cannot be screened; give "
                           "chassis.uprights")
    for item in found.of(groups):
        why = next(filter(None, map(context.why_unsound, item.subjects)), None)
        if why is None:
            yield item
        else:
            results.append(Unmeasured(item.subjects, why, item.margin.item))


def _stronger_group(finding: Finding, settings: Mapping[str, Any], snapshot: Snapshot) -> Tries:
    """As for the margins of the group that a finding is about."""
    return _stronger(finding, {**settings, "groups": (finding.discriminator.replace(" ", "_"),)}, snapshot)


@quantity("mount_yield", "ratio", needs=(MID_PLATE, RAIL_TABS,),
          clears=_stronger_group, groups=Setting("choices", None, "what is screened", screening.GROUPS), **LOADS)
def mount_yield(snapshot: Snapshot, context: Context) -> Found:
    """Margin to yield or failure, safety taken out, of what holds the powertrain: the worst part of each group at the worst load case."""
    found, torque = _screened(context)
    inch = context.car.car.units == "in"
    torque_words = torque_in_words(torque, inch)
    results: list[Measurement | Unmeasured] = []
    weakest: dict[str, Item] = {}
    for item in _sound(context, found, results):
        if math.isfinite(item.margin.concept.factor) and (
                item.group not in weakest or not item.margin.left >= weakest[item.group].margin.left):
            weakest[item.group] = item
    for group, item in weakest.items():
        results.append(Measurement(min(item.margin.left, screening.MOST_LEFT), item.subjects, group.replace("_", " "),
                                   how=_how(item.margin, torque_words, inch), points=(item.point,)))
    return tuple(results)


def used_in_words(margin, inch: bool = False) -> str:
    """What a margin compares, three digits each: in its own unit, or in inches and pounds; a share as a share."""
    if not margin.unit:
        return f"{margin.actual:.0%} used"
    kind = units.INSIDE[margin.unit]
    unit = units.READ_IN[kind][0] if inch else margin.unit
    actual, allowable = (f"{float(f'{units.to(value, kind, unit):.3g}'):,.10g}" for value in (margin.actual, margin.allowable))
    return f"{actual} {unit} against {allowable} {unit}"


def torque_in_words(torque: screening.LaunchTorque, inch: bool = False) -> str:
    """What the launch torque was taken from, in words."""
    source = "limited by tire grip" if torque.grip < torque.engine else "limited by the engine"
    unit = units.READ_IN["torque"][0 if inch else 1]
    pushes = "" if torque.forward is None else f", which without shock pushes the car by {torque.forward:.1f} g"
    return (f"shaft torque {units.to(torque.shaft, 'torque', unit):,.0f} {unit} ({source}) times shock factor "
            f"{torque.shock_factor:g}{pushes}")


# --- walls ---------------------------------------------------------------------------------------------------------


TUBES = parts("chassis_tube", "frame_tube", "cross_member", "support_tube", "plate_foot", "transmission_mount", "limiter_strut")
"""Parts that are tubes and carry what the powertrain weighs."""


def _thicker(finding: Finding, _settings: Mapping[str, Any], _snapshot: Snapshot) -> Tries:
    """What makes the wall of a tube thicker."""
    roles = [key.partition("/")[0] for key in finding.subjects]
    return on_subjects(finding, unique(path for group in screening.GROUPS for path in stronger(group, roles) if path.endswith("wall")))


@quantity("wall_slenderness", "ratio", needs=(MID_PLATE, RAIL_TABS,), clears=_thicker, each=TUBES, gives=("modulus", "yield_strength"))
def wall_slenderness(snapshot: Snapshot, context: Context) -> Found:
    """Outside diameter over wall of each tube that the mounts are on or made of."""
    held = _mounting(context)
    tubes: list[tuple[str, Bar, tuple[float, float, float]]] = []
    if held.chassis is not None:
        tubes += [(tube.key, tube.section, tube.points[0]) for tube in held.chassis.tubes]
    elif held.support_tube is not None:
        tubes += [("support_tube", held.support_tube, held.ties[0].point)]
    tubes += [(foot.foot, foot.bar, foot.point) for foot in held.feet]
    if held.tail is not None:
        tubes += [("transmission_mount", held.tail.tube, held.tail.point)]
        tubes += [("cross_member", held.tail.member, held.tail.member_point)] if held.chassis is None else []
    if held.strut is not None:
        tubes += [("limiter_strut", held.strut.tube, held.strut.point)]
    return tuple(Measurement(bar.outer_diameter / bar.wall, (key,), how=f"{sized(bar.outer_diameter)} outside, wall {sized(bar.wall)}",
                             points=(point,), given={"modulus": bar.modulus, "yield_strength": bar.yield_strength})
                 for key, bar, point in tubes)


@formula("nonslender_wall", "ratio", "modulus", "yield_strength",
         share=Setting("ratio", None, "share of modulus over yield strength that is allowed"))
def nonslender_wall(given, settings):
    """Diameter over wall beyond which the wall buckles before it yields."""
    return float(nonslender_ratio(given["modulus"], given["yield_strength"], settings["share"]))


# --- holes ------------------------------------------------------------------------------------------------------------


def _holes(context: Context) -> tuple[bolt_holes.Hole, ...]:
    scene = context.scene
    return _made(context, "holes", lambda: bolt_holes.holes(context.car, scene, _mounting(context)))


HOLED = parts("mid_plate", "front_plate", "rail_tab", "tie_tab", "plate_foot", "transmission_mount", "receiver", "limiter_bracket",
              "limiter_seat")
"""Parts with holes for bolts."""

METALS = {"aluminium": ("aluminium",), "steel": ("alloy_steel", "carbon_steel"),
          "any": ("aluminium", "alloy_steel", "carbon_steel", "titanium")}


def _farther_from_edge(finding: Finding, settings: Mapping[str, Any], _snapshot: Snapshot) -> Tries:
    if settings["joints"] == "patterns":
        return on_subjects(finding, ("plates.mid.center_opening",) if "mid_plate" in finding.subjects else ())
    return on_subjects(finding, STRUT if _limiter(finding) else ("mounts.rail_tabs.width",))


@quantity("edge_distance", "ratio", needs=(MID_PLATE, RAIL_TABS,), clears=_farther_from_edge, each=HOLED,
          over=Setting("choice", None, "unit of distance: hole or bolt diameters", ("hole", "bolt")),
          metal=Setting("choice", "any", "in parts of which metal", tuple(METALS)),
          joints=Setting("choice", "mounts", "of the mounts' own holes, or of the engine's patterns in the plates", ("mounts", "patterns")))
def edge_distance(snapshot: Snapshot, context: Context) -> Found:
    """Least distance of a joint's bolt holes from an edge of its parts, in hole or bolt diameters."""
    over, metals, given = context.settings["over"], METALS[context.settings["metal"]], context.settings["joints"] == "patterns"
    results: list[Measurement | Unmeasured] = []
    for hole in _holes(context):
        unit = hole.diameter if over == "hole" else hole.bolt
        for family in dict.fromkeys(edge.family for edge in hole.edges if edge.family in metals and hole.given == given):
            edges = [edge for edge in hole.edges if edge.family == family]
            least = min(edges, key=lambda edge: edge.distance)
            results.append(Measurement(least.distance / unit, tuple(edge.part for edge in edges), hole.name, points=(hole.point,),
                                       how=f"{hole.name}: {sized(least.distance)} from hole center to an edge of {least.part}, "
                                           f"{over} {sized(unit)}"))
    return tuple(results)


@quantity("bolt_pitch", "ratio", needs=(MID_PLATE, RAIL_TABS,), each=HOLED,
          no_remedy="bolts are set three diameters apart; only the tail's spacing is given, by the transmission")
def bolt_pitch(snapshot: Snapshot, context: Context) -> Found:
    """Least distance between the bolts of a joint, in hole diameters."""
    held, found = _mounting(context), []
    pitch = rail_clamp.PITCH * context.car.mounts.rail_tabs.bolt
    for seat in held.rails:
        if seat.mount.bolts > 1:
            found.append((seat.name, (seat.plate, *seat.tabs), pitch, seat.mount.hole, seat.point))
    found += [(foot.name, (foot.foot, foot.plate), foot.pitch, foot.hole, foot.point) for foot in held.feet]
    if held.tail is not None:
        places = held.tail.tail_bolts.places
        apart = [math.dist(one, other) for number, one in enumerate(places) for other in places[:number]]
        if apart:
            found.append(("tail bolts", ("transmission_mount", "transmission"), min(apart), held.tail.tab.hole, held.tail.point))
    return tuple(Measurement(distance / hole, subjects, name, how=f"{name}: bolts {sized(distance)} apart, holes {sized(hole)}",
                             points=(point,)) for name, subjects, distance, hole, point in found)


# Inch sizes are printed to a thousandth: half of one is no difference.
PRINTED = 0.0005 * INCH


@quantity("clearance_hole", "length", needs=(MID_PLATE, RAIL_TABS,), each=HOLED, no_remedy=NO_DIMENSION, gives=("hole_close", "hole_loose"),
          threads=Setting("choice", None, "which threads", ("inch", "metric")))
def clearance_hole(snapshot: Snapshot, context: Context) -> Found:
    """Diameter of the holes that plates, tabs, feet, brackets and transmission mount get for their bolts."""
    results: list[Measurement | Unmeasured] = []
    for hole in _holes(context):
        _bolt, thread = load_model.bolt(hole.bolt)
        inch = thread.stress_factor > 0.95
        if hole.given or ("inch" if inch else "metric") != context.settings["threads"]:
            continue
        results.append(Measurement(hole.diameter, hole.subjects, hole.name, how=f"{hole.name}: bolt {sized(hole.bolt)}",
                                   points=(hole.point,), accuracy=PRINTED if inch else 0.0,
                                   given={"hole_close": thread.hole_close, "hole_loose": thread.hole_loose}))
    return tuple(results)


@formula("close_clearance_hole", "length", "hole_close")
def close_clearance_hole(given, settings):
    """Hole of the close (fine) series for the bolt."""
    return given["hole_close"]


@formula("loose_clearance_hole", "length", "hole_loose")
def loose_clearance_hole(given, settings):
    """Hole of the loose (coarse) series for the bolt."""
    return given["hole_loose"]
