"""Which parameters are tried for a finding, as the quantity of its rule declares them."""
from __future__ import annotations

from dataclasses import dataclass

from .. import model
from ..checks.finding import Finding
from ..rules.quantity import QUANTITIES
from ..rules.rule import Rule
from ..snapshot import Snapshot
from .parameters import Parameter
from .paths import of_path

NONE = {name: item.no_remedy for name, item in QUANTITIES.items() if item.no_remedy is not None}
"""Quantity that no dimension is tried for, to what is then said, as it declares: nothing of a document that is not sound."""


@dataclass(frozen=True)
class Candidates:
    """Parameters that may clear a finding, the cheapest to change first; the rest as of ``rules.quantity.Tries``."""
    parameters: tuple[Parameter, ...]
    keys: frozenset[str] | None
    as_they_are: bool
    by_rings: bool


def of(finding: Finding, rule: Rule, snapshot: Snapshot) -> Candidates:
    """What is tried for a finding."""
    tries = QUANTITIES[rule.quantity].tries(finding, dict(rule.settings), snapshot)
    idle = not_in_force(snapshot.car)
    found: dict[str, Parameter] = {}
    for path in tries.paths:
        for parameter in of_path(path, finding.subjects, tries.as_they_are):
            if not parameter.name.startswith(idle):
                found.setdefault(parameter.name, parameter)
    return Candidates(tuple(found.values()), tries.parts, tries.as_they_are, tries.by_rings)


def not_in_force(car: model.Car) -> tuple[str, ...]:
    """Beginnings of the paths of what turns nothing of a car that is shown as built: there it is moved, not designed otherwise."""
    found = car.placement.as_built
    if car.placement.shown != "as_built" or found is None:
        return ()
    rear = {"rear_end.pinion_joint.x": found.rear_joint_x, "rear_end.pinion_joint.y": found.rear_joint_y,
            "rear_end.pinion_joint.z": found.rear_joint_z, "rear_end.pinion_pitch": found.pinion_pitch}
    return ("placement.", *(path for path, value in rear.items() if value is not None))


def slow(finding: Finding, rule: Rule) -> bool:
    """Whether each try takes long: loops take up to a second to make, and bodies that overlap are intersected."""
    return (rule.quantity == "interference" or rule.quantity.startswith("released_shaft_")
            or any(key.startswith("loop/") for key in finding.subjects))
