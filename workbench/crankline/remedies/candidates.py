"""Which parameters are worth trying for a finding: by what its rule measures, and by the parts that it concerns."""
from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ..checks.finding import Finding
from ..measure.relations import stands_on_rail
from ..record import filled
from ..rules.quantity import QUANTITIES
from ..rules.rule import Rule
from ..snapshot import POWERTRAIN, Snapshot
from .parameters import (
    ANGLES,
    AXLE,
    BELL_BOLTS,
    DOWEL,
    ENCLOSURE_FRONT,
    ENCLOSURE_LENGTH,
    ENCLOSURE_REAR,
    ENCLOSURE_SIZE,
    ENCLOSURE_WALL,
    FIREWALL,
    HEIGHT,
    LIMITER,
    MEMBER,
    MID_PLATE,
    NEARBY,
    OPENINGS,
    PHASE,
    PINION,
    PITCH,
    PIVOT,
    RAIL_ENDS,
    SHAFT_WALL,
    SLIP,
    SPACERS,
    STACK,
    STRENGTH,
    STRUT,
    SUPPORT,
    TAB_WIDTH,
    TUBE,
    UPRIGHTS,
    WHEELBASE,
    Parameter,
    loop_height,
    loop_opening,
    loop_pins,
    loop_section,
    loop_size,
    loop_station,
    of_chassis,
    of_part,
    station_of,
    thicker,
)

NUMBERS: dict[str, tuple[Parameter, ...]] = {
    "crank_height": (HEIGHT, PITCH), "pitch": (PITCH, PINION), "axle_to_block": (AXLE,), "setback_share": (AXLE,),
    "wheelbase": (WHEELBASE,),
    "firewall_gap": (FIREWALL, AXLE), "support_tube_gap": (UPRIGHTS, *SUPPORT), "joint_angle": ANGLES, "joint_angle_difference": ANGLES,
    "residual_angle": (PHASE, *ANGLES), "residual_nonuniformity": (PHASE, *ANGLES), "yoke_phase": (PHASE,),
    "critical_speed": (LIMITER, TUBE, AXLE),
    "half_critical_distance": (TUBE, LIMITER, AXLE), "shaft_torsion": (SHAFT_WALL, TUBE), "shaft_twist": (SHAFT_WALL, TUBE),
    "shaft_speed": (LIMITER,),
    "slip_exposure": (SLIP,), "spline_engagement": (SLIP,), "converter_gap": (SPACERS, *STACK), "dowel_in_bell": (DOWEL, *STACK),
    "pilot_engagement_lost": (SPACERS, *STACK), "input_ahead_of_block": STACK, "bell_bolt_engagement": (BELL_BOLTS, *STACK),
    "enclosure_length": (ENCLOSURE_LENGTH,),
    "plate_mount_bolt": STRENGTH["bolts"], "ladder_bar_share": (PIVOT, WHEELBASE)}
"""Quantity that follows from numbers to what is tried for it."""

NONE = {name: item.no_remedy for name, item in QUANTITIES.items() if item.no_remedy is not None}
"""Quantity that no dimension is tried for, to what is then said, as it declares: nothing of a document that is not sound."""


def _loops(snapshot: Snapshot) -> tuple[str, ...]:
    """Keys of the loops, those nearest behind the front joint first."""
    stations = {f"loop/{loop.name}": loop.x for loop in filled(snapshot.car).containment.loops}
    joint = float(snapshot.placed.front_joint[0])
    return tuple(sorted((part.key for kind in ("split_loop", "fixed_loop") for part in snapshot.kind(kind)),
                        key=lambda key: (abs(joint - stations.get(key, math.inf)), key)))


def by_numbers(finding: Finding, rule: Rule, snapshot: Snapshot) -> Sequence[Parameter]:
    """Knobs for what follows from numbers and from the shapes as they stand."""
    quantity = rule.quantity
    if quantity in ("mount_margin", "edge_distance"):
        return _stronger(finding, rule)
    if quantity == "loop_behind_front_joint":
        loops = tuple(station_of(key) for key in sorted(_loops(snapshot)))
        named = tuple(parameter for parameter in loops if finding.subjects == (f"loop/{parameter.name.split('.')[2]}",))
        return (*(named or loops), AXLE)
    return NUMBERS.get(quantity, ())


def _stronger(finding: Finding, rule: Rule) -> tuple[Parameter, ...]:
    """Knobs for a margin of the strength screening or for a hole's distance from an edge."""
    plates = [found for found in (thicker(key.partition("/")[0]) for key in finding.subjects) if found is not None]
    limiter = any(word in f"{finding.discriminator} {' '.join(finding.subjects)}" for word in ("limiter", "strut"))
    if rule.quantity == "edge_distance":
        if ("joints", "patterns") in rule.settings:
            return OPENINGS["crank"] if "mid_plate" in finding.subjects else ()
        return STRUT[:2] if limiter else (TAB_WIDTH,)
    groups = dict(rule.settings).get("groups", ())
    held = (*plates, *(STRUT[:2] if limiter else ())) if "bearing" in groups else ()
    return _unique((*held, *(parameter for group in groups for parameter in STRENGTH.get(group, ()))))


def guessed(rule: Rule) -> bool:
    """Whether what is measured follows from the rings of the loops as they are read off."""
    return rule.quantity == "shaft_radial_clearance" or rule.quantity.startswith("released_shaft_")


def slow(finding: Finding, rule: Rule) -> bool:
    """Whether each try takes long: loops take up to a second to make, and bodies that overlap are intersected."""
    return (rule.quantity == "interference" or rule.quantity.startswith("released_shaft_")
            or any(key.startswith("loop/") for key in finding.subjects))


CONTAINMENT = ("loop", "enclosure")
"""First words of the keys of what the release of the shaft is measured on."""


