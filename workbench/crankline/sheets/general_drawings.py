"""The general drawings: the car from the side, from above, at the front plate, cut at the mid plate, at each loop and at the enclosure, and
a picture of it. Every coordinate is a number of the model (``places``); views find room on as many sheets as they need.
"""
from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from .. import units
from ..features.registry import declaration
from ..geometry.piece import Piece
from ..measure.part_marks import Marked, by_key
from ..mechanics import set_up
from ..mechanics.frames import as_point
from ..record import filled
from ..snapshot import PartView, Snapshot
from . import places, sheet_format, view, view_block
from .drawing import Line, Primitive, Sheet, SheetError, Text, collisions, text_width, wrapped
from .part_picture import see_through
from .places import Place
from .set_up import tolerance_text
from .sheet_format import SCALES, Box, Title, table
from .side_view import identification
from .view_block import Block, Plane, Wanted

NEAR = 150.0
"""How far a section shows what is behind its plane, mm."""
AHEAD = 2.0
"""How far ahead of the front plate what hides it is taken away, mm."""
AIR = 6.0
"""Between views, mm."""
LETTER, ROW = 2.5, 5.2
"""Lettering and lines of the list of marks, mm."""
STRIP = 8.0
"""Height of the line of tolerances over the title block, mm."""
LETTERS = "DEFGHJKLMNPRSTUVWXYZ"
"""Of sections: A to C are datums; I, O and Q are not used (ASME Y14.2)."""


@dataclass(frozen=True)
class _Section:
    """A cutting plane: letter, what is cut, frame whose eye looks at it and how near the plane is to the eye; what it dimensions."""
    letter: str
    name: str
    frame: view.Frame
    cut: float
    origin: tuple[float, float, float]
    looks: tuple[float, float, float]
    beside: Sequence[Place]
    above: Sequence[Place]
    origins: str


def sheets(snapshot: Snapshot, marked: Sequence[Marked], pieces: Mapping[str, Sequence[Piece]], size: str = "A3") -> tuple[Sheet, ...]:
    """The pages ``general-drawings``. SheetError where the document holds no placement, or a view finds no room on a sheet of that size."""
    if snapshot.scene is None:
        raise SheetError("general drawings: the document holds no placed powertrain; correct the placement and recompute")
    parts = tuple(part for part in snapshot.parts if not part.reference)
    marks = by_key(marked)
    space = sheet_format.drawing_space(size)
    room = Box(space.x0 + 3.0, space.y0 + sheet_format.TITLE_HEIGHT + STRIP + 3.0, space.x1 - 3.0, space.y1 - 3.0)
    blocks = [_fitted(wanted, room, snapshot.system) for wanted in _wanted(snapshot, parts, marks, pieces)]
    listed = _marks_list(marked, {part.key: part for part in parts})
    pages = _allotted([*blocks, *(_picture(parts, marks, listed, room),)], room)
    return tuple(_page(snapshot, items, number, len(pages), size, space) for number, items in enumerate(pages, 1))


# ------------------------------------------------------------------------------------------------------- what is shown

def _wanted(snapshot: Snapshot, parts: Sequence[PartView], marks: Mapping[str, str], pieces: Mapping[str, Sequence[Piece]]
            ) -> Iterator[Wanted]:
    kinds = {part.key: declaration(part.kind, part.key).side_view.line for part in parts}
    sections = list(_sections(snapshot, pieces))
    side, plan = (view.of(parts, frame, see_through=see_through) for frame in (view.SIDE, view.PLAN))
    _x, z0, _x, z1 = side.box()
    planes = [Plane(one.letter, _on(one, z0 - 2.0), _on(one, z1 + 20.0), one.looks) for one in sections]
    yield Wanted("SIDE VIEW", side, kinds, places.single(places.stations(snapshot)), places.single(places.heights(snapshot)),
                 "X from datum A below, Z from datum B on the right", marks, planes, _datums(snapshot))
    yield Wanted("PLAN", plan, kinds, (), places.single(places.across(snapshot, marks)), "Y from datum C on the right", marks)
    for one in sections:
        seen = view.of(parts, one.frame, cut=one.cut, reach=NEAR)
        yield Wanted(f"{one.letter}-{one.letter}  {one.name}", seen, kinds, one.beside, one.above, one.origins, marks)


