"""The instruction sheet: how the kit is built into the car, step by step, each with a picture, and what is signed when it is done.

Sections run over the whole width, their safety messages at their head; below stand the steps in columns, each in a frame of its own. Pure:
pictures come from whoever asks for the pages.
"""
from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from .. import units
from ..features.hardware import hardware
from ..mechanics.set_up import Reading
from . import instruction_steps, safety_messages, sheet_format, torques
from .drawing import Circle, Line, Polyline, Primitive, Sheet, SheetError, Text, collisions, fitted, text_width, wrapped
from .instruction_step import Kit, Section, Step
from .set_up import tolerance_text, value_text
from .sheet_format import Box, Title, table
from .side_view import identification

Pictured = Callable[[Step, Box], Sequence[Primitive]]
"""Draws what a step is about into a box on the paper."""

COLUMN = 122.0
"""Least width of a column of steps, mm."""
LETTER, STEP, HEAD, PAD = 2.5, 3.9, 8.0, 2.0
"""Lettering of texts, from one line to the next, head of a step's frame, margin inside it, mm."""
LEAST, MOST, APART = 46.0, 95.0, 72.0
"""Height of a picture, least and most, and the least of one that shows every mark by itself, mm."""
CHECK = 9.4
"""Height of a reading with its box, mm."""
FOUND = 26.0
"""Width of the box in which is written what was found."""
BAND = 8.0
"""Height of a section's title."""
ABOUT = ("Do the steps in their order. Each is one action; its picture shows the parts of the step in heavy lines. Marks such as RT-1 are "
         "etched on the parts. Where a step has a box, measure, write down what was found, and go on only when it is within its "
         "tolerance. Heights are above the track, or from the top of the main rails, with the car level at static ride height; stations "
         "are forward of the rear axle centerline.")
SIGNED = ("Sections done and checked", "Name", "Date", "Signature")


@dataclass(frozen=True)
class Piece:
    """Something on a page: height that it needs, height that it can take beyond that, and how it is drawn at a top and a height."""
    least: float
    spare: float
    draw: Callable[[float, float], list[Primitive]]
    with_next: bool = False


def sheets(kit: Kit, pictured: Pictured, size: str = "A3") -> tuple[Sheet, ...]:
    """The pages. SheetError where they cannot be laid out."""
    space = sheet_format.drawing_space(size)
    room = Box(space.x0 + 2.0, space.y0 + sheet_format.TITLE_HEIGHT + 2.0, space.x1 - 2.0, space.y1 - 2.0)
    found = instruction_steps.sections(kit)
    pieces = [*_opening(kit, found, room), *_body(kit, found, pictured, room), *_torques(kit, room), *_signing(found, room)]
    pages = _paged(pieces, room.height)
    width, height = sheet_format.size_of(size)
    by = kit.car.title_block
    drawn = []
    for number, page in enumerate(pages, 1):
        title = Title("Instruction sheet", sheet_format.subject(kit.snapshot), identification(kit.snapshot), "none",
                      "in, deg" if units.reading() == "in" else "mm, deg", by, "Instructions", number, len(pages), book="instructions")
        items = [*sheet_format.border(size), *sheet_format.foot(title, space), *_set(page, room)]
        sheet = Sheet("instructions", title.title, width, height, tuple(items), by.issued or "")
        if trouble := collisions(sheet):
            raise SheetError(f"on sheet {number} of the instructions {trouble[0]}; choose a larger size")
        drawn.append(sheet)
    return tuple(drawn)


GAP = 2.0
"""Between pieces on a page, mm."""