@dataclass(frozen=True)
class OnShapes:
    """Knobs for what is measured on shapes that must be made anew: the parameters, and the keys of the parts that are looked at
    (None: all of them)."""
    parameters: tuple[Parameter, ...]
    keys: frozenset[str] | None


def on_shapes(finding: Finding, rule: Rule, snapshot: Snapshot) -> OnShapes:
    """Knobs for a finding that is measured on shapes; none where its quantity has none (``NONE``)."""
    quantity, subjects = rule.quantity, frozenset(finding.subjects)
    # What a loop is kept away from runs through it, but for the driver.
    ways = (-1.0,) if quantity == "driver_clearance" else (1.0,) if {"driveshaft", "shaft_envelope"} & subjects else (1.0, -1.0)
    shaft = ("driveshaft", "shaft_envelope")
    own = tuple(parameter for key in finding.subjects if key not in shaft for parameter in of_part(key, ways))
    contained = frozenset(part.key for part in snapshot.parts if part.key.partition("/")[0] in CONTAINMENT)
    stands = tuple(parameter for key in finding.subjects for parameter in of_chassis(key))
    # The pinion is turned last: every angle hangs on it.
    turned = tuple(parameter for key in finding.subjects if key in shaft for parameter in of_part(key, ways))
    if (quantity in ("clearance", "interference") and len(subjects) == 2) or quantity == "driver_clearance":
        return OnShapes(_unique((*own, *_placed(subjects, snapshot), *stands, *turned)), subjects)
    if quantity == "beyond_rail":
        return OnShapes((*RAIL_ENDS, AXLE), subjects)
    if quantity == "weld_gap":
        # A part on a rail follows the rail's height; only its end leaves it.
        ends = RAIL_ENDS if any(stands_on_rail(key.partition("/")[0]) for key in subjects) else ()
        return OnShapes(_unique((*ends, *own)), subjects)
    if quantity == "pan_gap_in_plan":
        return OnShapes((MEMBER[0], AXLE), subjects)
    if quantity == "ground_clearance":
        # What is lowest is raised.
        moved = (HEIGHT, PITCH) if {"engine", "transmission"} & subjects else ()
        raised = tuple(parameter for parameter in stands if parameter.label.startswith("height"))
        # Another part may be the lowest when this one is not.
        return OnShapes(_unique((*own, *moved, *raised)), None if ("of", "all_but_oil_pan") in rule.settings else subjects)
    if quantity == "shaft_radial_clearance":
        if "enclosure" in subjects:
            carriers = tuple(loop_height(key) for key in _loops(snapshot))
            return OnShapes((ENCLOSURE_SIZE, ENCLOSURE_REAR, *carriers), subjects)
        return OnShapes(tuple(parameter for key in finding.subjects
                              for parameter in (loop_height(key), *loop_size(key, (1.0,)), loop_station(key))),
                        subjects)
    if quantity == "enclosure_over_front_joint":
        return OnShapes((ENCLOSURE_FRONT,), subjects)
    if quantity in ("enclosure_bore_over_joint", "joint_through_enclosure"):
        return OnShapes((ENCLOSURE_SIZE,), subjects)
    if quantity == "open_shaft_past_driver":
        return OnShapes((ENCLOSURE_REAR, ENCLOSURE_FRONT), contained)
    if quantity == "loop_closed_angle":
        return OnShapes(tuple(loop_opening(key) for key in finding.subjects if key.startswith("loop/")), subjects)
    if quantity in ("enclosure_wall", "joint_shield"):
        # Where the enclosure does not stand over a joint, the joint is the shaft's.
        ends = () if "enclosure" in subjects else (ENCLOSURE_FRONT, ENCLOSURE_REAR)
        return OnShapes((ENCLOSURE_WALL, *ends), frozenset(("enclosure", "driveshaft")))
    if quantity == "enclosure_supports":
        carriers = tuple(loop_station(key) for key in _loops(snapshot))
        mounts = frozenset(part.key for part in snapshot.kind("enclosure_mount"))
        return OnShapes((ENCLOSURE_FRONT, ENCLOSURE_REAR, *carriers), contained | mounts | {"transmission"})
    if quantity == "clutch_plate":
        return OnShapes((MID_PLATE,), subjects)
    if quantity == "plate_opening":
        return OnShapes(OPENINGS[dict(rule.settings)["of"]], subjects)
    if quantity == "loop_section":
        return OnShapes(tuple(parameter for key in finding.subjects if key.startswith("loop/") for parameter in loop_section(key)),
                        subjects)
    if quantity == "loop_secured":
        return OnShapes(tuple(loop_pins(key)[1] for key in finding.subjects if key.startswith("loop/")), subjects)
    if quantity == "loop_pins_missing":
        return OnShapes(tuple(parameter for key in finding.subjects for parameter in loop_pins(key)), subjects)
    if quantity.startswith("released_shaft_"):
        near = _loops(snapshot)[:2]
        loops = tuple(parameter for key in near for parameter in (loop_station(key), *loop_size(key, (-1.0,))))
        return OnShapes((*loops, ENCLOSURE_REAR, ENCLOSURE_SIZE), contained)
    return OnShapes((), subjects)


def _placed(subjects: Iterable[str], snapshot: Snapshot) -> tuple[Parameter, ...]:
    """The placement, where one of the parts goes with the powertrain and not all do."""
    kinds = [part.moves_with for part in (snapshot.part(key) for key in subjects) if part is not None]
    return NEARBY if any(kind != kinds[0] for kind in kinds) or (len(kinds) == 1 and kinds[0] == POWERTRAIN) else ()


def _unique(parameters: Iterable[Parameter]) -> tuple[Parameter, ...]:
    return tuple({parameter.name: parameter for parameter in parameters}.values())
