"""What looks wrong in a collection of records: duplicates, figures in the wrong unit, figures far from the others. Nothing is changed.

Far is 3.5 by the modified z-score, the distance from the median over 1.4826 times the median of such distances (B. Iglewicz and
D. Hoaglin, "How to Detect and Handle Outliers", ASQC 1993). A slip is a figure that is far from the others, and is not once it is read in
the other unit. An outlier is an axle-to-block or a crank height that is far from what the other records let expect of such a car, or any
figure that is more than 5 from the middle of all: a shop's cars are of several kinds, so a nearer one says little (common practice, no
source).
"""
from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from .. import units
from ..record import DIMENSIONS, entries
from . import features, local_fit
from .collection import Collection, Entry
from .placement_record import PlacementRecord, entry_of, name_of, value_text

FAR, GROSS = 3.5, 5.0
LEAST = 12
"""Fewer figures say nothing of another one."""

SLIPS = {"length": (("mm", "in"), ("in", "mm")), "mass": (("kg", "lb"), ("lb", "kg"))}
"""Kind of figure to units that are written for one another."""

PLACED = ("axle_to_block", "crank_height")
BY_TRACK = ("elapsed_time", "speed")
"""Figures that are compared with those of the same length of track."""
SAME = 1e-4
"""Share by which two figures may differ and be the same, typed in two units."""


@dataclass(frozen=True)
class Remark:
    """Something that looks wrong: ``duplicate``, ``slip`` or ``outlier`` of a record, in a field (empty for a duplicate). ``said``: what it
    is, in words and values of that field."""
    kind: str
    entry: Entry
    field: str
    said: tuple[str | float, ...]

    def text(self, system: str = "in") -> str:
        """What it is, in inches or millimeters (``in``, ``mm``)."""
        return "".join(one if isinstance(one, str) else value_text(self.field, one, system) for one in self.said)


@dataclass(frozen=True)
class Screening:
    """Remarks in the order of the records, and what could not be looked at, one clause each."""
    remarks: tuple[Remark, ...]
    not_looked_at: tuple[str, ...]


def screen(collection: Collection) -> Screening:
    """Everything that looks wrong in a collection."""
    listed = collection.entries
    remarks = [*_duplicates(listed)]
    unlooked: list[str] = []
    for field in NUMBERS:
        for group in _groups(listed, field):
            if len(group) < LEAST:
                unlooked += [f"{name_of(field)}: {len(group)} of the records have it, {LEAST} are needed"] if group else []
            else:
                remarks += _far(group, field)
    wrong = {remark.entry.name for remark in remarks if remark.kind != "duplicate"}
    left = [entry for entry in listed if entry.name not in wrong]
    if len(left) < 2 * LEAST:
        unlooked.append(f"axle-to-block and crank height by what else is known of a car: {len(left)} of the records are left, {2 * LEAST} "
                        "are needed")
    else:
        remarks += _unexpected(left)
    order = {entry.name: i for i, entry in enumerate(listed)}
    return Screening(tuple(sorted(remarks, key=lambda remark: order[remark.entry.name])), tuple(unlooked))


NUMBERS = tuple(field for field, entry in entries(PlacementRecord).items() if entry.kind in (*DIMENSIONS, "ratio"))


def _groups(listed: Sequence[Entry], field: str) -> list[list[Entry]]:
    """Records that have a figure, those together that it may be compared in."""
    has = [entry for entry in listed if getattr(entry.record, field) is not None]
    if field not in BY_TRACK:
        return [has]
    return [[entry for entry in has if (entry.record.track or "quarter") == track] for track in entry_of("track").choices]


def _far(group: Sequence[Entry], field: str) -> Iterator[Remark]:
    values = np.array([getattr(entry.record, field) for entry in group], dtype=float)
    middle, spread = features.median_spread(values)
    spread = max(spread, features.LEAST_SPREAD * abs(middle))
    for entry, value, away in zip(group, values, (values - middle) / spread):
        slip = _slip(entry, field, value, middle, spread) if abs(away) > FAR else None
        if slip is not None or abs(away) > GROSS:
            way = "over" if away > 0 else "under"
            yield slip or Remark("outlier", entry, field, (
                f"{name_of(field)} ", float(value), f" is {abs(away):.1f} spreads {way} the middle of the records, ", middle))


def _slip(entry: Entry, field: str, value: float, middle: float, spread: float) -> Remark | None:
    """The remark where the figure fits once its number is read in the other unit."""
    kind = entry_of(field).kind
    for wrong, right in SLIPS.get(kind, ()):
        number = units.to(value, kind, wrong)
        meant = units.of(number, kind, right)
        if abs(meant - middle) <= FAR * spread:
            return Remark("slip", entry, field, (
                f"{name_of(field)} is {number:.6g} {wrong}; {number:.6g} {right} fits the records (", float(meant), ", middle ", middle,
                f"), so {wrong} may have been written for {right}"))
    return None


def _unexpected(listed: Sequence[Entry]) -> Iterator[Remark]:
    """Placements far from what the other records let expect."""
    compared = features.among(listed)
    placed = np.column_stack([compared.field_values(field) for field in PLACED])
    errors, _added = local_fit.leave_one_out(compared.design()[0], compared.between(), placed, np.ones(len(listed)))
    for field, error, values in zip(PLACED, errors.T, placed.T):
        middle, spread = features.median_spread(error)
        for entry, off, value in zip(listed, error, values):
            if abs(off - middle) > FAR * spread > 0.0:
                yield Remark("outlier", entry, field, (
                    f"{name_of(field)} ", float(value), f" is {abs(off - middle) / spread:.1f} spreads from what the other records let "
                    "expect of such a car, ", float(value - off)))


def _duplicates(listed: Sequence[Entry]) -> Iterator[Remark]:
    """Each record that says the same as one before it."""
    places: dict[tuple[int, ...], list[Entry]] = defaultdict(list)
    for entry in listed:
        # Neighboring cells too, as two readings of one length may be to either side of an edge.
        cell = tuple(round(getattr(entry.record, field)) for field in PLACED)
        near = [other for x in (-1, 0, 1) for z in (-1, 0, 1) for other in places[cell[0] + x, cell[1] + z]]
        for other in near:
            if why := _same(entry.record, other.record):
                yield Remark("duplicate", entry, "", (f"{why} as {other.name} ({other.where})",))
                break
        places[cell].append(entry)


def _same(one: PlacementRecord, other: PlacementRecord) -> str:
    """Why two records are one; empty where they are two."""
    def alike(field: str) -> bool:
        a, b = getattr(one, field), getattr(other, field)
        if a is None or b is None:
            return True
        return abs(a - b) <= SAME * abs(a) if isinstance(a, float) else str(a).casefold() == str(b).casefold()
    compared = [field for field in entries(PlacementRecord) if field not in ("car", "basis", "engine", "venue", "date", "note", "class_")]
    if all(map(alike, compared)):
        return "the same in every figure that both have"
    if one.date and one.date == other.date and one.car.casefold() == other.car.casefold() and all(map(alike, PLACED)):
        return "the same car, placement and day"
    return ""