def _datums(snapshot: Snapshot) -> list[Primitive]:
    """Datums A and B in side view: the rear axle centerline as a cross, and the track."""
    radius, half = snapshot.placed.chassis.rear_tire.loaded_radius, 60.0
    end = max(float(snapshot.placed.engine_point(float(snapshot.placed.block.length))[0]), 0.0)
    return [Line(-half, radius, half, radius, "centre"), Line(0.0, radius - half, 0.0, radius + half, "centre"),
            Line(-half, 0.0, end, 0.0, "border")]


def _on(section: _Section, z: float) -> tuple[float, float, float]:
    """The point of a section's plane in the center plane at a height."""
    nx, _ny, nz = section.looks
    x = section.origin[0] - nz / nx * (z - section.origin[2])
    return x, 0.0, z


def _sections(snapshot: Snapshot, pieces: Mapping[str, Sequence[Piece]]) -> Iterator[_Section]:
    letters = iter(LETTERS)
    scene, car = snapshot.placed, filled(snapshot.car)
    axis = scene.engine_frame.axis
    up = scene.engine_frame.rotation[:, 2]
    across = view.looking(as_point(axis), as_point(up))
    crank = "Y from datum C below, heights from the crank axis on the right"
    plates = []
    if snapshot.part("front_plate") is not None:
        others = sorted(part.key for part in snapshot.parts if part.kind == "plate_foot" or part.key.startswith("front_tab/"))
        plates.append(("front plate, seen from the front", ["front_plate", *others],
                       scene.engine.block_length + car.plates.front.thickness + AHEAD))
    if snapshot.part("mid_plate") is not None:
        others = sorted(part.key for part in snapshot.parts if part.key.startswith("rail_tab/"))
        plates.append(("mid plate, seen from the front", ["mid_plate", *others], -scene.stack.protector - scene.stack.mid_plate / 2.0))
    for name, keys, along in plates:
        point = scene.engine_point(along)
        beside, above = places.of_plate(snapshot, pieces, keys)
        yield _Section(next(letters), name, across, float(across.seen(point)[2]), as_point(point), as_point(-axis), beside, above, crank)
    track = "Y from datum C below, Z from datum B on the right"
    for name, x, center, key in _around_shaft(snapshot):
        beside, above = places.around_shaft(snapshot, x, name.split(",")[0], center, key)
        yield _Section(next(letters), f"{name}, seen from the front", view.FRONT, x, (x, 0.0, float(center[2])), (-1.0, 0.0, 0.0),
                       beside, above, track)


def _around_shaft(snapshot: Snapshot) -> Iterator[tuple[str, float, np.ndarray, str]]:
    """Loops and the enclosure: name, station that is cut, center there (3,), key."""
    car = filled(snapshot.car)
    for loop in sorted(car.containment.loops if car.containment else (), key=lambda one: -one.x):
        if snapshot.part(f"loop/{loop.name}") is not None:
            yield f"Loop {loop.name}", float(loop.x), snapshot.placed.loop_center(loop), f"loop/{loop.name}"
    if car.containment and car.containment.enclosure and snapshot.part("enclosure") is not None:
        given = car.containment.enclosure
        x = (given.x_rear + given.x_front) / 2.0
        yield "Enclosure, middle", x, places.enclosure_center(snapshot, x), "enclosure"


def _picture(parts: Sequence[PartView], marks: Mapping[str, str], listed: Sequence[tuple[str, ...]], room: Box) -> Block:
    """The isometric view, as large as the list of marks beside it allows."""
    widths = (16.0, 46.0, 12.0)
    kinds = {part.key: declaration(part.kind, part.key).side_view.line for part in parts}
    seen = view.of(parts, view.ISOMETRIC, see_through=see_through)
    wanted = Wanted("ISOMETRIC, NOT FOR MEASURING", seen, kinds, marks=marks, scaled=False)
    most = int((room.height - 8.0) / ROW) - 1
    columns = [listed[start:start + most] for start in range(0, len(listed), most)]
    beside = len(columns) * (sum(widths) + 3.0)
    for n in SCALES:
        block = view_block.at_scale(wanted, n, "mm")
        if block.width + beside + AIR <= room.width and block.height <= room.height:
            break
    else:
        raise SheetError("general drawings: the picture and the list of marks find no room; use a larger sheet")
    items = list(block.items)
    height = max(block.height, (len(columns[0]) + 1) * ROW + 8.0) if columns else block.height
    for number, rows in enumerate(columns):
        drawn, _low = table(block.width + AIR + number * (sum(widths) + 3.0), height, widths, "Marks", ("Mark", "Part", "Qty"), rows,
                            row=ROW, letter=LETTER, right=(2,))
        items += drawn
    return replace(block, items=tuple(items), width=block.width + AIR + beside, height=height)


