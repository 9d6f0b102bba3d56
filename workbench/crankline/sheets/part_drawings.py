"""A drawing for every part that is made for the kit: one frame a mark, several frames a sheet, in the order of the marks.

A frame says what the part is made of and how many are needed, shows each of its pieces in its own scale, and names what the part meets and
what it is easily taken for. Every number comes from the pieces and the snapshot, and is that of cut files, lists and report.
"""
from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

from .. import units
from ..geometry.piece import Bar, Piece, Seam, Section, Solid, Tube
from ..geometry.piece import Sheet as Cut
from ..measure.measurer import Measurer
from ..measure.part_marks import Marked
from ..record import filled
from ..snapshot import PartView, Snapshot
from . import assembled_view, bent_path, block, flat_drawing, hole_table, part_facts, profile, sheet_format, tube_drawing, tube_list
from .block import Block
from .drawing import Line, Polyline, Primitive, Sheet, SheetError, Text, collisions
from .hole_table import number
from .part_facts import Facts
from .part_picture import Picture
from .part_welds import Welded
from .sheet_format import SCALES, Box, Title
from .side_view import identification

NAME = "part-drawings"
DATUM = ("On flats X and Y count from the leftmost and from the lowest point: the small circle.",
         "Numbered corners are where the sides would meet before rounding; of an arc, its center is given.")
LETTER = 2.5
HEAD = 9.0
"""Height of a frame's line with mark, name and quantity, mm."""
MARGIN = 3.0
CELLS = {"quarter": (1, 1), "tall": (1, 2), "wide": (2, 1), "full": (2, 2)}
"""Columns and rows of four that a frame takes, the smallest first."""
PLAIN, PLAIN_TABLED, LEAST = 40.0, 95.0, 20.0
"""Longest side on paper from which a piece need not be drawn larger, the same for one with a hole table, and below which none is drawn
smaller, mm (common practice, no source)."""


@dataclass(frozen=True)
class Frame:
    """One part's drawing: mark, cell of ``CELLS``, and what stands in it from its lower left corner."""
    mark: str
    cell: str
    items: tuple[Primitive, ...]


def book(snapshot: Snapshot, marked: Sequence[Marked], pieces: Mapping[str, Sequence[Piece]], size: str = "A3",
         measurer: Measurer | None = None, seams: Mapping[str, Sequence[Seam]] = MappingProxyType({})) -> tuple[Sheet, ...]:
    """The sheets; seams: key to the welds inside a part, car frame.

    SheetError where a part's drawing does not fit a sheet of that size, or would overlap."""
    found, pages = [], paged([frame(one, size, snapshot) for one in part_facts.facts(snapshot, marked, pieces, measurer, seams)])
    space, (width, height) = sheet_format.drawing_space(size), sheet_format.size_of(size)
    for page, placed in enumerate(pages, 1):
        title = Title("Part drawings", sheet_format.subject(snapshot), identification(snapshot), "as shown",
                      "in, deg" if units.reading() == "in" else "mm, deg", filled(snapshot.car).title_block, "Part drawing", page,
                      len(pages), book="part-drawings")
        items: list[Primitive] = [*sheet_format.border(size), *sheet_format.foot(title, space), *sheet_format.general(space, *DATUM)]
        for one, column, row in placed:
            area = area_of(size, one.cell, column, row)
            items.append(Polyline(((area.x0, area.y0), (area.x1, area.y0), (area.x1, area.y1), (area.x0, area.y1)), "outline", True))
            items += [block.shifted(item, area.x0, area.y0) for item in one.items]
        sheet = Sheet(NAME, title.title, width, height, tuple(items), title.by.issued or "")
        if trouble := collisions(sheet):
            raise SheetError(f"on the sheet of part drawings with {placed[0][0].mark} {trouble[0]}; choose a larger size than {size}")
        found.append(sheet)
    return tuple(found)


def paged(frames: Sequence[Frame]) -> list[list[tuple[Frame, int, int]]]:
    """Frames on pages of two by two cells: each with its column and row (from the top), in the first page that has room."""
    pages: list[list[tuple[Frame, int, int]]] = []
    free: list[set[tuple[int, int]]] = []
    for one in frames:
        columns, rows = CELLS[one.cell]
        for page in range(len(pages) + 1):
            if page == len(pages):
                pages.append([])
                free.append({(column, row) for column in (0, 1) for row in (0, 1)})
            at = next(((column, row) for row in range(3 - rows) for column in range(3 - columns)
                       if all((column + i, row + j) in free[page] for i in range(columns) for j in range(rows))), None)
            if at is not None:
                free[page] -= {(at[0] + i, at[1] + j) for i in range(columns) for j in range(rows)}
                pages[page].append((one, *at))
                break
    return pages


def sheet_numbers(pages: Sequence[Sheet], marked: Sequence[Marked]) -> dict[str, int]:
    """Mark to the number of the sheet on which its drawing stands."""
    marks = {item.mark for item in marked}
    return {text: number for number, page in enumerate(pages, 1) for text in page.texts() if text in marks}


