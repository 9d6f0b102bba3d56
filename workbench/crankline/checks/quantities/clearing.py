"""Which parameters of a car may clear a finding, as paths of its file: what quantities declare of it in common.

Parts say themselves what moves and sizes them, and what makes them stronger (``features.part_kind``).
"""
from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Any

from ...features.registry import declared
from ...record import filled
from ...rules.quantity import Tries
from ...snapshot import POWERTRAIN, Snapshot
from ..finding import Finding

SHAFT = ("driveshaft", "shaft_envelope")
CONTAINMENT = ("loop", "enclosure")
"""First words of the keys of what a broken shaft is held by."""

NEARBY = ("~placement.crank_height", "~placement.axle_to_block", "~placement.pitch")
"""The placement, no farther than somebody would go to free one part of another."""
ANGLES = ("placement.pitch", "rear_end.pinion_pitch", "placement.crank_height", "placement.axle_to_block")
STACK = ("plates.protector.thickness", "plates.mid.thickness")
RAIL_ENDS = ("chassis.rails.x_front", "chassis.rails.x_rear")
SUPPORT = ("mounts.support_tube.behind_plate", "mounts.support_tube.above_crank")
STRUT = ("mounts.limiter_strut.plate_y", "mounts.limiter_strut.plate_z")
ENCLOSURE_FRONT, ENCLOSURE_REAR = "containment.enclosure.x_front", "containment.enclosure.x_rear"
ENCLOSURE_SIZE = "containment.enclosure.outer_diameter"
LOOP_SIZES = ("inner_diameter", "inner_width", "inner_height")


def unique(paths: Iterable[str]) -> tuple[str, ...]:
    """Each path once, where it came first."""
    return tuple(dict.fromkeys(paths))


def on_subjects(finding: Finding, paths: Iterable[str]) -> Tries:
    """Tried on the shapes of the parts that a finding is about."""
    return Tries(tuple(paths), frozenset(finding.subjects))


def loop_paths(key: str, fields: Iterable[str], mark: str = "") -> tuple[str, ...]:
    """Paths of fields of the loop of a key."""
    return tuple(f"{mark}containment.loops.{key.partition('/')[2]}.{field}" for field in fields)


def of_part(key: str, mark: str = "") -> tuple[str, ...]:
    """What moves or sizes one part, but for the chassis, the cheapest to change first. mark: what helps with a loop's inside."""
    stem, _, name = key.partition("/")
    if stem == "loop":
        return (*loop_paths(key, LOOP_SIZES, mark), *loop_paths(key, ("center_z", "x")))
    return tuple(path for path in _declared(stem) if not path.startswith("chassis."))


def of_chassis(key: str) -> tuple[str, ...]:
    """What moves a tube of the chassis: tried last, since the chassis is what stays."""
    return tuple(path for path in _declared(key.partition("/")[0]) if path.startswith("chassis."))


def _declared(role: str) -> tuple[str, ...]:
    part = declared().get(role)
    return (part.parameters or ()) if part is not None else ()


def stronger(group: str, roles: Iterable[str] | None = None) -> tuple[str, ...]:
    """What a builder makes stronger first in a joint that is screened, of all parts or of some roles, as they declare it."""
    parts = declared()
    chosen = parts if roles is None else [role for role in roles if role in parts]
    return unique(path for role in chosen if parts[role].stronger for path in dict(parts[role].stronger or ()).get(group, ()))


def loops_by_distance(snapshot: Snapshot) -> tuple[str, ...]:
    """Keys of the loops, those nearest to the front joint first."""
    stations = {f"loop/{loop.name}": loop.x for loop in filled(snapshot.car).containment.loops}
    joint = float(snapshot.placed.front_joint[0])
    return tuple(sorted((part.key for kind in ("split_loop", "fixed_loop") for part in snapshot.kind(kind)),
                        key=lambda key: (abs(joint - stations.get(key, math.inf)), key)))


def contained(snapshot: Snapshot) -> frozenset[str]:
    """Keys of what the release of the shaft is measured on."""
    return frozenset(part.key for part in snapshot.parts if part.key.partition("/")[0] in CONTAINMENT)


def placed(subjects: Iterable[str], snapshot: Snapshot) -> tuple[str, ...]:
    """The placement, where one of the parts goes with the powertrain and not all do."""
    kinds = [part.moves_with for part in (snapshot.part(key) for key in subjects) if part is not None]
    return NEARBY if any(kind != kinds[0] for kind in kinds) or (len(kinds) == 1 and kinds[0] == POWERTRAIN) else ()


def apart(finding: Finding, _settings: Mapping[str, Any], snapshot: Snapshot) -> Tries:
    """What may bring two parts apart."""
    return away(finding, snapshot) if len(finding.subjects) == 2 else on_subjects(finding, ())


def away(finding: Finding, snapshot: Snapshot, inside: str = "") -> Tries:
    """What may bring parts away from each other, or from the driver: their own parameters, the placement, the chassis, and last what turns
    the shaft, on which every angle hangs. inside: what helps with the inside of a loop; only more does where the shaft runs through it."""
    keys = finding.subjects
    mark = inside or ("+" if set(SHAFT) & set(keys) else "")
    own = (path for key in keys if key not in SHAFT for path in of_part(key, mark))
    turned = (path for key in keys if key in SHAFT for path in of_part(key))
    return on_subjects(finding, unique((*own, *placed(set(keys), snapshot), *(path for key in keys for path in of_chassis(key)), *turned)))
