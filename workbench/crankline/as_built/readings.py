"""The readings file: what a builder measured, as it was written down; and the form for it.

```yaml
crankline_readings: 1
car: Demo A
measured: 2026-11-28
instruments: [{name: tape, within: 1/32 in}]          # where yours is better or worse than the catalog says
points: [{name: bell_bolt, moves_with: powertrain, at: {x: -1 in, y: 6 in, z: 0 in}, words: upper bell bolt}]
readings:
  - {name: "Axle to rear face of block, at its base", read: [83 7/16 in, 83 1/2 in]}
  - {name: "left diagonal", kind: diagonal, of: [rail_left_at_axle, mid_plate_right], with: "tape, over 6 ft", read: 87 1/4 in}
```

A reading named as a box of the set-up sheet is of the kind and the points of that box; any other says its own. What is left blank was not
measured. Errors are those of a car file: one sentence with file, line and key.
"""
from __future__ import annotations

import math
import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from .. import catalog, model, schema, source, units
from ..carfile.lines import quoted
from ..mechanics import measured_points, set_up, sighting
from ..mechanics.measured_points import MeasuredPoint
from ..mechanics.scene import Scene
from ..mechanics.sighting import Sight, SightingError
from ..record import angle, choice, filled, part, parts, size, text, texts
from ..source import Node, SourceError

SCHEMA = 1
USUAL = {"along": "plumb bob and tape", "up": "tape", "aside": "plumb bob and tape", "distance": "tape", "diagonal": "tape",
         "rail_to_plate": "steel rule", "crank_angle": "digital level", "cross_angle": "digital level", "pinion_angle": "digital level"}
"""Kind of a reading to the instrument that it is taken with where none is named."""
LEAST, LEAST_ANGLE = 0.01, math.radians(0.001)
"""Nothing in a shop reads a car more closely, mm and rad: a smaller ``within`` is a slip."""
MOST = 20
"""Times that one thing may be read."""


@dataclass(frozen=True)
class OwnInstrument:
    """What an instrument of this shop reads within, 95 times in 100."""
    name: str = text("instrument", required=True)
    within: float = size("of a length", high=50.0)
    within_angle: float = angle("of an angle", limit=0.1)


@dataclass(frozen=True)
class OwnPoint:
    """A point that the car does not name."""
    name: str = text("its name", required=True)
    moves_with: str = choice("what it moves with; a point of the powertrain is in the engine frame", *measured_points.BODIES, required=True)
    at: model.Point = part(model.Point, "where it is", required=True)
    words: str = text("what it is called on sheets")


@dataclass(frozen=True)
class Reading:
    """One thing that was measured, or was to be. read: what was found, mm or rad, none where the box was left blank; within: 95 %, mm or
    rad, absent: the instrument's."""
    name: str = text("name, such as a box of the set-up sheet", required=True)
    kind: str = choice("what is measured; absent: as the box of the set-up sheet", *sighting.KINDS)
    of: tuple[str, ...] = texts("points", most=2)
    datum: str = choice("what a height is measured from, or a level was zeroed on", *sighting.DATUMS, key="from")
    instrument: str = text("instrument", key="with")
    read: tuple[float, ...] = texts("what was read; several where it was read again")
    within: float = text("what it is right within, 95 times in 100; absent: as the instrument")
    note: str = text("what to keep in mind")


@dataclass(frozen=True)
class Readings:
    """All that was measured of a car."""
    readings: tuple[Reading, ...] = parts(Reading, "readings", required=True)
    car: str = text("name of the car")
    measured: str = text("day, YYYY-MM-DD", form="date")
    measured_by: str = text("who measured")
    instruments: tuple[OwnInstrument, ...] = parts(OwnInstrument, "instruments that read better or worse than the catalog says", default=())
    points: tuple[OwnPoint, ...] = parts(OwnPoint, "points that the car does not name", default=())


