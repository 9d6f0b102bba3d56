"""The car that a remedy makes of the one that was checked."""
from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from .. import model, units
from ..checks.finding import Finding
from ..rules.rule import Rule
from ..snapshot import Snapshot
from . import candidates


def car_with(given: Mapping[str, Any], finding: Finding, rule: Rule, snapshot: Snapshot) -> model.Car:
    """The snapshot's car with a remedy of a finding (as ``Finding.remedies`` tells it) done; ValueError where it turns no field of the
    car."""
    parameter = next((one for one in candidates.of(finding, rule, snapshot).parameters if one.name == given["parameter"]), None)
    if parameter is None:
        raise ValueError(f"{given['words']}: this is no longer a dimension of the car; check again")
    change = given["change"] if parameter.kind == "count" else units.of(given["change"], parameter.kind, given["unit"])
    return parameter.changed(snapshot, change)