def _paged(pieces: Sequence[Piece], height: float) -> list[list[Piece]]:
    """Pieces in pages, in their order; one that goes with the next is never the last of its page."""
    pages: list[list[Piece]] = [[]]
    for number, piece in enumerate(pieces):
        group = [piece]
        while group[-1].with_next and number + len(group) < len(pieces):
            group.append(pieces[number + len(group)])
        used = sum(one.least + GAP for one in pages[-1])
        if pages[-1] and used + sum(one.least for one in group) + GAP * (len(group) - 1) > height:
            pages.append([])
        if piece.least > height:
            raise SheetError("a step of the instructions is higher than the sheet; choose a larger size")
        pages[-1].append(piece)
    return pages


def _set(page: Sequence[Piece], room: Box) -> list[Primitive]:
    """A page's pieces from the top down; what height is left goes to those that can take it."""
    left = room.height - sum(one.least for one in page) - GAP * (len(page) - 1)
    takers = sum(one.spare > 0.0 for one in page)
    top, found = room.y1, []
    for one in page:
        more = min(one.spare, left / takers) if one.spare and takers else 0.0
        found += one.draw(top, one.least + more)
        top -= one.least + more + GAP
    return found


# ------------------------------------------------------------------------------------------------------------ the pieces

def _opening(kit: Kit, found: Sequence[Section], room: Box) -> list[Piece]:
    """How the sheet is read, and all its safety messages."""
    messages = [one for section in found for one in section.messages]
    signals = [signal for signal, _own in safety_messages.grouped(messages)]
    tools = list(dict.fromkeys(tool for section in found for step in section.steps for tool in step.tools))
    lines = [*wrapped(ABOUT, LETTER, room.width - 4.0), *wrapped("Tools: " + ", ".join(tools) + ".", LETTER, room.width - 4.0),
             *safety_messages.meanings(signals, room.width - 4.0)]
    return [_lines("How to use this sheet", lines, room), _messages(messages, room)]


def _lines(title: str, lines: Sequence[str], room: Box) -> Piece:
    def draw(top: float, _height: float) -> list[Primitive]:
        return [Text(room.x0 + PAD, top - 5.0, title, 3.5, bold=True),
                *(Text(room.x0 + PAD, top - BAND - STEP * (i + 1) + 1.2, line, LETTER) for i, line in enumerate(lines))]

    return Piece(BAND + STEP * len(lines) + 1.0, 0.0, draw)


def _messages(messages: Sequence[safety_messages.Message], room: Box, with_next: bool = False) -> Piece:
    height = safety_messages.height(messages, room.width)
    return Piece(height, 0.0, lambda top, _height: safety_messages.draw(messages, room.x0, top, room.width)[0], with_next)


def _body(kit: Kit, found: Sequence[Section], pictured: Pictured, room: Box) -> list[Piece]:
    """Sections, their messages, and their steps in rows."""
    columns = max(int((room.width + GAP) / (COLUMN + GAP)), 1)
    width = (room.width - GAP * (columns - 1)) / columns
    pieces: list[Piece] = []
    number = 1
    for letter, section in zip("ABCDEFGHIJKLMNOPQRSTUVWXYZ", found):
        last = number + len(section.steps) - 1
        pieces.append(_band(f"{letter}   {section.title}", f"steps {number} to {last}" if last > number else f"step {number}", room))
        if section.messages:
            pieces.append(_messages(section.messages, room, with_next=True))
        for row in _rows(section.steps, columns, number):
            pieces.append(_row(kit, row, pictured, room.x0, width, columns))
        number = last + 1
    return pieces


def _band(title: str, steps: str, room: Box) -> Piece:
    def draw(top: float, _height: float) -> list[Primitive]:
        return [Text(room.x0 + PAD, top - 5.8, title, 4.0, bold=True), Text(room.x1 - PAD, top - 5.8, steps, LETTER, "right"),
                Line(room.x0, top - BAND, room.x1, top - BAND, "visible")]

    return Piece(BAND, 0.0, draw, True)


MANY = 3
"""A step with more readings than this gets a row of its own, its readings beside its picture."""


def _alone(step: Step) -> bool:
    return step.apart or len(step.checks) > MANY


