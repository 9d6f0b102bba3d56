"""The intake sheet: a blank form in which a customer writes what he measured on his car, beside drawings of where. Its numbers are those
of the car-file template that goes with it (``carfile.template``), so that a filled form can be typed in. Pure."""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from .. import model
from ..carfile import template as car_file
from ..carfile.template import Asked, described
from ..record import DIMENSIONS, Described
from . import intake_pictures, sheet_format
from .drawing import Polyline, Primitive, Sheet, SheetError, Text, collisions, wrapped
from .intake_items import GROUPS, Group, asked
from .sheet_format import Box, Title, table

STEM, TEMPLATE = "intake", "intake.yaml"
HEAD = ("What the intake sheet asks, to be typed in. Numbers are those of the form.",
        "Write every value behind its colon, lengths with their unit, such as 82.5 in, 3 1/8 in or 2095 mm. Take the # away from",
        "a line that the car has, delete a section that it has not, and build: every blank is then told.")
TAIL = ("plates: {}", "mounts: {}", "rules: {sets: [clearance, stack, driveline]}")
"""Comment above the car file, and what stands below: what the shop decides."""
LETTER, STEP, LINE = 2.5, 3.9, 5.4
"""Lettering, from one line of text to the next, height of a line of the form, mm."""
ABOUT = ("Write every number with its unit, in or mm, as the tape shows it; sixteenths are fine. The number in front is the one in the "
         "drawings and in the car-file template; a bold one is needed for every kit.")
UNITS = {"in": {"angle": "deg", "mass": "lb", "speed": "mph", "torque": "lbf.ft", "turning": "rpm", "time": "s", "length": "in"},
         "mm": {"angle": "deg", "mass": "kg", "speed": "km/h", "torque": "N.m", "turning": "rpm", "time": "s", "length": "mm"}}
"""Unit that is printed in a box, by the units of the form."""
BOX = 0.36
"""Share of a line that is its box."""
HOLES, TUBES = 26, 8
"""Lines of the tables on the last page."""


def sheets(example: model.Car, units: str = "in", size: str = "A4") -> tuple[Sheet, ...]:
    """The pages. example: a whole car by whose figures the drawings are made; units: ``in`` or ``mm``. SheetError where they cannot be laid
    out."""
    space = sheet_format.drawing_space(size)
    width, height = sheet_format.size_of(size)
    drawings = intake_pictures.of(example)
    order = asked()
    numbers = {one.key: number for number, one in enumerate(order, 1)}
    room = Box(space.x0 + 2.0, space.y0 + sheet_format.TITLE_HEIGHT + 2.0, space.x1 - 2.0, space.y1 - 2.0)
    bodies, left = [], []
    for group in GROUPS:
        items, rest = _page(group, [drawings[name] for name in group.pictures], numbers, units, room)
        bodies.append((group.title, items))
        left += [Asked("", f"{group.title}, continued"), *rest] if rest else []
    bodies += [("continued", items) for items in _columns(left, numbers, units, room)]
    bodies.append(("Tables and remarks", _tables(numbers, units, room)))
    found = []
    for number, (name, items) in enumerate(bodies, 1):
        title = Title(f"Intake sheet: {name}", "", "", "none", units, model.TitleBlock(), "Form", number, len(bodies))
        sheet = Sheet(STEM, "Intake sheet", width, height,
                      (*sheet_format.border(size), *sheet_format.foot(title, space), *items))
        if trouble := collisions(sheet):
            raise SheetError(f"on sheet {number} of the intake {trouble[0]}; choose a larger size")
        found.append(sheet)
    return tuple(found)


def template(units: str = "in") -> str:
    """The car file that a filled form is typed into; units: ``in`` or ``mm``."""
    return car_file.text([replace(one, given=units) if one.key == "car.units" else one for one in asked()], HEAD, TAIL)


def _page(group: Group, drawings: Sequence[intake_pictures.Drawing], numbers: dict[str, int], units: str,
          room: Box) -> tuple[list[Primitive], tuple[Asked, ...]]:
    """A group's page: drawings on the left, lines of the form on the right; and what of it does not fit there."""
    how = wrapped(f"{group.how} {ABOUT}", LETTER, room.width - 4.0)
    found: list[Primitive] = [Text(room.x0, room.y1 - 4.5, group.title, 4.0, bold=True)]
    found += [Text(room.x0, room.y1 - 6.5 - STEP * (i + 1), line, LETTER) for i, line in enumerate(how)]
    top = room.y1 - 8.5 - STEP * len(how)
    left = room.x0 + 0.48 * room.width
    each = (top - room.y0) / max(len(drawings), 1)
    for i, drawing in enumerate(drawings):
        box = Box(room.x0, top - each * (i + 1) + 2.0, left - 3.0, top - each * i)
        found.append(_frame(box.x0, box.y0, box.x1, box.y1, "thin"))
        found += intake_pictures.draw(drawing, numbers.__getitem__, box)
    drawn, count = _column(group.asked, numbers, units, Box(left, room.y0, room.x1, top))
    return [*found, *drawn], group.asked[count:]