@dataclass(frozen=True)
class Measured:
    """A reading with what it is of. sight: None of a measure of the chassis, which is only compared; kind: ``along``, ``up``, ``aside``,
    ``diagonal`` ... as ``sighting`` and ``set_up`` have them; wanted: what it should be, mm or rad; tolerance: of its box on the set-up
    sheet, None where it is none of them; within: 95 % of one reading."""
    reading: Reading
    sight: Sight | None
    kind: str
    instrument: str
    within: float
    wanted: float
    tolerance: float | None

    @property
    def quantity(self) -> str:
        """``angle`` or ``length``."""
        return "angle" if self.kind in sighting.ANGLES else "length"


def read(path: str | os.PathLike[str], car: model.Car, scene: Scene) -> tuple[Readings, tuple[Measured, ...]]:
    """The readings of a file of a car, and each with what it is of. SourceError for what is wrong in it."""
    return of_nodes(source.read(path), car, scene)


def of_nodes(root: Node, car: model.Car, scene: Scene) -> tuple[Readings, tuple[Measured, ...]]:
    """As ``read``, of the nodes of a file."""
    number = root.mapping.get("crankline_readings")
    if number is None or number.value != str(SCHEMA):
        raise root.blame(f"a readings file begins with 'crankline_readings: {SCHEMA}'", "crankline_readings")
    boxes = _boxes(car, scene)
    typing = schema.Typing(catalog.names, {Reading: lambda typing, node: _reading(typing, node, boxes)})
    top = Node("mapping", _written(root), root.file, root.line, root.path)
    found = Readings(**typing.fields(top, Readings, extra=("crankline_readings",)))
    points = points_of(car, scene, found.points)
    problems, measured = source.Problems(), []
    _names(root, found, problems)
    _own_names(root, found, points_of(car, scene, ()), problems)
    for node, one in zip(root.at("readings").items, found.readings):
        with problems.gathered():
            measured.append(_measured(node, one, found, boxes, points, scene))
    problems.tell()
    return found, tuple(measured)


def of_record(found: Readings, car: model.Car, scene: Scene) -> tuple[Measured, ...]:
    """As ``read``, of a record that a form has filled; SightingError with the name of the reading that is wrong."""
    boxes, points = _boxes(car, scene), points_of(car, scene, found.points)
    measured = []
    for one in found.readings:
        try:
            measured.append(_of(one, found, boxes, points, scene))
        except ValueError as error:
            raise SightingError(f"{one.name}: {error}") from None
    return tuple(measured)


def points_of(car: model.Car, scene: Scene, own: Iterable[OwnPoint] | None) -> dict[str, MeasuredPoint]:
    """Name to every point that may be measured: those of the car, and those of the file."""
    found = measured_points.of(filled(car), scene)
    for one in own or ():
        found[one.name] = MeasuredPoint(one.name, one.moves_with, (one.at.x, one.at.y, one.at.z), one.words or one.name)
    return found


def kind_of(one: Reading, boxes: Mapping[str, set_up.Reading]) -> str:
    """Kind of a reading by its own words or by its box; "" where neither says."""
    if one.kind is not None:
        return one.kind
    box = boxes.get(one.name)
    return "" if box is None else set_up.sight(box)[0] if box.points else box.kind


def _boxes(car: model.Car, scene: Scene) -> dict[str, set_up.Reading]:
    return {one.name: one for one in set_up.readings(filled(car), scene)}


