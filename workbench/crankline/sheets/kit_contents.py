"""What is in the kit: every part that is made, by mark, and every piece of hardware that is bought, counted over the whole car.

One list serves three readers: who packs the box, who opens it, and who buys the hardware.
"""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from .. import catalog, units
from ..features.hardware import hardware, total
from ..features.registry import declaration
from ..geometry import cope
from ..geometry.piece import Bar, Piece, Sheet, Tube
from ..measure.part_marks import Marked
from ..record import filled
from ..reports import csv_table
from ..snapshot import Snapshot
from ..units import sized
from . import csv_list, sheet_format
from .drawing import Primitive, SheetError, Text, collisions, text_width, wrapped
from .drawing import Sheet as Page
from .sheet_format import Title, table
from .side_view import identification

LIST = "kit.csv"
MADE, BOUGHT = "made", "bought"
SIZED = {"dowel": "out of the block", "spacer": "thick"}
"""Word in the name of what is bought to what its length is; that of a bolt is how long it is under its head."""


@dataclass(frozen=True)
class Row:
    """One line. mark: of a part that is made, "" of hardware; source: ``MADE`` or ``BOUGHT``; size: in words; mass: kg of one, None where
    it is not known; note: what else has to be known."""
    mark: str
    name: str
    quantity: int
    source: str
    material: str
    size: str
    mass: float | None
    note: str = ""


def rows(snapshot: Snapshot, marked: Sequence[Marked], pieces: Mapping[str, Sequence[Piece]]) -> tuple[Row, ...]:
    """The list: parts in the order of their marks, then hardware in the order of its names."""
    return (*made(snapshot, marked, pieces), *bought(snapshot))


def made(snapshot: Snapshot, marked: Sequence[Marked], pieces: Mapping[str, Sequence[Piece]]) -> tuple[Row, ...]:
    """The parts that are made for the kit."""
    found = []
    for item in marked:
        part = snapshot.part(item.keys[0])
        if part is not None:
            alike = f"looks like {', '.join(item.look_alikes)}" if item.look_alikes else ""
            found.append(Row(item.mark, declaration(part.kind, part.key).label, item.quantity, MADE, part.material,
                             size_text(pieces.get(part.key, ())), part.mass, alike))
    return tuple(found)


def bought(snapshot: Snapshot) -> tuple[Row, ...]:
    """The hardware, summed over every joint of the car; none where the car is not finished so far that its joints can be laid out."""
    try:
        lines = hardware(snapshot.car)
    except ValueError:
        return ()
    known = {line.row for line in lines if line.known}
    found = []
    for name, length, count in total(lines):
        row = catalog.hardware(name) if name in known else None
        notes = {line.note for line in lines if (line.row, line.length) == (name, length) and line.note}
        out = next((told for word, told in SIZED.items() if word in name), "long")
        found.append(Row("", name, count, BOUGHT, (row.grade if row is not None else "") or "",
                         f"{hardware_length(length)} {out}" if length is not None else "", None, "; ".join(sorted(notes))))
    return tuple(found)


def hardware_length(length: float) -> str:
    """Length of a bolt or dowel, thickness of a spacer, as the trade writes it: inches in sixteenths or whole millimeters where they are
    that, else in the unit that people read now."""
    sixteenths = length / units.INCH * 16.0
    if abs(sixteenths - round(sixteenths)) < 1e-6:
        return units.inches(length, 16)
    return f"{length:.0f} mm" if abs(length - round(length)) < 1e-6 else sized(length)


def size_text(made_of: Sequence[Piece]) -> str:
    """Size of a part by its first piece, which is its largest in hand: sheet by width, height and thickness, tube by diameter, wall and
    cut length, bar by width, thickness and length, what is machined by its first section; "" where it is neither."""
    if not made_of:
        return ""
    first = made_of[0]
    if isinstance(first, Sheet):
        low_y, low_z, high_y, high_z = first.flat.bounds
        return f"{sized(high_y - low_y, 2)} × {sized(high_z - low_z, 2)} × {sized(first.thickness)}"
    if isinstance(first, Tube):
        return f"⌀ {sized(first.outer_diameter)} × {sized(first.wall)} × {sized(cope.cut_length(first, cope.ends(first)), 2)}"
    if isinstance(first, Bar):
        return f"{sized(first.width)} × {sized(first.thickness)} × {sized(first.length, 2)}"
    if not first.sections:
        return ""
    low_y, low_z, high_y, high_z = first.sections[0].flat.bounds
    return f"{sized(high_y - low_y, 2)} × {sized(high_z - low_z, 2)}"