def _columns(rest: Sequence[Asked], numbers: dict[str, int], units: str, room: Box) -> list[list[Primitive]]:
    """Pages of lines in two columns."""
    pages: list[list[Primitive]] = []
    half, column = (room.width - 6.0) / 2.0, 0
    while rest:
        if column == 0:
            pages.append([])
        x = room.x0 + column * (half + 6.0)
        drawn, count = _column(rest, numbers, units, Box(x, room.y0, x + half, room.y1))
        if not count:
            raise SheetError("a line of the intake sheet is higher than the sheet; choose a larger size")
        pages[-1] += drawn
        rest, column = rest[count:], 1 - column
    return pages


def _column(some: Sequence[Asked], numbers: dict[str, int], units: str, box: Box) -> tuple[list[Primitive], int]:
    """As many lines of the form as fit into a box, from its top down, and how many they are."""
    found: list[Primitive] = []
    drawn: list[Primitive]
    top = box.y1
    for count, one in enumerate(some):
        if not one.key:
            drawn, height = [Text(box.x0, top - 5.5, one.text, 3.5, bold=True)], 8.0
        else:
            drawn, height = _line(numbers[one.key], one, units, box.x0, top, box.width)
        if top - height < box.y0:
            return found, count
        found += drawn
        top -= height
    return found, len(some)


def _line(number: int, one: Asked, units: str, x: float, top: float, width: float) -> tuple[list[Primitive], float]:
    """A line of the form: number, what is asked, and a box with its unit or the words to choose from; and its height."""
    entry = described(one.key)
    edge = x + (1.0 - BOX) * width
    asked_for = wrapped(one.text, LETTER, edge - x - 10.0)
    inside = wrapped(_words(entry), LETTER, x + width - edge - 2.0) if entry.choices or entry.kind == "flag" else []
    height = LINE + STEP * (max(len(asked_for), len(inside), 1) - 1)
    base = top - LINE / 2.0 - LETTER / 2.0 + 0.2
    found: list[Primitive] = [Text(x + 7.0, base, str(number), LETTER, "right", bold=one.needed),
                              _frame(edge, top - height + 0.4, x + width, top - 0.4)]
    found += [Text(x + 9.0, base - STEP * i, line, LETTER, bold=one.needed) for i, line in enumerate(asked_for)]
    found += [Text(edge + 1.0, base - STEP * i, line, LETTER) for i, line in enumerate(inside)]
    unit = UNITS[units].get(entry.kind, "") if entry.kind in DIMENSIONS else ""
    return ([*found, Text(x + width - 1.0, base, unit, LETTER, "right")] if unit else found), height


def _frame(x0: float, y0: float, x1: float, y1: float, kind: str = "outline") -> Polyline:
    return Polyline(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), kind, True)


def _words(entry: Described) -> str:
    return " / ".join(("yes", "no") if entry.kind == "flag" else (word.replace("_", " ") for word in entry.choices))


def _tables(numbers: dict[str, int], units: str, room: Box) -> list[Primitive]:
    """Blank tables of holes and tubes, and room for remarks."""
    top, third = room.y1 - 1.0, (room.width - 8.0) / 3.0
    half = HOLES // 2
    found: list[Primitive] = []
    for column, (key, name) in enumerate((("engine.rear_holes", "Rear face"), ("engine.front_holes", "Front face"))):
        drawn, low = table(room.x0 + column * (third + 4.0), top, (8.0, *(((third - 8.0) / 3.0,) * 3)),
                           f"{numbers[key]}  {name}: holes, {units}", ("No.", "y, left", "z, up", "diameter"),
                           [(str(i), "", "", "") for i in range(1, half + 1)], row=LINE + 0.4, letter=LETTER)
        found += drawn
    drawn, low = table(room.x0 + 2.0 * (third + 4.0), top, (0.28 * third, 0.18 * third, 0.14 * third, 0.40 * third),
                       f"{numbers['chassis.tubes']}  Further tubes, {units}", ("Name", "Diameter", "Wall", "Points x, y, z"),
                       [("", "", "", "") for _ in range(TUBES)], row=LINE + 2.4, letter=LETTER)
    found += drawn
    rows = [("Measured by", ""), ("Date", ""), ("Car measured at ride height, driver in", "yes / no"), ("Remarks", ""),
            *[("", "")] * 3]
    lowest = top - 5.2 - (LINE + 0.4) * (half + 1) - 3.0
    drawn, low = table(room.x0, lowest, (0.24 * room.width, 0.76 * room.width), "", (), rows, row=LINE, letter=LETTER)
    if low < room.y0:
        raise SheetError("the tables of the intake sheet do not fit on one page; choose a larger size")
    return [*found, *drawn]
