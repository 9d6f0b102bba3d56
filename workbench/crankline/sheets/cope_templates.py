"""Wrap-around templates of coped tube ends, 1:1: cut out, wrapped around the tube with the print outside, scribed and sawn to.

Each has a straight edge that goes around the tube square, the curve, quarter lines that clock the two ends of a tube to each other, and
stands on pages with a check bar each way, because printers shrink what they print unless they are told not to.
"""
from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from .. import units
from ..geometry import cope
from ..geometry.cope import CopedEnd
from ..geometry.piece import Tube
from ..record import filled
from ..snapshot import Snapshot
from . import sheet_format
from .drawing import Line, Polyline, Primitive, Sheet, SheetError, Text, collisions, text_width, wrapped
from .sheet_format import Box, Title
from .side_view import identification
from .tube_list import Sawn

BAND = 25.0
"""Paper between the straight edge and the deepest point of the curve, mm (common practice, no source)."""
GAP, HEAD = 8.0, 21.0
"""Between templates, and above each for its name and two lines, mm."""
CAUTION = "Fit every cope before you weld it: rule book, chassis inspector and a qualified welder take precedence over this sheet."
CHECK = {"in": (4.0 * units.INCH, "4 in"), "mm": (100.0, "100 mm")}
"""Length and name of the check bars."""
LETTER = 2.5


@dataclass(frozen=True)
class Template:
    """One coped end: its name and two lines that are written below that, its curve as points (across, along) from the template's lower
    left corner, its quarter lines as (across, name)."""
    name: str
    notes: tuple[str, str]
    width: float
    height: float
    curve: tuple[tuple[float, float], ...]
    quarters: tuple[tuple[float, str], ...]


def templates(rows: Sequence[Sawn]) -> Iterator[Template]:
    """The templates of every coped end, in the order of the list."""
    for row in rows:
        if isinstance(row.piece, Tube) and row.ends:
            for end, first in zip(row.ends, (True, False)):
                if not end.square:
                    yield _template(row, row.piece, end, first)


def _template(row: Sawn, piece: Tube, end: CopedEnd, first: bool) -> Template:
    around = math.pi * piece.outer_diameter
    # Seen from outside with the end up, turns about the tube run to the right at its last end and to the left at its first.
    share = cope.turns(end.outward.size) / math.tau
    across = np.append(share, 1.0) * around
    along = np.append(end.outward, end.outward[0]) - float(end.outward.min()) + BAND
    if first:
        across = (around - across)[::-1]
        along = along[::-1]
    upright = abs(piece.ends[0][1][2]) >= 0.9
    names = ["forward" if upright else "up", "1/4", "1/2", "3/4"]
    quarters = [(around * (1.0 - i / 4.0 if first else i / 4.0), name) for i, name in enumerate(names)]
    quarters.append((0.0 if first else around, names[0]))
    which = "first" if first else "last"
    bars = ", ".join(f"{units.sized(diameter)} at {math.degrees(angle):.1f} deg" for angle, diameter in zip(end.angles, end.diameters))
    name = f"{row.mark} {row.piece.name}, {which} end ({row.quantity} of them)"
    longest = units.sized(BAND + end.deepest)
    notes = f"tube {units.sized(piece.outer_diameter)} to {bars}", f"edge to tip {longest}"
    return Template(name, notes, around, BAND + end.deepest, tuple(zip(across.tolist(), along.tolist())), tuple(quarters))


