"""The cover of a package: picture of the car, every book with its sheets, revision and digest, rule sets with their editions, what is open
of the car's findings in plain words, and the safety messages of the whole work. Margins and limits are in the shop's own report only.
"""
from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from .. import catalog
from ..features.registry import declaration
from ..measure.part_marks import Marked
from ..record import filled
from ..snapshot import PartView, Snapshot
from . import open_findings, part_picture, safety_messages, sheet_format, view
from .drawing import Primitive, Sheet, SheetError, Text, collisions, fitted, text_width, wrapped
from .safety_messages import Message
from .sheet_format import Box, Title, table
from .side_view import identification

LETTER, ROW, STEP = 2.5, 5.2, 3.9
"""Lettering, lines of tables, lines of text, mm."""
GAP = 4.0
"""Between pieces, mm."""
PICTURE = 0.62
"""Height of the picture over its width, where the sheet is so high."""
CHUNK = 16
"""Rows of a table that stay together."""

Piece = tuple[float, Callable[[float], Sequence[Primitive]]]
"""Height of something, and what draws it from its top down."""


@dataclass(frozen=True)
class Book:
    """A book of the package: name of its file without suffix, title, number of its sheets."""
    stem: str
    title: str
    sheets: int


def sheets(snapshot: Snapshot, books: Sequence[Book], findings: Iterable, rule_sets: Iterable, marked: Sequence[Marked],
           size: str = "A4") -> tuple[Sheet, ...]:
    """The pages ``cover``. findings and rule_sets: of a check. SheetError where they cannot be laid out."""
    space = sheet_format.drawing_space(size)
    room = Box(space.x0 + 3.0, space.y0 + sheet_format.TITLE_HEIGHT + 3.0, space.x1 - 3.0, space.y1 - 3.0)
    pieces = [*_head(snapshot, room), *_index(books, rule_sets, room), *_findings(findings, room),
              *_safety(snapshot, marked, room)]
    pages = _paged(pieces, room)
    by = filled(snapshot.car).title_block
    width, height = sheet_format.size_of(size)
    found = []
    for number, items in enumerate(pages, 1):
        title = Title("Cover and contents", sheet_format.subject(snapshot), identification(snapshot), "none", "none", by, "Cover", number,
                      len(pages), book="cover")
        page = Sheet("cover", title.title, width, height, (*sheet_format.border(size), *sheet_format.foot(title, space), *items),
                     by.issued or "")
        if trouble := collisions(page):
            raise SheetError(f"on the cover {trouble[0]}; choose a larger size")
        found.append(page)
    return tuple(found)


def _paged(pieces: Sequence[Piece], room: Box) -> list[list[Primitive]]:
    """Pieces one below the other, on the next page where the room is used up."""
    pages: list[list[Primitive]] = [[]]
    top = room.y1
    for height, draw in pieces:
        if height > room.height:
            raise SheetError("the cover: a table or message is higher than the sheet; choose a larger size")
        if pages[-1] and top - height < room.y0:
            pages.append([])
            top = room.y1
        pages[-1] += draw(top)
        top -= height + GAP
    return pages


def _head(snapshot: Snapshot, room: Box) -> list[Piece]:
    """Name of the car, revision and digest, and its picture."""
    by = filled(snapshot.car).title_block
    told = [f"Revision {by.revision or 'none'}", f"car data {identification(snapshot)}", *([f"issued {by.issued}"] if by.issued else []),
            *([f"drawing {by.drawing_number}"] if by.drawing_number else [])]

    picture = min(room.height - 16.0, PICTURE * room.width)

    def draw(top: float) -> list[Primitive]:
        box = Box(room.x0, top - 15.0 - picture, room.x1, top - 15.0)
        name = str(snapshot.car.car.name)
        height = max(LETTER, min(7.0, room.width / text_width(name, 1.0)))
        return [Text(room.x0, top - 7.0, fitted(name, height, room.width), height, bold=True),
                Text(room.x0, top - 12.5, ", ".join(told), LETTER), *_picture(snapshot.parts, box)]
    return [(16.0 + picture, draw)]


def _picture(parts: Sequence[PartView], box: Box) -> list[Primitive]:
    """The isometric view in a box."""
    shown = tuple(part for part in parts if not part.reference)
    lines = {part.key: declaration(part.kind, part.key).side_view.line for part in shown}
    seen = view.of(shown, view.ISOMETRIC, see_through=part_picture.see_through)
    x0, y0, x1, y1 = seen.box()
    scale = min(box.width / (x1 - x0), box.height / (y1 - y0))
    x, y = (box.x0 + box.x1 - scale * (x0 + x1)) / 2.0, (box.y0 + box.y1 - scale * (y0 + y1)) / 2.0
    thin = {"visible": "outline", "outline": "thin"}       # it is smaller than a drawing
    return [view.moved(item, scale, x, y) for item in seen.items(lambda key: thin.get(lines[key], lines[key]), hidden=False)]