def _marks_list(marked: Sequence[Marked], parts: Mapping[str, PartView]) -> list[tuple[str, ...]]:
    """Mark, name and quantity; what looks like another part and is not, says so."""
    found: list[tuple[str, ...]] = []
    for one in marked:
        part = parts.get(one.keys[0])
        if part is not None:
            name = declaration(part.kind, part.key).label
            found.append((one.mark, name + (f", not {one.look_alikes[0]}" if one.look_alikes else ""), str(one.quantity)))
    return found


# ------------------------------------------------------------------------------------------------- finding room

def _fitted(wanted: Wanted, room: Box, system: str) -> Block:
    """A view in the largest standard scale at which it fits a sheet alone, or shares its height with another where it is long."""
    refusal: SheetError | None = None
    for n in SCALES[1:]:
        try:
            block = view_block.at_scale(wanted, n, system)
        except SheetError as error:
            refusal = error
            continue
        if block.width <= room.width and block.height <= room.height:
            return block
    raise refusal or SheetError(f"general drawings: {wanted.title} does not fit; use a larger sheet")


def _allotted(blocks: Sequence[Block], room: Box) -> list[list[Primitive]]:
    """Items of every sheet: blocks in their order, left to right in rows from the top, in the next row or on the next sheet where the room
    is used up."""
    pages: list[list[Primitive]] = [[]]
    x, top, tall = room.x0, room.y1, 0.0
    for block in blocks:
        if x > room.x0 and x + block.width > room.x1:
            x, top, tall = room.x0, top - tall - AIR, 0.0
        if top - block.height < room.y0:
            pages.append([])
            x, top, tall = room.x0, room.y1, 0.0
        pages[-1] += [view.moved(item, 1.0, x, top - block.height) for item in block.items]
        x, tall = x + block.width + AIR, max(tall, block.height)
    return [page for page in pages if page]


def _page(snapshot: Snapshot, items: Sequence[Primitive], number: int, count: int, size: str, space: Box) -> Sheet:
    by = filled(snapshot.car).title_block
    title = Title("General drawing", sheet_format.subject(snapshot), identification(snapshot), "as noted",
                  "in [mm], deg" if snapshot.system == "in" else "mm [in], deg", by, "General drawing", number, count,
                  book="general-drawings")
    width, height = sheet_format.size_of(size)
    found = [*sheet_format.border(size), *sheet_format.foot(title, space), *_strip(space), *items]
    page = Sheet("general-drawings", "General drawings", width, height, tuple(found), by.issued or "")
    if trouble := collisions(page):
        raise SheetError(f"general drawings, sheet {number}: {trouble[0]}; use a sheet larger than {size}")
    return page


def _strip(space: Box) -> list[Primitive]:
    """Datums and general tolerances, and a bar to check the print with, over the title block."""
    y = space.y0 + sheet_format.TITLE_HEIGHT + 3.0
    length, name = (2.0 * units.INCH, "2 in") if units.reading() == "in" else (50.0, "50 mm")
    start = space.x1 - 3.0 - length
    told = f"check: {name}"
    at = start - text_width(told, LETTER) - 2.0
    tolerance = set_up.TAPE
    tape = tolerance_text(set_up.Reading("", "along", 0.0, tolerance))
    level = tolerance_text(set_up.Reading("", "angle", 0.0, set_up.LEVEL))
    text = f"Datums  {';  '.join(places.DATUMS)}.   General tolerance {tape}, {level}"
    lines = wrapped(text, LETTER, at - space.x0 - 8.0)
    if len(lines) > 2:
        raise SheetError("general drawings: the line of datums and tolerances does not fit; use a larger sheet")
    texts = [Text(space.x0 + 3.0, y + 3.4 * (len(lines) - 1 - i), line, LETTER) for i, line in enumerate(lines)]
    return [*texts, Text(at, y, told, LETTER), Line(start, y + 1.0, start + length, y + 1.0, "visible"),
            Line(start, y - 0.5, start, y + 2.5, "visible"), Line(start + length, y - 0.5, start + length, y + 2.5, "visible")]