def _reading(typing: schema.Typing, node: Node, boxes: Mapping[str, set_up.Reading]) -> Reading:
    """``read`` and ``within`` are lengths or angles, by the kind; a blank is nothing."""
    kept = _written(node)
    left = Node("mapping", {key: value for key, value in kept.items() if key not in ("read", "within")}, node.file, node.line, node.path)
    problems = source.Problems()
    with problems.gathered():
        given = typing.fields(left, Reading)
        absent: Any = None
        within: Any = None
        one = replace(Reading(**given), read=(), within=absent)
        kind = kind_of(one, boxes)
        if not kind:
            raise node.at("name").error(f"{source.quoted(one.name)} is not a box of the set-up sheet"
                                        f"{schema.closest(one.name, tuple(boxes))}; say kind and of, or name it as the sheet does")
        quantity = "angle" if kind in sighting.ANGLES else "length"
        values = []
        if "read" in kept:
            listed = kept["read"]
            items = listed.items if listed.kind == "list" else (listed,)
            if len(items) > MOST:
                raise listed.error(f"{len(items)} readings were found; at most {MOST} are allowed")
            for item in items:
                with problems.gathered():
                    item.expect("scalar")
                    if item.text.strip():
                        values.append(_quantity(item, quantity))
        if "within" in kept:
            within = _quantity(kept["within"], quantity)
            least = LEAST_ANGLE if quantity == "angle" else LEAST
            if within < least:
                told = units.sized(least, 4) if quantity == "length" else "0.001 deg"
                raise kept["within"].error(f"{source.quoted(kept['within'].text)} was found; {told} or more is allowed, such as "
                                           f"{'0.05 deg' if quantity == 'angle' else '1/32 in'}")
        if not problems:
            return replace(one, read=tuple(values), within=within)
    problems.tell()
    raise AssertionError


def _written(node: Node) -> dict[str, Node]:
    """The keys of a mapping that are not left blank."""
    return {key: value for key, value in node.mapping.items() if not (value.kind == "scalar" and not value.text.strip())}


def _quantity(node: Node, kind: str) -> float:
    """A length or an angle as it was written."""
    node.expect("scalar")
    try:
        return units.parse(node.text, kind)
    except units.QuantityError as error:
        raise node.error(str(error)) from None


def _names(root: Node, found: Readings, problems: source.Problems) -> None:
    """Every reading has a name of its own."""
    seen: dict[str, int] = {}
    for node, one in zip(root.at("readings").items, found.readings):
        if one.name in seen:
            problems.add(node.at("name").error(f"{source.quoted(one.name)} appears twice, first in line {seen[one.name]}; write what was "
                                               "read again behind the first: read: [..., ...]"))
        seen.setdefault(one.name, node.at("name").line)


def _own_names(root: Node, found: Readings, named: Mapping[str, MeasuredPoint], problems: source.Problems) -> None:
    """Every point of the file has a name that no other has, of the file or of the car."""
    seen = set(named)
    for node, one in zip(root.at("points").items if found.points else (), found.points or ()):
        if one.name in seen:
            other = "a point of this car" if one.name in named else "an earlier point"
            problems.add(node.at("name").error(f"{source.quoted(one.name)} is the name of {other}; give this one another name"))
        seen.add(one.name)


def _measured(node: Node, one: Reading, found: Readings, boxes: Mapping[str, set_up.Reading], points: Mapping[str, MeasuredPoint],
              scene: Scene) -> Measured:
    try:
        return _of(one, found, boxes, points, scene)
    except InstrumentError as error:
        raise node.at("with").error(str(error)) from None
    except SightingError as error:
        raise node.at("of").error(str(error)) from None


class InstrumentError(ValueError):
    """An instrument that is not known, or that does not read such a thing. One sentence."""


def _of(one: Reading, found: Readings, boxes: Mapping[str, set_up.Reading], points: Mapping[str, MeasuredPoint], scene: Scene) -> Measured:
    kind, box = kind_of(one, boxes), boxes.get(one.name)
    if one.kind is None and box is not None and not box.points:
        return Measured(one, None, box.kind, *_instrument(one, found, box.kind), _from(box, one.datum), box.tolerance)
    if one.kind is None and box is not None:
        sight = Sight(kind, set_up.sight(box)[1], one.datum or "track")
    else:
        sight = Sight(kind, tuple(one.of or ()), one.datum or "track")
    tolerance = box.tolerance if box is not None and one.kind is None else None
    return Measured(one, sight, kind, *_instrument(one, found, kind), sighting.wanted(sight, points, scene), tolerance)


