"""The set-up sheet: for a shop without a fixture, what is measured from what, in the order of the work, how closely, with room to write
what was found; and what being off does to the driveline.
"""
from __future__ import annotations

import math
from collections.abc import Mapping
from fractions import Fraction
from types import MappingProxyType

from .. import units
from ..geometry import setup_stand
from ..mechanics import set_up
from ..mechanics.set_up import Reading
from ..record import filled
from ..snapshot import Snapshot
from . import sheet_format
from .drawing import Primitive, Sheet, SheetError, Text, collisions, text_width, wrapped
from .sheet_format import Title, table
from .side_view import identification

LETTER, LINE, STEP = 2.5, 5.4, 4.2
"""Lettering, lines of the tables, lines of text, mm."""
LEAST_ASIDE = 0.005
"""mm from the center plane from which a side is told: half of the last digit that is written."""
ABOUT = ("Work in this order: each line is measured from what is above it. The car is level at ride height with the driver's mass in; "
         "drop plumb bobs from the rear axle centerline and from the center plane. Measure twice, write what you find, and stop where a "
         "line is off by more than its tolerance: move, do not force. Angles are read with a digital level that was zeroed on the floor.")


STANDS = (" Set-up stands, marked SU, hold the bare block for a trial by a bar through its main bearing bores: their cradles have the "
          "crank's height and pitch. Take them away before the powertrain goes in.")


def sheets(snapshot: Snapshot, size: str = "A4", marks: Mapping[str, str] = MappingProxyType({})) -> tuple[Sheet, ...]:
    """The pages; marks: by key of part. A car that was measured is set to where it was designed to be. SheetError where they cannot be laid
    out."""
    scene, car = snapshot.placed.designed or snapshot.placed, filled(snapshot.car)
    stands = _stands(snapshot, marks)
    readings, effects = set_up.readings(car, scene, stands), set_up.effects(scene)
    space = sheet_format.drawing_space(size)
    plated = any(one.plate is not None for one in readings)
    rest = 138.0 + (32.0 if plated else 0.0)
    named = max(78.0, min(max(text_width(one.name, LETTER) for one in readings) + 2.4, space.width - 4.0 - rest))
    widths = (10.0, named, 38.0, 18.0, 32.0, *((32.0,) if plated else ()), 40.0)
    head = ("No.", "Measure", "Should be", "Within", "From top of rail", *(("On the plate",) if plated else ()), "Found")
    rows = [(str(number), one.name, value_text(one), tolerance_text(one), _off(one, one.rail),
             *((_off(one, one.plate),) if plated else ()), "")
            for number, one in enumerate(readings, 1)]
    about = wrapped(ABOUT + (STANDS if stands else ""), LETTER, space.width - 8.0)
    first = int((space.height - sheet_format.TITLE_HEIGHT - 10.0 - STEP * len(about)) / LINE) - 1
    each = int((space.height - sheet_format.TITLE_HEIGHT - 8.0) / LINE) - 1
    parts = [rows[:first], *(rows[start:start + each] for start in range(first, len(rows), each))]
    needed = LINE * (len(effects) + 5) + STEP
    if effects and space.height - sheet_format.TITLE_HEIGHT - 12.0 - LINE * (len(parts[-1]) + 1) < needed + (
            STEP * len(about) if len(parts) == 1 else 0.0):
        parts.append([])
    found = []
    for number, some in enumerate(parts, 1):
        title = Title("Set-up sheet", sheet_format.subject(snapshot, designed=True), identification(snapshot), "none",
                      "in, deg" if units.reading() == "in" else "mm, deg", car.title_block, "Set-up sheet", number, len(parts),
                      book="set-up")
        items: list[Primitive] = [*sheet_format.border(size), *sheet_format.foot(title, space)]
        top = space.y1 - 2.0
        if number == 1:
            items += [Text(space.x0 + 3.0, top - STEP * (i + 1), line, LETTER) for i, line in enumerate(about)]
            top -= STEP * len(about) + 3.0
        if some:
            drawn, top = table(space.x0 + 2.0, top, widths, "", head, some, row=LINE, letter=LETTER,
                               right=(2, 3, 4, 5) if plated else (2, 3, 4))
            items += drawn
        if number == len(parts) and effects:
            items += _effects(space.x0 + 2.0, top - 4.0, effects, [one.name for one in readings])
        width, height = sheet_format.size_of(size)
        page = Sheet("set-up", title.title, width, height, tuple(items), title.by.issued or "")
        if trouble := collisions(page):
            raise SheetError(f"on the set-up sheet {trouble[0]}; choose a larger size")
        found.append(page)
    return tuple(found)


