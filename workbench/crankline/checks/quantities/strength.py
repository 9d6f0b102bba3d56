"""Quantities of what holds the powertrain: margins of the strength screening, edge distances and clearance holes.

They follow from the records that the shapes are made from; loads and safety are assumed and can be set where a rule is
written. Screening for a builder, never a certificate.
"""
from __future__ import annotations

from dataclasses import fields
from weakref import WeakKeyDictionary

from ...mechanics import mount_screening as screening
from .. import mounting
from ..measuring import Context, Measurement, NotEvaluated, Setting, Unmeasured, formula, quantity

DEFAULT = mounting.Settings()
LOADS = {
    "shock_factor": Setting("ratio", DEFAULT.shock_factor, "shaft torque at the hit over its steady value (assumed)"),
    "grip_slick": Setting("ratio", screening.GRIP["slick"], "friction of slicks, which caps the torque (assumed)"),
    "grip_street": Setting("ratio", screening.GRIP["street"], "friction of street tyres, which caps the torque (assumed)"),
    "launch_g": Setting("ratio", DEFAULT.launch_g, "forward acceleration at launch in g (assumed)"),
    "landing_g": Setting("ratio", DEFAULT.landing_g, "upward acceleration of a landing in g, weight not counted (assumed)"),
    "braking_g": Setting("ratio", DEFAULT.braking_g, "deceleration by parachute and brakes in g (assumed)"),
    "side_g": Setting("ratio", DEFAULT.side_g, "sideways acceleration of a slide in g (assumed)"),
    "reversal": Setting("ratio", DEFAULT.reversal, "share of the launch torque that kicks back (assumed)"),
    "yield_safety": Setting("ratio", DEFAULT.yield_safety, "safety on yield strength (common practice)"),
    "plate_travel": Setting("length", DEFAULT.plate_travel, "fore-aft movement at a plate that needs no limiter strut (assumed)")}


def _settings(context: Context) -> mounting.Settings:
    given = {entry.name: context.settings[entry.name] for entry in fields(mounting.Settings) if entry.name in context.settings}
    return mounting.Settings(**given, grip=context.settings[f"grip_{context.car.car.tires}"])


# Every rule of the set asks for the same screening: it is made once for a context and settings.
_MADE: WeakKeyDictionary = WeakKeyDictionary()


def _screened(context: Context):
    made, settings = _MADE.setdefault(context, {}), _settings(context)
    if settings not in made:
        made[settings] = mounting.screened(context.car, context.scene, settings)
    return made[settings]


@quantity("mount_margin", "ratio", groups=Setting("choices", None, "what is screened", screening.GROUPS), **LOADS)
def mount_margin(snapshot, context):
    """Margin (allowable over actual, less 1) of parts that hold the powertrain, at the worst of the load cases."""
    found, torque = _screened(context)
    told = torque_in_words(torque)
    results = []
    for item in found.items:
        if item.group not in context.settings["groups"]:
            continue
        why = next(filter(None, map(context.why_unsound, item.subjects)), None)
        if why is not None:
            results.append(Unmeasured(item.subjects, why, item.margin.item))
            continue
        worst = item.margin
        unit = worst.unit or "of all"
        how = (f"{worst.item}: case {worst.case} governs, {worst.actual:.3g} against {worst.allowable:.3g} {unit} ({worst.basis}); {told}; "
               "screening, no certificate")
        results.append(Measurement(min(worst.margin, screening.MOST_LEFT), item.subjects, worst.item, how=how, points=(item.point,)))
    return tuple(results)


def torque_in_words(torque: screening.LaunchTorque) -> str:
    """What the launch torque was taken from, in words."""
    source = "what the tyres hold" if torque.grip < torque.engine else "what the engine sends"
    return f"shaft torque {torque.shaft / 1000.0:.0f} N.m ({source}) times shock factor {torque.shock_factor:g}"


# --- holes ------------------------------------------------------------------------------------------------------------


@quantity("edge_distance", "ratio", over=Setting("choice", None, "what it is counted in", ("hole", "bolt")))
def edge_distance(snapshot, context):
    """Least distance of a mount's bolt holes from an edge, in hole or bolt diameters."""
    over = context.settings["over"]
    return tuple(Measurement(hole.edge / (hole.diameter if over == "hole" else hole.bolt), hole.subjects, hole.name, points=(hole.point,),
                             how=f"{hole.name}: {hole.edge / 25.4:.3f} in from the edge, {over} "
                                 f"{(hole.diameter if over == 'hole' else hole.bolt) / 25.4:.3f} in")
                 for hole in mounting.holes(context.car, context.scene))


@quantity("clearance_hole", "length", threads=Setting("choice", None, "which threads", ("inch", "metric")))
def clearance_hole(snapshot, context):
    """Diameter of the holes that plates, tabs, feet and tie tabs get for their bolts."""
    results = []
    for hole in mounting.holes(context.car, context.scene):
        _bolt, thread = mounting.bolt(hole.bolt)
        if ("inch" if thread.stress_factor > 0.95 else "metric") != context.settings["threads"]:
            continue
        results.append(Measurement(hole.diameter, hole.subjects, hole.name, how=f"{hole.name}: bolt {hole.bolt / 25.4:.3f} in", points=(hole.point,),
                                   given={"hole_close": thread.hole_close, "hole_loose": thread.hole_loose}))
    return tuple(results)


@formula("close_clearance_hole", "length", "hole_close")
def close_clearance_hole(given, settings):
    """Hole of the close (fine) series for the bolt."""
    return _given(given, "hole_close")


@formula("loose_clearance_hole", "length", "hole_loose")
def loose_clearance_hole(given, settings):
    """Hole of the loose (coarse) series for the bolt."""
    return _given(given, "hole_loose")


def _given(given, name: str) -> float:
    if name not in given:
        raise NotEvaluated("the bolt of the hole is not known")
    return given[name]
