"""The report: everything about a checked car as one plain dict, ready for JSON (mm, deg, kg, N, rpm, MPa)."""
from __future__ import annotations

import json
import os
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from .. import PACKAGE, VERSION, carfile
from ..checks.finding import State
from ..features.registry import declaration
from ..measure import part_marks
from ..measure.measurer import Measurer
from ..measure.part_marks import Marked
from ..record import filled
from ..snapshot import POWERTRAIN, PartView, Snapshot
from . import numbers

NO_HEADERS = "the car file gives no boxes for the exhaust headers (headers), so clearance to them was not checked"
SCHEMA = os.path.join(PACKAGE, "catalog", "report.schema.json")
"""The published JSON Schema of the report."""
DIGITS = 9
"""Significant digits of its numbers: a meter to the nanometer."""
NOISE = 1e-9
"""What is smaller, in the report's units, is zero: differences of numbers that are equal leave as much."""


def report(outcome, snapshot: Snapshot, host: Mapping[str, Any], measurer: Measurer | None = None,
           files: Mapping[str, str] | None = None, run: Mapping[str, Any] | None = None,
           marked: Sequence[Marked] | None = None) -> dict[str, Any]:
    """The report of a run. host: versions of the program that ran it; files: name to sha256 of what was written; run: of a run of the
    command line, ``input`` ({"file", "sha256"} of what it was given) and ``run`` ({"started", "seconds"}: the only part of a report that
    differs between two runs of the same); marked: the marks of the parts, where they are known already.

    Where the placement has no solution, the numbers are null. measurer as in ``checks.run``.
    """
    car = filled(snapshot.car)
    if marked is None:
        marked = part_marks.of(snapshot, measurer) if measurer is not None else ()
    marks = part_marks.by_key(marked)
    told, notes = numbers.of(snapshot)
    if not car.headers:
        notes = (*notes, NO_HEADERS)
    return {
        "$schema": identifier(),
        "crankline": 2,
        "version": VERSION,
        "host": dict(host),
        "input": (run or {}).get("input"),
        "run": (run or {}).get("run"),
        "car": {"name": car.car.name, "class": car.car.class_, "units": car.car.units, "wheelbase_mm": car.car.wheelbase,
                "body": car.car.body, "track": car.car.track, "elapsed_time_s": car.car.elapsed_time},
        "inputs": carfile.flat(snapshot.car),
        "title_block": asdict(car.title_block),
        "exit": outcome.exit_code,
        "fail_on": outcome.fail_on,
        "event_date": outcome.event_date.isoformat(),
        "placement": told.get("placement"),
        "points": told.get("points"),
        "surface_plate": told.get("surface_plate"),
        "driveline": told.get("driveline"),
        "driveshaft_order": told.get("driveshaft_order"),
        "poses": told.get("poses"),
        "suspension": told.get("suspension"),
        "balance": told.get("balance"),
        "strength": told.get("strength"),
        "hardware": told.get("hardware"),
        "parts": [_part(part, measurer, marks) for part in sorted(snapshot.parts, key=lambda part: part.key)],
        "marks": [{"mark": item.mark, "quantity": item.quantity, "keys": list(item.keys), "look_alikes": list(item.look_alikes)}
                  for item in marked],
        "welded_parts_that_move": welded_parts_that_move(snapshot),
        "rule_sets": [{"name": item.name, "title": item.title, "edition": item.edition, "rules": len(item.rules)}
                      for item in outcome.rule_sets],
        "disabled_rules": [{"rule": item.rule.id, "set": item.rule_set, "reason": item.reason} for item in outcome.disabled],
        "not_covered": [{"about": about, "clause": clause, "set": item.name}
                        for item in outcome.rule_sets for about, clause in item.not_covered],
        "counts": counts(outcome.findings),
        "findings": [finding.to_json() for finding in outcome.findings],
        "unused_waivers": [unused.to_json() for unused in outcome.unused_waivers],
        "unsound": [{"key": item.key, "kind": item.kind, "message": item.message, "blocking": item.blocking}
                    for item in snapshot.unsound],
        "notes": [*outcome.notes, *notes],
        "files": dict(files or {}),
    }


def text(report: Mapping[str, Any]) -> str:
    """The report as it is written, numbers ``rounded``."""
    return json.dumps(rounded(report), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def identifier() -> str:
    """The ``$id`` of the schema that a report follows; a changed key is a new one."""
    return "urn:crankline:report:2"


def rounded(value: Any) -> Any:
    """Plain data with every number at ``DIGITS`` significant digits, and zero where it is nothing but noise: what the last bits of a
    processor's arithmetic do is no change of a car."""
    if isinstance(value, float):
        return 0.0 if abs(value) < NOISE else float(f"{value:.{DIGITS}g}")
    if isinstance(value, Mapping):
        return {name: rounded(one) for name, one in value.items()}
    return [rounded(one) for one in value] if isinstance(value, (list, tuple)) else value


def counts(findings) -> dict[str, int]:
    """Number of findings by state; every state is named."""
    found = Counter(finding.state for finding in findings)
    return {state: found[state] for state in State}


def welded_parts_that_move(snapshot: Snapshot) -> list[dict[str, str]]:
    """What a changed axle-to-block costs: parts that are welded to the chassis and follow the powertrain all the same,
    so that they must be cut off and welded again."""
    return [{"key": part.key, "kind": part.kind, "label": part.label}
            for part in sorted(snapshot.parts, key=lambda part: part.key)
            if part.welded and part.moves_with == POWERTRAIN]


def _part(part: PartView, measurer: Measurer | None, marks: Mapping[str, str]) -> dict[str, Any]:
    measured = measurer.solid(part.shape) if measurer is not None and part.shape is not None else {}
    developed = {"developed_area_mm2": part.developed_area, "developed_length_mm": part.developed_length}
    supply = declaration(part.kind, part.key).supply
    return {"key": part.key, "kind": part.kind, "label": part.label, "mark": marks.get(part.key),
            "supply": supply.value if supply else None, "mass_kg": part.mass,
            "volume_mm3": measured.get("volume"), "bbox_mm": measured.get("bbox"), "material": part.material or None,
            "moves_with": part.moves_with, "welded": part.welded, "digest": part.digest,
            **{name: value for name, value in developed.items() if value is not None}}