def _stands(snapshot: Snapshot, marks: Mapping[str, str]) -> list[tuple[str, float, float]]:
    """Name, X of the rear face and height of the cradle's lowest point of each set-up stand, mm."""
    given = snapshot.car.mounts.setup_stands if snapshot.car.mounts else None
    if given is None:
        return []
    specs = {key: setup_stand.spec(given, snapshot.placed.designed or snapshot.placed, end) for end in setup_stand.ENDS
             if snapshot.part(key := f"setup_stand/{end}") is not None}
    return [(f"{one.end} set-up stand {marks.get(key, '')}".rstrip(), one.x, one.seat) for key, one in specs.items()]


def _effects(x: float, top: float, effects: tuple[set_up.Effect, ...], order: list[str]) -> list[Primitive]:
    """The table of what being off does; order: names of the readings, as they are numbered."""
    rows: list[tuple[str, ...]] = []
    for one in effects:
        name = set_up.NUMBERS[one.number]
        step = _angle(one.step, 1) if one.step == set_up.LEVEL else _tape(one.step)
        number = str(order.index(name) + 1) if name in order else ""
        rows.append((number, name, step, _signed(one.front_joint), _signed(one.rear_joint), _signed(one.residual), _change(one.pan)))
    front, rear, pan = set_up.together(effects)
    rows.append(("", "All together, the pitch by level, at most", "", *(f"± {_signed(value)[1:]}" for value in (front, rear)), "",
                 f"± {_change(pan)[1:]}"))
    return table(x, top, (10.0, 78.0, 18.0, 36.0, 36.0, 36.0, 34.0), "What being off by the tolerance does, each alone, to first order",
                 ("No.", "More of", "by", "Front joint angle", "Rear joint angle", "Uncancelled, worse by", "Pan to track"), rows, row=LINE,
                 letter=LETTER, right=(2, 3, 4, 5, 6))[0]


def value_text(one: Reading) -> str:
    """What a reading should be, as it is written on sheets; from the center plane to a point, to which side."""
    if one.kind == "angle":
        return _angle(one.value, 2)
    if one.kind == "aside" and one.points and abs(one.value) >= LEAST_ASIDE:
        return f"{_both(abs(one.value))} {'left' if one.value > 0.0 else 'right'}"
    return _both(one.value)


def _off(one: Reading, value: float | None) -> str:
    """The same from another datum; heights below it are negative."""
    if value is None:
        return ""
    return _angle(value, 2) if one.kind == "angle" else _both(value)


def tolerance_text(one: Reading) -> str:
    """How far off it may be, as it is written on sheets."""
    return f"± {_angle(one.tolerance, 1)}" if one.kind == "angle" else f"± {_tape(one.tolerance)}"


def _both(value: float) -> str:
    """A length as a tape reads it and as it is: ``83 1/2 (83.500 in)``; in a car of millimeters ``2120.9 mm``."""
    if units.reading() == "mm":
        return f"{value:.1f} mm"
    return f"{units.inches(value, 16).removesuffix(' in')} ({units.inches(value)})"


def _tape(value: float) -> str:
    """A small length as a tape has it."""
    if units.reading() == "mm":
        return f"{value:.1f} mm"
    part = Fraction(round(value / units.INCH * 64), 64)
    return f"{part} in"


def _angle(value: float, places: int) -> str:
    return f"{math.degrees(value) + 0.0:.{places}f}°"


def _signed(value: float) -> str:
    return f"{math.degrees(value) + 0.0:+.3f}°"


def _change(value: float) -> str:
    return f"{value:+.2f} mm" if units.reading() == "mm" else f"{value / units.INCH:+.4f} in"