def area_of(size: str, cell: str, column: int = 0, row: int = 0) -> Box:
    """The rectangle of a frame on a sheet."""
    space = sheet_format.drawing_space(size)
    low = space.y0 + sheet_format.TITLE_HEIGHT + 3.0
    wide, high = space.width / 2.0, (space.y1 - low) / 2.0
    columns, rows = CELLS[cell]
    top, left = space.y1 - row * high, space.x0 + column * wide
    return Box(left, top - rows * high, left + columns * wide, top)


# --- one frame --------------------------------------------------------------------------------------------------------

def frame(facts: Facts, size: str, snapshot: Snapshot | None = None) -> Frame:
    """The drawing of a part in the smallest cell in which its views are as large as they need be. SheetError where it fits none."""
    views: list[_Piece | _Assembled] = [_Piece(one, facts) for piece in facts.pieces
                                        for one in (piece.sections if isinstance(piece, Solid) else (piece,))]
    if snapshot is not None and facts.part is not None and facts.assembled:
        views.append(_Assembled(snapshot, facts.part, facts.joints))
    best = _laid_out(facts, views, area_of(size, "full"))
    if best is None:
        raise SheetError(f"the drawing of {facts.mark} finds no room on a sheet {size}; choose a larger size")
    for cell in CELLS:
        found = _laid_out(facts, views, area_of(size, cell))
        if found is not None and all(n <= least or plain for (n, plain), (least, _plain) in zip(found[1], best[1])):
            return Frame(facts.mark, cell, tuple(found[0]))
    return Frame(facts.mark, "full", tuple(best[0]))


def _laid_out(facts: Facts, views: Sequence[_Piece | _Assembled], area: Box) -> tuple[list[Primitive], list[tuple[int, bool]]] | None:
    """Items from the frame's lower left corner, and of each piece its scale and whether it is plain at that; None where they do not fit."""
    width, height = area.width, area.height
    told = block.written(facts.lines, width - 2.0 * MARGIN)
    room = Box(MARGIN, told.box.height + MARGIN + 1.0, width - MARGIN, height - HEAD - MARGIN)
    scales = [one.first(max(room.width, room.height)) for one in views]
    while True:
        made = [one.blocks(scale, room.height) for one, scale in zip(views, scales)]
        refused = [i for i, blocks in enumerate(made) if blocks is None]
        if not refused:
            blocks = [one for some in made if some is not None for one in some]
            places = block.rows(blocks, room)
            if places is not None:
                break
            # The largest one on paper gives way.
            order = sorted(range(len(views)), key=lambda i: -views[i].drawn(scales[i]))
        else:
            order = refused
        worse = next((i for i in order if views[i].drawn(scales[i] + 1) >= LEAST), None)
        if worse is None:
            return None
        scales[worse] += 1
    items: list[Primitive] = [Line(0.0, height - HEAD, width, height - HEAD, "thin"),
                              Text(MARGIN, height - HEAD + 2.4, facts.mark, 5.0, bold=True),
                              Text(width - MARGIN, height - HEAD + 2.4, f"QTY {facts.quantity}", 3.5, "right", bold=True),
                              Text(MARGIN + 32.0, height - HEAD + 2.4, facts.name.upper(), 3.5)]
    for one, (x, y) in zip(blocks, places):
        items += one.moved(x, y)
    items += told.moved(MARGIN, told.box.height + MARGIN - 1.0)
    return items, [(scale, one.plain(scale)) for scale, one in zip(scales, views)]