def _from(box: set_up.Reading, datum: str | None) -> float:
    """What a measure of the chassis should be from a datum."""
    value = {"rail": box.rail, "plate": box.plate}.get(datum or "track", box.value)
    if value is None:
        raise SightingError(f"from: {datum} was found; this is not measured from there")
    return value


def _instrument(one: Reading, found: Readings, kind: str) -> tuple[str, float]:
    """(instrument, what it reads within, 95 %)."""
    name, field = one.instrument or USUAL[kind], "within_angle" if kind in sighting.ANGLES else "within"
    own = next((getattr(each, field) for each in found.instruments or () if each.name == name), None)
    known = catalog.names("instruments")
    if one.within is not None:
        return name, one.within
    if own is None and name in known:
        own = getattr(catalog.row("instruments", name), field)
    if own is None:
        able = [each for each in known if getattr(catalog.row("instruments", each), field) is not None]
        raise InstrumentError(f"{source.quoted(name)} reads no {'angle' if kind in sighting.ANGLES else 'length'} that is known; use one "
                              f"of {', '.join(able)}, or say within")
    return name, own


# --- the form ---------------------------------------------------------------------------------------------------------

EXTRA = (("Left rail at axle to right edge of mid plate", "diagonal", ("rail_left_at_axle", "mid_plate_right")),
         ("Right rail at axle to left edge of mid plate", "diagonal", ("rail_right_at_axle", "mid_plate_left")),
         ("Left main rail, outside, to edge of mid plate", "rail_to_plate", ("rail_left_outside", "mid_plate_left")),
         ("Right main rail, outside, to edge of mid plate", "rail_to_plate", ("rail_right_outside", "mid_plate_right")))
"""Readings that the set-up sheet has no box for and that check those that it has."""


def template(car: model.Car, scene: Scene, value_text: Any) -> str:
    """The form of a car: every box of its set-up sheet by its name, blank, with what it should be; value_text: a reading of the sheet as it
    is written there."""
    boxes, points = set_up.readings(filled(car), scene), points_of(car, scene, ())
    # Stands are on the sheet too, and are gone before anything here is measured; the boxes after them have other numbers there.
    numbered = filled(car).mounts.setup_stands is None
    lines = [f"# Readings of {car.car.name}, by the boxes of its set-up sheet; what stays blank was not measured.",
             "# Write what the tape says, with its unit: 83 7/16 in, 2119 mm, 2.1 deg. Read again: read: [83 7/16 in, 83 1/2 in].",
             "# Heights are from the track; 'from: rail' is from the top of the main rail, 'from: plate' from the surface plate.",
             f"crankline_readings: {SCHEMA}", f"car: {quoted(car.car.name)}", "measured:", "measured_by:",
             "# What your tools read within, 95 times in 100, where that is not what the catalog says:",
             "# instruments: [{name: tape, within: 1/32 in}, {name: digital level, within_angle: 0.05 deg}]", "readings:"]
    for number, one in enumerate(boxes, 1):
        kind = set_up.sight(one)[0] if one.points else one.kind
        lines += [f"  - name: {quoted(one.name)}", f"    read:{'':24}# {f'{number}  ' if numbered else ''}should be {value_text(one)}",
                  f"    with: {USUAL[kind]}"]
    lines.append("  # No boxes of the sheet, but they check those above:")
    for name, kind, of in EXTRA:
        if all(point in points for point in of):
            lines += [f"  - name: {quoted(name)}", f"    kind: {kind}", f"    of: [{', '.join(of)}]", "    read:",
                      f"    with: {USUAL[kind]}"]
    lines += ["  # More of your own: kind is one of", *(f"  #   {kind}: {words}" for kind, words in sighting.KINDS.items()),
              "  # and of names one point, or two of a distance:", *(f"  #   {one.name}: {one.words}" for one in points.values())]
    return "\n".join(lines) + "\n"


__all__ = ["Measured", "OwnInstrument", "OwnPoint", "Reading", "Readings", "SourceError", "of_record", "points_of", "read",
           "template"]
