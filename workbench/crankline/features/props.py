"""Property tables derived from the model's records: one description serves car file and document.

A property holds lengths in mm and angles in degrees with the host's own unit types, all else as a plain number with its
unit in the name (``MassKg``). ``Unset`` remembers what the car file left out: ``Name`` for a property that holds a default
or nothing, ``Name=value`` for one that holds a value that was derived. A property that the user edits counts as given.
"""
from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any

from .. import units
from ..compat import add_property
from ..host import FreeCAD as App
from ..record import FAR, Described, entries, filled, leaves, look

_FLOATS = {"mass": ("kg", "Kg"), "torque": ("N.m", "Nm"), "stress": ("MPa", "Mpa"), "density": ("kg/m3", "KgM3"),
           "speed": ("m/s", "Ms"), "turning": ("rpm", "Rpm"), "time": ("s", "Seconds"), "force": ("N", "Newton"),
           "rate": ("N/mm", "NewtonMm")}
_TYPES = {"length": "App::PropertyDistance", "angle": "App::PropertyAngle", "ratio": "App::PropertyFloat",
          "count": "App::PropertyInteger", "flag": "App::PropertyBool", "choice": "App::PropertyEnumeration",
          "text": "App::PropertyString", "texts": "App::PropertyStringList", "holes": "App::PropertyVectorList",
          "points": "App::PropertyVectorList"}
_SHORT = {"x": "StationX", "y": "OffsetY", "z": "HeightZ"}
_TAKEN = {"Name", "Kind", "Key", "Label", "Shape", "Placement"}
UNCHOSEN = "unset"


class PropertyError(ValueError):
    """A property outside its range. The message is one sentence: object, property, found, allowed."""


@dataclass(frozen=True)
class Prop:
    """One property of a table: its host type and the record field that it holds."""
    name: str
    type: str
    group: str
    path: tuple[str, ...]
    entry: Described
    optional: bool

    @property
    def choices(self) -> list[str]:
        """Words of an enumeration; an optional choice without a default may stay open."""
        open_end = self.optional and self.entry.default is None
        return ([UNCHOSEN] if open_end else []) + list(self.entry.choices)


def _camel(name: str) -> str:
    return "".join(word.capitalize() for word in name.strip("_").split("_"))


def property_name(record: type, path: tuple[str, ...], kind: str) -> str:
    """The property that holds a field: ``("section", "wall")`` is SectionWall; short or taken names are lengthened."""
    name = "".join(_camel(part) for part in path)
    if len(path) == 1:
        name = _SHORT.get(path[0], name)
    if name in _TAKEN:
        name = record.__name__.removesuffix("Record") + name
    suffix = _FLOATS[kind][1] if kind in _FLOATS else ""
    return name if suffix and suffix in name else name + suffix


@cache
def table(record: type, group: str = "", prefix: tuple[str, ...] = ()) -> tuple[Prop, ...]:
    """The property table of a record; ``prefix`` names the record as a part of a larger object."""
    rows = []
    for path, entry, optional in leaves(record):
        kind = entry.kind
        host_type = _TYPES.get(kind, "App::PropertyFloat")
        rows.append(Prop(property_name(record, prefix + path, kind), host_type,
                         group or (_camel(path[0]) if len(path) > 1 else record.__name__.removesuffix("Record")),
                         path, entry, optional))
    names = [row.name for row in rows]
    assert len(set(names)) == len(names), f"{record.__name__}: two fields share a property name"
    return tuple(rows)


def ensure(obj, rows: Iterable[Prop], read_only: Iterable[str] = ()) -> None:
    """Give the object every property of the table that it lacks, at its default."""
    add_property(obj, "App::PropertyStringList", "Unset", "Internal", "What the car file left out")
    obj.setEditorMode("Unset", 2)
    for row in rows:
        if add_property(obj, row.type, row.name, row.group, _help(row)):
            if row.type == "App::PropertyEnumeration":
                setattr(obj, row.name, row.choices)
            _put(obj, row, row.entry.default)
    for name in read_only:
        if name in obj.PropertiesList:
            obj.setPropertyStatus(name, ["ReadOnly", "Output"])


def _help(row: Prop) -> str:
    doc = row.entry.doc[:1].upper() + row.entry.doc[1:]
    unit = _FLOATS[row.entry.kind][0] if row.entry.kind in _FLOATS else ""
    return f"{doc} ({unit})" if unit else doc


def _neutral(row: Prop) -> Any:
    kind = row.entry.kind
    if kind == "choice":
        return row.choices[0]
    return {"flag": False, "text": "", "texts": (), "holes": (), "points": (), "count": 0}.get(kind, 0.0)


def put(obj, name: str, value: Any) -> bool:
    """Store a value as the host holds it, where it is not there already: the host takes every setting for a change. Whether it was
    stored."""
    there = getattr(obj, name)
    if getattr(there, "Value", there) == value:
        return False
    setattr(obj, name, value)
    return True


def _put(obj, row: Prop, value: Any) -> bool:
    if value is None:
        value = _neutral(row)
    kind = row.entry.kind
    if kind == "angle":
        value = math.degrees(value)
    elif kind in _FLOATS:
        value = units.to(value, kind, _FLOATS[kind][0])
    elif kind == "texts":
        value = list(value)
    elif kind in ("holes", "points"):
        value = [App.Vector(*hole) for hole in value]
    return put(obj, row.name, value)