def _rows(steps: Sequence[Step], columns: int, number: int) -> list[list[tuple[int, Step]]]:
    """Numbered steps in rows."""
    rows: list[list[tuple[int, Step]]] = []
    for one in enumerate(steps, number):
        if not rows or len(rows[-1]) == columns or _alone(one[1]) or _alone(rows[-1][0][1]):
            rows.append([])
        rows[-1].append(one)
    return rows


def _row(kit: Kit, row: Sequence[tuple[int, Step]], pictured: Pictured, x: float, width: float, columns: int) -> Piece:
    """Steps beside each other, or one that has many readings."""
    if row[0][1].apart:
        width = columns * (width + GAP) - GAP
    texts = [_text(kit, step, width) for _number, step in row]
    if len(row[0][1].checks) > MANY and columns > 1:
        return _wide(row[0][0], row[0][1], texts[0], pictured, x, width, columns)
    below = max(STEP * len(lines) + CHECK * len(step.checks) for lines, (_number, step) in zip(texts, row))

    def draw(top: float, height: float) -> list[Primitive]:
        found: list[Primitive] = []
        for column, (lines, (number, step)) in enumerate(zip(texts, row)):
            left = x + column * (width + GAP)
            box = Box(left, top - height, left + width, top)
            found += _step(number, step, lines, box, box.width, pictured)
            found += _checks(step.checks, box.x0 + PAD, box.y0 + PAD + CHECK * len(step.checks), box.width - 2.0 * PAD)
        return found

    picture = APART if row[0][1].apart else LEAST
    return Piece(HEAD + picture + below + 2.0 * PAD, MOST - LEAST, draw)


