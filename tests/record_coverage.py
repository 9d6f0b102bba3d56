"""How often what records say of a car holds the truth, and how often they say nothing: for tests and measurements."""
from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import invented_records

from crankline import records
from crankline.records import suggestion

BEYOND = (("wheelbase", 1.25), ("wheelbase", 0.75), ("engine_mass", 1.6), ("mass", 2.0), ("power", 4.0))
"""Fields and the factor by which one is brought outside all records."""


@dataclass(frozen=True)
class Coverage:
    """Share of the answers that hold the truth, by field; share of the cars that were refused; median width of the axle-to-block interval
    (mm)."""
    inside: dict[str, float]
    refused: float
    width: float


def collection(seed: int, count: int = invented_records.COUNT) -> records.Collection:
    """Invented records of another seed than the demo's."""
    return records.Collection(tuple(records.Entry(name, record) for name, record in invented_records.records(seed, count).items()))


def leaving_out(held: records.Collection) -> Coverage:
    """Each record asked of the others."""
    return _of((one.record, records.Collection(tuple(e for e in held.entries if e is not one))) for one in held.entries)


def of_cars(held: records.Collection, seed: int, count: int) -> Coverage:
    """Cars of another seed, which no record is of."""
    return _of((car, held) for car in invented_records.records(seed, count).values())


def refused_outside(held: records.Collection, seed: int, count: int) -> float:
    """Share of cars with one figure brought outside that are refused."""
    asked = [replace(car, **{field: factor * getattr(car, field)}) for car in invented_records.records(seed, count).values()
             for field, factor in BEYOND if getattr(car, field) is not None]
    return sum(records.suggest(car, held, 0).refused for car in asked) / len(asked)


def _of(asked: Iterable[tuple[records.PlacementRecord, records.Collection]]) -> Coverage:
    inside: dict[str, list[bool]] = {field: [] for field in suggestion.FIELDS}
    refused, widths, count = 0, [], 0
    for car, held in asked:
        found = records.suggest(car, held, 0)
        count += 1
        refused += found.refused
        for field, one in found.estimates.items():
            inside[field].append(one.low <= getattr(car, field) <= one.high)
        widths += [found.estimates["axle_to_block"].high - found.estimates["axle_to_block"].low] if found.estimates else []
    return Coverage({field: sum(hits) / len(hits) for field, hits in inside.items()}, refused / count, sorted(widths)[len(widths) // 2])