class _Piece:
    """One piece while its scale is looked for; what was drawn once is kept."""

    def __init__(self, piece: Cut | Section | Tube | Bar, facts: Facts):
        self.piece, self.facts = piece, facts
        self.extent = _extent(piece)
        self._kept: dict[int, Block | None] = {}
        self._tabled: dict[float, list[Block]] = {}

    def first(self, room: float) -> int:
        """The first scale at which it can fit a room."""
        return next((i for i in range(len(SCALES)) if self.drawn(i) <= room), 0)

    def drawn(self, scale: int) -> float:
        """Longest side on paper, mm; 0 where there is no such scale."""
        return self.extent / SCALES[scale] if scale < len(SCALES) else 0.0

    def plain(self, scale: int) -> bool:
        """Whether it is large enough."""
        tabled = isinstance(self.piece, Cut) and flat_drawing.tabled(self.piece)
        return self.drawn(scale) >= (PLAIN_TABLED if tabled else PLAIN)

    def blocks(self, scale: int, height: float) -> list[Block] | None:
        """Its view under its caption, then its tables; None where a label finds no room at that scale."""
        if scale not in self._kept:
            try:
                self._kept[scale] = self._captioned(SCALES[scale])
            except SheetError:
                self._kept[scale] = None
        view = self._kept[scale]
        if view is None:
            return None
        if height not in self._tabled:
            self._tabled[height] = self._tables(height)
        return [view, *self._tabled[height]]

    def _captioned(self, n: int) -> Block:
        piece = self.piece
        if isinstance(piece, Section):
            return block.below(block.written([f"{piece.name.upper()}    1:{n}"], 62.0, LETTER, 1), _sound(flat_drawing.view(piece, n)), 3.0)
        row = None if isinstance(piece, Cut) else self.facts.sawn(piece)
        view = flat_drawing.view(piece, n) if isinstance(piece, Cut) else tube_drawing.view(piece, n, row.ends if row else None)
        told = [f"{piece.name.upper()}{f', {piece.count} per part' if piece.count > 1 else ''}    1:{n}", *_described(piece, self.facts)]
        return block.below(block.written(told, max(view.box.width, 62.0), LETTER, 1), _sound(view), 3.0)

    def _tables(self, height: float) -> list[Block]:
        piece = self.piece
        if isinstance(piece, Section):
            return profile.tables(piece.flat, height)
        if isinstance(piece, Cut):
            outlined = profile.tables(piece.flat, height)
            if not flat_drawing.tabled(piece):
                return outlined
            low_x, low_y, _x, _y = piece.flat.bounds
            lines = [(name, ((a[0] - low_x, a[1] - low_y), (b[0] - low_x, b[1] - low_y)))
                     for name, of_kind in (("bend ", piece.bends), ("trim ", piece.trims)) for a, b in of_kind]
            return [*hole_table.tables(hole_table.openings(piece.flat), lines, height), *outlined]
        table, path = tube_drawing.bend_table(piece), tube_drawing.path_of(piece)
        if table is None or path is None:
            return []
        return [table, *([tube_drawing.isometric(path)] if path.plane else [])]


_STEPS = (*((step, tail) for tail in (assembled_view.TAIL, assembled_view.SHORT) for step in assembled_view.STEPS),
          (assembled_view.STEPS[-1], 0.0))
"""Share of the largest picture, and how long the tails of its weld symbols may be, mm; 0: it has none."""


class _Assembled:
    """The picture of the whole part while its size is looked for: one of ``assembled_view.STEPS`` instead of a scale. Where its weld
    symbols find no room in any, their tails are shortened, since what it is welded to stands below in words too; it has none where even
    those find none."""

    def __init__(self, snapshot: Snapshot, part: PartView, joints: tuple[Welded, ...]):
        self._of, self._joints = (snapshot, part, joints), joints
        self._kept: dict[int, Block | None] = {}

    @cached_property
    def _picture(self) -> Picture:
        return assembled_view.shown(*self._of)

    def first(self, _room: float) -> int:
        return 0

    def drawn(self, step: int) -> float:
        return assembled_view.ROOM.width * _STEPS[step][0] if step < len(_STEPS) else 0.0

    def plain(self, step: int) -> bool:
        return _STEPS[step][1] > 0.0

    def blocks(self, step: int, _height: float) -> list[Block] | None:
        """The picture alone; None where a symbol finds no room."""
        if step not in self._kept:
            try:
                self._kept[step] = _sound(assembled_view.block(self._picture, self._joints, *_STEPS[step]))
            except SheetError:
                self._kept[step] = None
        shown = self._kept[step]
        return None if shown is None else [shown]


def _sound(view: Block) -> Block:
    """A block in which nothing overlaps; SheetError where something does."""
    if trouble := collisions(Sheet("", "", math.inf, math.inf, tuple(view.moved(0.0, 1e6)))):
        raise SheetError(trouble[0])
    return view


def _extent(piece: Cut | Section | Tube | Bar) -> float:
    """Longest side of a piece as it is drawn, mm."""
    if isinstance(piece, (Cut, Section)):
        low_x, low_y, high_x, high_y = piece.flat.bounds
        return max(high_x - low_x, high_y - low_y)
    path = tube_drawing.path_of(piece)
    if path is None:
        return piece.center_length if isinstance(piece, Tube) else piece.length
    low_x, low_y, high_x, high_y = bent_path.strip(path, 0.0).bounds
    return max(high_x - low_x, high_y - low_y)


def _described(piece: Cut | Tube | Bar, facts: Facts) -> list[str]:
    """What is written above the view of a piece."""
    if isinstance(piece, Cut):
        told = [f"{number(piece.thickness)} thick, cut file {facts.cut_file(piece)}"]
        if radius := profile.box_radius(piece.flat.outer):
            told.append(f"corners R {number(radius)}")
    elif isinstance(piece, Tube):
        told = [f"⌀{number(piece.outer_diameter)} × {number(piece.wall)} wall"]
        row = facts.sawn(piece)
        if row is not None:
            if piece.bends:
                told.append(f"cut length {tube_drawing.sawn_length(row.length)}")
            if row.ends and not all(end.square for end in row.ends):
                told += [f"{name} end: {tube_list.end_text(end)}" for name, end in zip(("first (left)", "last"), row.ends)]
    else:
        told = [f"{number(piece.width)} × {number(piece.thickness)}"]
        if piece.bends:
            told.append(f"cut length {tube_drawing.sawn_length(piece.length)}")
    return [*told, *([piece.note] if piece.note else [])]