def _wide(number: int, step: Step, lines: Sequence[str], pictured: Pictured, x: float, width: float, columns: int) -> Piece:
    """A step over all columns: its picture in the first one, its readings in the others."""
    each = -(-len(step.checks) // (columns - 1))
    least = max(HEAD + LEAST + STEP * len(lines), CHECK * each + HEAD) + 2.0 * PAD

    def draw(top: float, height: float) -> list[Primitive]:
        box = Box(x, top - height, x + columns * (width + GAP) - GAP, top)
        found = _step(number, step, lines, box, width, pictured)
        for column in range(columns - 1):
            some = step.checks[column * each:(column + 1) * each]
            found += _checks(some, x + (column + 1) * (width + GAP), top - HEAD, width - PAD)
        return found

    return Piece(least, MOST - LEAST, draw)


def _text(kit: Kit, step: Step, width: float) -> list[str]:
    """Lines below a step's picture."""
    room = width - 2.0 * PAD
    lines = wrapped(step.action, LETTER, room)
    if (unnamed := kit.unnamed(step)) and not step.apart:
        lines += wrapped(f"Parts: {unnamed}.", LETTER, room)
    return lines + (wrapped(f"Tools: {', '.join(step.tools)}.", LETTER, room) if step.tools else [])


def _step(number: int, step: Step, lines: Sequence[str], box: Box, width: float, pictured: Pictured) -> list[Primitive]:
    """A step in its frame: number and title, and in a width from the left picture and texts; readings that are not beside these stand
    below."""
    beside = width < box.width
    low = box.y0 + PAD + STEP * len(lines) + (0.0 if beside else CHECK * len(step.checks))
    return [Polyline(((box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1)), "outline", True),
            Circle(box.x0 + 5.0, box.y1 - 4.6, 3.6, "visible"),
            Text(box.x0 + 5.0, box.y1 - 5.9, str(number), 2.8, "middle", bold=True),
            Text(box.x0 + 11.0, box.y1 - 6.2, fitted(step.title, 3.5, box.width - 13.0), 3.5, bold=True),
            *pictured(step, Box(box.x0 + PAD, low + PAD, box.x0 + width - PAD, box.y1 - HEAD - 1.0)),
            *(Text(box.x0 + PAD, low - STEP * (i + 1) + 1.2, line, LETTER) for i, line in enumerate(lines))]


def _checks(readings: Sequence[Reading], x: float, top: float, width: float) -> list[Primitive]:
    return [item for i, one in enumerate(readings) for item in _check(one, x, top - CHECK * i, width)]


def _check(one: Reading, x: float, top: float, width: float) -> list[Primitive]:
    """A reading: what, what it should be and how closely, and a box for what was found."""
    low, edge = top - CHECK + 0.8, x + width - FOUND
    room = edge - x - 4.0
    value = f"{value_text(one)}  {tolerance_text(one)}"
    other = _elsewhere(one, room - text_width(value + "   ", LETTER))
    return [Polyline(((edge, low), (x + width, low), (x + width, top), (edge, top)), "visible", True),
            Line(x, low, edge, low, "thin"), Text(x + 1.0, top - 3.4, fitted(one.name, LETTER, room), LETTER),
            Text(x + 1.0, top - 7.4, value, LETTER, bold=True), *([Text(edge - 2.0, top - 7.4, other, LETTER, "right")] if other else [])]


def _elsewhere(one: Reading, room: float) -> str:
    """The same from the plate, else from the rails, where there is room for it."""
    for datum, value in (("on the plate", one.plate), ("from rail top", one.rail)):
        if value is not None:
            told = f"{datum} {value_text(Reading(one.name, one.kind, value, one.tolerance))}"
            short = f"{datum} {units.sized(value)}" if one.kind != "angle" else told
            return next((text for text in (told, short) if text_width(text, LETTER) <= room), "")
    return ""


# ---------------------------------------------------------------------------------------------------- torques and sign-off

LINE = 5.2


def _torques(kit: Kit, room: Box) -> list[Piece]:
    """The torque table and its source; none where the car's joints cannot be laid out."""
    try:
        found = torques.of(hardware(kit.snapshot.car))
    except ValueError:
        return []
    if not found:
        return []
    # Left and right joints of one name are one line.
    counts: dict[tuple[str, ...], int] = {}
    for one in found:
        told = units.torque_text(one.torque) if one.torque is not None else one.note
        joint = kit.named(one.where), one.row, one.grade, told
        counts[joint] = counts.get(joint, 0) + one.count
    rows = [(joint, str(count), *bolt, "") for (joint, *bolt), count in counts.items()]
    widths = (0.40, 0.06, 0.16, 0.10, 0.22, 0.06)
    source = wrapped(torques.SOURCE, LETTER, room.width - 4.0)
    height = 6.0 + LINE * (len(rows) + 1) + STEP * len(source) + 3.0

    def draw(top: float, _height: float) -> list[Primitive]:
        drawn, low = table(room.x0, top, tuple(share * room.width for share in widths), "Torque table",
                           ("Joint", "Qty", "Bolt", "Grade", "Torque", "Done"), rows, row=LINE, letter=LETTER, right=(1,))
        return [*drawn, *(Text(room.x0 + PAD, low - STEP * (i + 1), line, LETTER) for i, line in enumerate(source))]

    return [Piece(height, 0.0, draw)]


def _signing(found: Sequence[Section], room: Box) -> list[Piece]:
    """Who did and who checked what."""
    rows = [(f"{letter}   {section.title}", "", "", "") for letter, section in zip("ABCDEFGHIJKLMNOPQRSTUVWXYZ", found)]
    rows += [(name, "", "", "") for name in ("Welder", "Whole car checked by")]
    line = 7.0

    def draw(top: float, _height: float) -> list[Primitive]:
        return table(room.x0, top, tuple(share * room.width for share in (0.40, 0.24, 0.14, 0.22)), "Sign-off", SIGNED, rows, row=line,
                     letter=LETTER)[0]

    return [Piece(6.0 + line * (len(rows) + 1), 0.0, draw)]