def book(snapshot: Snapshot, rows: Sequence[Sawn], size: str = "A4") -> tuple[Sheet, ...]:
    """Pages of templates; none where no end is coped. SheetError where one is wider than a page: take a larger size."""
    room = _room(size)
    pages: list[list[tuple[Template, float, float]]] = []
    x, y, row_height = room.x0, room.y1, 0.0
    for one in templates(rows):
        written = max(text_width(one.name, LETTER), *(text_width(note, LETTER) for note in one.notes))
        wide, high = max(one.width, written) + GAP, one.height + HEAD
        if one.width > room.width or high > room.height:
            raise SheetError(f"the template of {one.name} is {units.sized(one.width)} by {units.sized(one.height)} and larger than a sheet "
                             f"{size}; choose a larger one")
        if x + wide - GAP > room.x1:
            x, y, row_height = room.x0, y - row_height - GAP, 0.0
        if not pages or y - high < room.y0:
            pages.append([])
            x, y, row_height = room.x0, room.y1, 0.0
        pages[-1].append((one, x, y - high))
        x, row_height = x + wide, max(row_height, high)
    width, height = sheet_format.size_of(size)
    found = []
    for number, placed in enumerate(pages, 1):
        title = Title("Cope templates", sheet_format.subject(snapshot), identification(snapshot), "1:1",
                      "in" if units.reading() == "in" else "mm", filled(snapshot.car).title_block, "Template", number, len(pages),
                      book="cope-templates")
        items = [*sheet_format.border(size), *sheet_format.title_block(title, sheet_format.drawing_space(size)), *_check_bars(size)]
        for one, left, low in placed:
            items += _drawn(one, left, low)
        sheet = Sheet("cope-templates", title.title, width, height, tuple(items), title.by.issued or "")
        if trouble := collisions(sheet):
            raise SheetError(f"on the sheet of cope templates {trouble[0]}; choose a larger size")
        found.append(sheet)
    return tuple(found)


def _room(size: str) -> Box:
    """Where templates stand: above the title block, clear of the upright check bar at the left."""
    space = sheet_format.drawing_space(size)
    return Box(space.x0 + 14.0, space.y0 + sheet_format.TITLE_HEIGHT + 4.0, space.x1 - 4.0, space.y1 - 4.0)


def _drawn(one: Template, left: float, low: float) -> list[Primitive]:
    outline = [(left + a, low + b) for a, b in one.curve]
    found: list[Primitive] = [Polyline(((left, low), *outline, (left + one.width, low)), "visible", True),
                              Text(left, low + one.height + 13.5, one.name, LETTER, bold=True)]
    found += [Text(left, low + one.height + 8.5 - 4.5 * line, note, LETTER) for line, note in enumerate(one.notes)]
    heights = dict(zip((a for a, _b in one.curve), (b for _a, b in one.curve)))
    for across, name in one.quarters:
        top = min(heights.items(), key=lambda item: abs(item[0] - across))[1]
        middle = across not in (0.0, one.width)
        if middle:
            found.append(Line(left + across, low, left + across, low + top, "centre"))
        anchor = "middle" if middle else "left" if across == 0.0 else "right"
        # Beside its line: nothing crosses a text.
        shift = {"middle": 1.0, "left": 1.0, "right": -1.0}[anchor]
        found.append(Text(left + across + shift, low + 2.0, name, LETTER, "left" if shift > 0 else "right"))
    return found


def _check_bars(size: str) -> list[Primitive]:
    """A bar up the left side and one along the bottom, with what they have to measure."""
    space, (length, name) = sheet_format.drawing_space(size), CHECK[units.reading()]
    x, y = space.x0 + 5.0, space.y0 + sheet_format.TITLE_HEIGHT + 6.0
    at, level = space.x0 + 3.0, space.y0 + 8.0
    room = space.x1 - sheet_format.TITLE_WIDTH - at - 3.0
    across = length if length <= room else length / 2.0
    told = name if across == length else {"4 in": "2 in", "100 mm": "50 mm"}[name]
    lines = wrapped(CAUTION, LETTER, space.x1 - sheet_format.TITLE_WIDTH - at - 3.0)
    caution = [Text(at, level + 14.0 + 4.0 * (len(lines) - 1 - i), line, LETTER) for i, line in enumerate(lines)]
    return [*caution, Line(x, y, x, y + length, "visible"), Line(x - 2.0, y, x + 2.0, y, "visible"),
            Line(x - 2.0, y + length, x + 2.0, y + length, "visible"),
            Text(x + 3.5, y + length / 2.0, f"must measure {name}", LETTER, "middle", True),
            Line(at, level, at + across, level, "visible"), Line(at, level - 2.0, at, level + 2.0, "visible"),
            Line(at + across, level - 2.0, at + across, level + 2.0, "visible"),
            Text(at, level + 3.5, f"must measure {told}", LETTER), Text(at, level + 8.0, "Print at 100 %, not to fit", LETTER)]