def write(found: Sequence[Row], folder: str | Path) -> Path:
    """Write ``kit.csv`` into a folder; its path. SheetError where it cannot be written."""
    return csv_list.write(listed(found), Path(folder) / LIST)


def listed(found: Sequence[Row]) -> str:
    """The list as comma-separated text; masses in the units that people read now."""
    unit = "lb" if units.reading() == "in" else "kg"
    lines: list[tuple[Any, ...]] = [
        ("mark", "name", "quantity", "made_or_bought", "material_or_grade", "size", f"mass_each_{unit}", "note")]
    for row in found:
        lines.append((row.mark, row.name, row.quantity, row.source, row.material, row.size,
                      "" if row.mass is None else units.rounded(units.to(row.mass, "mass", unit), 6), row.note))
    return csv_table.lines(lines)


WIDTHS = (16.0, 44.0, 9.0, 15.0, 22.0, 58.0, 20.0, 0.0, 11.0, 11.0)
"""Of the columns, mm; the notes have what is left of the sheet."""
HEAD = ("Mark", "Name", "Qty", "Source", "Material", "Size", "Mass each", "Note", "Dwg", "Box")
LINE, LETTER, STEP = 5.0, 2.5, 4.2
"""Height of a line of the table, of its letters, and from one line of the notes below it to the next, mm."""


def book(snapshot: Snapshot, found: Sequence[Row], size: str = "A4", drawings: Mapping[str, int] | None = None) -> tuple[Page, ...]:
    """Pages of the list, with a box to tick for each line. What is too long for its column stands below the table. drawings: mark to the
    number of the sheet of part drawings on which it is."""
    space, unit = sheet_format.drawing_space(size), "lb" if units.reading() == "in" else "kg"
    note = space.width - 4.0 - sum(WIDTHS)
    shown, told = _notes([row.note for row in found], note - 2.0, space.width - 4.0)
    lines = [(row.mark, row.name, str(row.quantity), row.source, row.material, row.size,
              "" if row.mass is None else f"{units.to(row.mass, 'mass', unit):.2f} {unit}", told_here,
              sheet_format.sheet_number("part-drawings", drawings[row.mark]) if drawings and row.mark in drawings else "", "")
             for row, told_here in zip(found, shown)]
    top, room = space.y1 - 2.0, space.height - sheet_format.TITLE_HEIGHT - 8.0 - STEP * len(told)
    each = int(room / LINE) - 1
    if each < 1:
        raise SheetError(f"the notes of the kit contents leave no room on a sheet {size}; choose a larger size")
    parts = [lines[start:start + each] for start in range(0, len(lines), each)]
    width, height = sheet_format.size_of(size)
    pages = []
    for number, some in enumerate(parts, 1):
        title = Title("Kit contents", sheet_format.subject(snapshot), identification(snapshot), "none",
                      "in" if units.reading() == "in" else "mm",
                      filled(snapshot.car).title_block, "Parts list", number, len(parts), book="kit-contents")
        drawn, low = table(space.x0 + 2.0, top, tuple(width or note for width in WIDTHS), "", HEAD, some, row=LINE,
                           letter=LETTER, right=(2, 6))
        items: list[Primitive] = [*sheet_format.border(size), *sheet_format.foot(title, space), *drawn]
        items += [Text(space.x0 + 2.0, low - STEP * (i + 1), line, LETTER) for i, line in enumerate(told)]
        page = Page("kit-contents", title.title, width, height, tuple(items), title.by.issued or "")
        if trouble := collisions(page):
            raise SheetError(f"on the sheet of kit contents {trouble[0]}; choose a larger size")
        pages.append(page)
    return tuple(pages)


def _notes(given: Sequence[str], column: float, width: float) -> tuple[list[str], list[str]]:
    """What stands in the column of notes, and the lines below the table for those that are longer than it; both widths in mm."""
    shown: list[str] = []
    long: list[str] = []
    for note in given:
        if text_width(note, LETTER) <= column:
            shown.append(note)
            continue
        if note not in long:
            long.append(note)
        shown.append(f"see ({long.index(note) + 1})")
    return shown, [line for number, note in enumerate(long, 1) for line in wrapped(f"({number}) {note}", LETTER, width)]
