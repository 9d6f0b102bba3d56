"""The readings of a car as a record for a form: a field for each box of its set-up sheet, for what checks these, and for what a readings
file has more. Neither the host nor Qt is needed.
"""
from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, make_dataclass, replace
from typing import Any

from .. import model, units
from ..as_built import readings
from ..as_built.readings import EXTRA, SCHEMA, USUAL, Reading, Readings
from ..carfile.lines import quoted
from ..mechanics import set_up, sighting
from ..mechanics.scene import Scene
from ..record import angle, filled, length, sparse
from ..sheets.set_up import value_text


@dataclass(frozen=True)
class Row:
    """A reading of the form: its field, what it is called, and the reading that it makes when it is given a value."""
    field: str
    reading: Reading
    quantity: str
    rail: bool = False
    plate: bool = False

    def at(self, datum: str) -> Reading:
        """The reading with the datum that is asked for, where it may be measured from there."""
        able = (datum == "rail" and self.rail) or (datum == "plate" and self.plate)
        return replace(self.reading, datum=datum) if able and self.reading.datum is None else self.reading


@dataclass(frozen=True)
class Form:
    """Rows in the order of the work; ``kind``: the record whose fields they are; ``base``: what of the readings is not typed here."""
    rows: tuple[Row, ...]
    kind: type
    base: Readings = field(default_factory=lambda: sparse(Readings, readings=()))

    def shown(self) -> Any:
        """The record of what the readings say: means, where several were read."""
        read = {one.name: one.read for one in self.base.readings if one.read}
        return sparse(self.kind, **{row.field: sum(read[row.reading.name]) / len(read[row.reading.name]) for row in self.rows
                                    if row.reading.name in read})

    def readings(self, typed: Any, datum: str, **about: Any) -> Readings:
        """The readings that a filled record gives; what several readings were is kept where their mean was not edited."""
        held = {one.name: one for one in self.base.readings}
        found = []
        for row in self.rows:
            value, one = getattr(typed, row.field), held.get(row.reading.name)
            if value is None:
                continue
            if one is not None and one.read and abs(sum(one.read) / len(one.read) - value) < 1e-9:
                found.append(one)
            else:
                found.append(replace(one or row.at(datum), read=(value,)))
        return replace(self.base, readings=tuple(found), **about)

    def text(self, found: Readings, car: model.Car) -> str:
        """A readings file of readings of this form."""
        system, quantity = "mm" if car.car.units == "mm" else "in", {row.reading.name: row.quantity for row in self.rows}
        lines = [f"crankline_readings: {SCHEMA}", f"car: {quoted(car.car.name)}"]
        lines += [f"{name}: {quoted(value)}" for name, value in (("measured", found.measured), ("measured_by", found.measured_by)) if value]
        lines += ["instruments:"] * bool(found.instruments)
        for each in found.instruments or ():
            sizes = [f"{name}: {units.write(value, kind, system)}" for name, value, kind in (
                ("within", each.within, "length"), ("within_angle", each.within_angle, "angle")) if value is not None]
            lines.append(f"  - {{name: {quoted(each.name)}, {', '.join(sizes)}}}")
        lines += ["points:"] * bool(found.points)
        for point in found.points or ():
            at = ", ".join(f"{axis}: {units.write(getattr(point.at, axis), 'length', system)}" for axis in "xyz")
            called = f", words: {quoted(point.words)}" if point.words else ""
            lines.append(f"  - {{name: {point.name}, moves_with: {point.moves_with}, at: {{{at}}}{called}}}")
        lines.append("readings:")
        for one in found.readings:
            kind = quantity[one.name]
            lines.append(f"  - name: {quoted(one.name)}")
            lines += [f"    {key}: {quoted(value)}" for key, value in (("kind", one.kind), ("from", one.datum), ("with", one.instrument),
                                                                       ("note", one.note)) if value]
            lines += [f"    of: [{', '.join(one.of)}]"] if one.of else []
            lines.append(f"    read: [{', '.join(units.write(value, kind, system) for value in one.read)}]")
            lines += [f"    within: {units.write(one.within, kind, system)}"] if one.within is not None else []
        return "\n".join(lines) + "\n"


def of(car: model.Car, scene: Scene, base: Readings | None = None) -> Form:
    """The form of a car as designed; ``base``: readings that it begins with."""
    given = {one.name: one for one in base.readings} if base is not None else {}
    boxes = {one.name: one for one in set_up.readings(filled(car), scene)}
    points = readings.points_of(car, scene, base.points if base is not None else ())
    fields: list[tuple[str, type, Any]] = []
    rows: list[Row] = []
    for name, one, doc in _listed(boxes, points, given):
        kind = readings.kind_of(one, boxes)
        quantity, box = "angle" if kind in sighting.ANGLES else "length", boxes.get(name)
        slug = re.sub(r"[^0-9a-z]+", "_", name.lower()).strip("_")
        slug = slug if slug not in {row.field for row in rows} and slug[:1].isalpha() else f"reading_{len(rows) + 1}_{slug}"
        rows.append(Row(slug, one, quantity, box is not None and box.rail is not None, box is not None and box.plate is not None))
        fields.append((slug, float, (angle if quantity == "angle" else length)(doc)))
    return Form(tuple(rows), make_dataclass("SetUpReadings", fields, frozen=True), *([base] if base is not None else []))


def _listed(boxes: Mapping[str, set_up.Reading], points: Mapping[str, Any],
            given: Mapping[str, Reading]) -> Iterator[tuple[str, Reading, str]]:
    """(name, reading without a value, what its tip says)."""
    for number, (name, box) in enumerate(boxes.items(), 1):
        kind = set_up.sight(box)[0] if box.points else box.kind
        yield name, sparse(Reading, name=name, read=()), f"box {number} of the set-up sheet, by {USUAL[kind]}; should be {value_text(box)}"
    for name, kind, of_points in EXTRA:
        if all(point in points for point in of_points):
            one: Reading = sparse(Reading, name=name, kind=kind, of=of_points, read=())
            yield name, one, f"no box of the set-up sheet; it checks them, by {USUAL[kind]}"
    known = {*boxes, *(name for name, _kind, _of in EXTRA)}
    for name, one in given.items():
        if name not in known:
            yield name, replace(one, read=()), "of the readings file"