def _take(obj, row: Prop) -> Any:
    value = getattr(obj, row.name)
    kind = row.entry.kind
    if kind == "length":
        return float(value.Value)
    if kind == "angle":
        return math.radians(value.Value)
    if kind in _FLOATS:
        return units.of(value, kind, _FLOATS[kind][0])
    if kind == "texts":
        return tuple(value)
    if kind in ("holes", "points"):
        return tuple((hole.x, hole.y, hole.z) for hole in value)
    if kind == "choice" and value == UNCHOSEN:
        return None
    return value


def write(obj, rows: Iterable[Prop], record: Any, derived: Any = None) -> bool:
    """Put a record into the object's properties; whether that changed one. Where it is absent, a value of ``derived`` stands in, marked
    as such."""
    unset, changed = list(obj.Unset), False
    for row in rows:
        value = look(record, row.path)
        unset = [item for item in unset if item.split("=")[0] != row.name]
        if value is None:
            stand_in = look(derived, row.path) if derived is not None else None
            if stand_in is None:
                unset.append(row.name)
                value = row.entry.default
            else:
                unset.append(f"{row.name}={_text(stand_in)}")
                value = stand_in
        changed = _put(obj, row, value) or changed
    # Two tables may share the list: their order in it says nothing.
    return (sorted(unset) != sorted(obj.Unset) and put(obj, "Unset", unset)) or changed


def absent(obj, row: Prop) -> bool:
    """Take what a property holds for not given: it shows its default, or nothing. Whether that changed it."""
    changed, held = _put(obj, row, row.entry.default), [item for item in obj.Unset if item.split("=")[0] != row.name]
    return (sorted([*held, row.name]) != sorted(obj.Unset) and put(obj, "Unset", [*held, row.name])) or changed


def derive(obj, row: Prop, value: Any) -> bool:
    """Show a value that something upstream gives: what the car file left out stays left out. Whether that changed it."""
    changed, unset = _put(obj, row, value), list(obj.Unset)
    held = [item for item in unset if item.split("=")[0] == row.name]
    mark = f"{row.name}={_text(_take(obj, row))}"
    if held and held != [mark]:
        obj.Unset, changed = [*(item for item in unset if item not in held), mark], True
    return changed


def _text(value: Any) -> str:
    return repr(units.rounded(value)) if isinstance(value, float) else str(value)


def read(obj, rows: Iterable[Prop], record: type, absent: bool = False) -> Any:
    """The record that the properties hold; None if it holds nothing at all.

    ``absent`` True gives back what a car file would say (derived values and untouched defaults as None), False what is to
    be computed with: derived values and defaults. PropertyError names a value outside its range.
    """
    unset = dict(item.partition("=")[::2] for item in obj.Unset)
    values = {}
    for row in rows:
        value = _take(obj, row)
        if row.name in unset:
            mark = unset[row.name]
            if mark:
                if absent and _text(value) == mark:
                    value = None
            elif _same(value, row.entry.default if row.entry.default is not None else _blank(row)):
                value = None
        if value is not None:
            _check(obj, row, value)
        values[row.path] = value
    found = _assemble(record, values, (), {row.path: row for row in rows}, obj)
    return found if absent or found is None else filled(found)


def _blank(row: Prop) -> Any:
    value = _neutral(row)
    return None if value == UNCHOSEN else value


def _same(a: Any, b: Any) -> bool:
    if isinstance(a, float) and isinstance(b, float):
        return units.same(a, b)
    return a == b


def _check(obj, row: Prop, value: Any) -> None:
    entry = row.entry
    if isinstance(value, float):
        if not math.isfinite(value):
            raise PropertyError(f"{obj.Label}: {row.name} is {value}; give a number")
        if not entry.low - 1e-9 <= value <= entry.high + 1e-9:
            raise PropertyError(f"{obj.Label}: {row.name} is {_show(value, entry)}; allowed is "
                                f"{_show(entry.low, entry)} to {_show(entry.high, entry)}")
    elif entry.kind in ("points", "holes"):
        if wrong := next((x for one in value for x in one if not abs(x) <= FAR), None):
            raise PropertyError(f"{obj.Label}: {row.name} holds {wrong}; allowed is {-FAR:g} mm to {FAR:g} mm")
    elif entry.kind == "count" and not entry.low <= value <= entry.high:
        raise PropertyError(f"{obj.Label}: {row.name} is {value}; allowed is {entry.low:g} to {entry.high:g}")
    elif entry.kind == "text" and entry.required and not value:
        raise PropertyError(f"{obj.Label}: {row.name} is empty; give a text")


def _show(value: float, entry: Described) -> str:
    if math.isinf(value):
        return "any"
    if entry.kind == "length":
        return units.length_text(value)
    if entry.kind == "angle":
        return f"{math.degrees(value):.4g} deg"
    if entry.kind in _FLOATS:
        unit = _FLOATS[entry.kind][0]
        return f"{units.to(value, entry.kind, unit):.6g} {unit}"
    return f"{value:.6g}"


def _assemble(record: type, values: dict, path: tuple[str, ...], rows: dict, obj) -> Any:
    given, fields = False, {}
    for name, entry in entries(record).items():
        here = path + (name,)
        if entry.kind == "record" and entry.record is not None:
            value = _assemble(entry.record, values, here, rows, obj)
        elif entry.kind == "records":
            continue
        else:
            value = values.get(here)
        given = given or value is not None
        fields[name] = value
    if not given:
        return None
    for name, entry in entries(record).items():
        if entry.required and fields.get(name) is None and entry.kind not in ("record", "records"):
            row = rows[path + (name,)]   # one of its neighbors was given by hand: what the editor shows is meant
            fields[name] = _take(obj, row)
            _check(obj, row, fields[name])
    return record(**fields)