def _tables(title: str, head: tuple[str, ...], rows: Sequence[tuple[str, ...]], widths: tuple[float, ...], room: Box,
            right: tuple[int, ...] = ()) -> list[Piece]:
    """A table in pieces of so many rows."""
    def part(some: Sequence[tuple[str, ...]], told: str) -> Piece:
        return 5.2 + ROW * (len(some) + 1), lambda top: table(room.x0, top, widths, told, head, some, row=ROW, letter=LETTER,
                                                              right=right)[0]

    return [part(rows[start:start + CHUNK], title if start == 0 else f"{title}, continued") for start in range(0, len(rows), CHUNK)]


CONTENTS, BESIDE = (80.0, 60.0, 24.0, 40.0), 130.0
"""Columns of the contents, and the least room beside them for the rule sets, mm."""


def _index(books: Sequence[Book], rule_sets: Iterable, room: Box) -> list[Piece]:
    """Contents and rule sets, beside each other where the sheet is so wide."""
    given, beside = tuple(rule_sets), Box(room.x0 + sum(CONTENTS) + GAP, room.y0, room.x1, room.y1)
    contents = _contents(books, room)
    if beside.width >= BESIDE and len(contents) == 1 and len(rules := _rules(given, beside)) == 1:
        (left, draw_left), (right, draw_right) = contents[0], rules[0]
        return [(max(left, right), lambda top: [*draw_left(top), *draw_right(top)])]
    return [*contents, *_rules(given, room)]


def _contents(books: Sequence[Book], room: Box) -> list[Piece]:
    rows = []
    for one in books:
        first, last = (sheet_format.sheet_number(one.stem, sheet) for sheet in (1, one.sheets))
        rows.append((one.title, one.stem, str(one.sheets), first if last == first else f"{first} to {last}"))
    return _tables("Contents", ("Sheets", "File", "How many", "Sheet numbers"), rows, CONTENTS, room, (2,))


def _rules(rule_sets: Iterable, room: Box) -> list[Piece]:
    rows = [(one.title, one.edition) for one in rule_sets]
    return _tables("Rule sets that the car was checked against", ("Rule set", "Edition"), rows, (room.width - 24.0, 24.0), room)


def _findings(findings: Iterable, room: Box) -> list[Piece]:
    """What is open, without margins."""
    rows = open_findings.rows(findings, open_findings.title)
    lines: list[tuple[str, str]] = []
    for severity, text in rows or [("", "None open.")]:
        for number, line in enumerate(wrapped(text, LETTER, room.width - 28.0)):
            lines.append((severity if number == 0 else "", line))
    return _tables("Open findings", ("Severity", "What"), lines, (24.0, room.width - 24.0), room)


def messages(snapshot: Snapshot, marked: Sequence[Marked]) -> tuple[Message, ...]:
    """The safety messages that concern a car's kit."""
    keys = {part.kind for part in snapshot.parts}
    plates = any(catalog.family(part.material) == "aluminum" for part in snapshot.parts
                 if part.kind in ("front_plate", "mid_plate", "protector"))
    mount = "transmission_mount" in keys
    chosen: Mapping[Message, bool] = {
        safety_messages.SHAFT: "driveshaft" in keys, safety_messages.CRUSH: True, safety_messages.CHASSIS: True, safety_messages.ARC: True,
        safety_messages.WELDS: True, safety_messages.DROP: mount, safety_messages.PINCH: mount, safety_messages.EDGES: bool(marked),
        safety_messages.CURRENT: True, safety_messages.PLATES: plates, safety_messages.MARKS: any(one.look_alikes for one in marked)}
    return tuple(one for one, concerns in chosen.items() if concerns)


def _safety(snapshot: Snapshot, marked: Sequence[Marked], room: Box) -> list[Piece]:
    """Each signal word with its messages, then what all sheets say."""
    def block(own: Sequence[Message]) -> Piece:
        return safety_messages.height(own, room.width), lambda top: safety_messages.draw(own, room.x0, top, room.width)[0]

    found = [block(own) for _signal, own in safety_messages.grouped(messages(snapshot, marked))]
    lines = wrapped(sheet_format.CAUTION, LETTER, room.width)
    found.append((STEP * len(lines), lambda top: [Text(room.x0, top - STEP * (i + 1), line, LETTER) for i, line in enumerate(lines)]))
    return found
