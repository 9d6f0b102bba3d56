"""The drawings of pieces of tube and bar: straight ones seen from the side with the curves of their coped ends, bent ones as a bend sheet.

A straight tube is seen with the line from which clocking counts up; its first end is on the left. Curves are those of the cope templates.
"""
from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from .. import units
from ..geometry import cope, tube
from ..geometry.cope import CopedEnd
from ..geometry.outline import Flat, Loop
from ..geometry.piece import Bar, Tube
from . import dimension, sheet_format, tube_list
from .bent_path import Path, beside, runs, strip
from .block import Block
from .block import of as block_of
from .dimension import Datum
from .drawing import Circle, Line, Polyline, Primitive, Text, bounds
from .flat_drawing import AWAY, LETTER, along, outline
from .hole_table import number
from .label_room import LabelRoom
from .sheet_format import Box

ISOMETRIC = 42.0
"""Side of the square that the isometric of a centerline fits in, mm."""
LEAST = 3.0
"""Radius on paper from which the end of a tube is drawn, mm."""


def path_of(piece: Tube | Bar) -> Path | None:
    """The centerline of a bent piece; None of a straight one."""
    if not piece.bends:
        return None
    return Path(piece.straights, piece.bends, piece.rotations if isinstance(piece, Tube) else (0.0,) * (len(piece.bends) - 1), piece.radius)


def sawn_length(value: float) -> str:
    """A length that is sawn to: ``25.925 (25 15/16)``, to 1/32 as a tape reads it; in a car of millimeters ``658.5``."""
    if units.reading() == "mm":
        return f"{value:.1f}"
    return f"{number(value)} ({units.inches(value, 32).removesuffix(' in')})"


def view(piece: Tube | Bar, n: float, ends: tuple[CopedEnd, CopedEnd] | None = None) -> Block:
    """The piece at 1:n: a straight one from the side, a bent one in its plane, or its isometric alone where it is bent in space; ends: of a
    tube, where they are known already. SheetError where a label finds no room at that scale."""
    path = path_of(piece)
    if path is None:
        return _bar(piece, n) if isinstance(piece, Bar) else _straight(piece, n, ends)
    return _bent(piece, path, n) if path.plane else isometric(path)


# --- straight ---------------------------------------------------------------------------------------------------------

def _straight(piece: Tube, n: float, ends: tuple[CopedEnd, CopedEnd] | None) -> Block:
    first, last = ends or cope.ends(piece)
    length, radius = piece.center_length / n, piece.outer_diameter / 2.0 / n
    turns = cope.turns(first.outward.size)
    up = radius * np.cos(turns)
    half = turns.size // 2
    items: list[Primitive] = []
    for end, at, way in ((first, 0.0, -1.0), (last, length, 1.0)):
        across = at + way * end.outward / n
        seen = list(zip(across[:half + 1].tolist(), up[:half + 1].tolist()))
        behind = [*zip(across[half:].tolist(), up[half:].tolist()), (float(across[0]), float(up[0]))]
        if end.square:
            items.append(Line(*seen[0], *seen[-1]))
            continue
        items.append(Polyline(tuple(seen)))
        if max(math.dist(a, b) for a, b in zip(seen, reversed(behind))) > 0.2:
            items.append(Polyline(tuple(behind), "hidden"))
    for side, place in ((radius, 0), (-radius, half)):
        items.append(Line(-float(first.outward[place]) / n, side, length + float(last.outward[place]) / n, side))
    low, high = -first.longest / n, length + last.longest / n
    items.append(Line(low - 4.0, 0.0, high + 4.0, 0.0, "centre"))
    items += _members(piece, n, length, radius)
    level = -radius - (2.0 if piece.holes else 1.0) * AWAY
    items += dimension.horizontal(Datum("first end", low, -radius), Datum("last end", high, -radius), level,
                                  sawn_length(cope.cut_length(piece, (first, last))), LETTER)
    if abs(first.longest) + abs(last.longest) > tube_list.SAME:
        items += dimension.horizontal(Datum("first end of centerline", 0.0, radius), Datum("last end of centerline", length, radius),
                                      radius + AWAY + 1.5, f"centerline {number(piece.center_length)}", LETTER)
    items += _holes(piece, n, first, last)
    if radius >= LEAST:
        items += _end(piece, (first, last), high + 14.0 + radius, radius)
    return block_of(items)


def _members(piece: Tube, n: float, length: float, radius: float) -> list[Primitive]:
    """The centerlines of what the ends are coped to, as far as they run in the plane of the view."""
    found: list[Primitive] = []
    for number_, (met, at) in enumerate(((piece.first, 0.0), (piece.last, length))):
        for item in met:
            if not isinstance(item, tube.Header):
                continue
            outward = np.array(piece.ends[number_][1])
            along = outward if number_ else -outward
            zero, _aside = cope.across(along)
            way = np.array(item.direction) / np.linalg.norm(item.direction)
            u, v = float(way @ along), float(way @ zero)
            if math.hypot(u, v) > 0.3:
                reach = radius + 2.5
                found.append(Line(at - reach * u, -reach * v, at + reach * u, reach * v, "centre"))
    return found


def _holes(piece: Tube, n: float, first: CopedEnd, last: CopedEnd) -> list[Primitive]:
    """Cross holes, each located from an end that is square, else from the first end of the centerline."""
    found: list[Primitive] = []
    length, radius = piece.center_length, piece.outer_diameter / 2.0 / n
    for one in piece.holes:
        size, at = one.diameter / 2.0 / n, one.at / n
        from_last = last.square and (not first.square or length - one.at < one.at)
        end, off = (length / n, length - one.at) if from_last else (0.0, one.at)
        found += [Circle(at, 0.0, size), Line(at, -size - 1.2, at, size + 1.2, "thin")]
        found += dimension.horizontal(Datum("end", end, -radius), Datum("cross hole", at, -size - 1.2), -radius - AWAY, number(off), LETTER)
        room = LabelRoom(_wide(found, 20.0), found)
        found += room.label(Text(0.0, 0.0, f"⌀{number(one.diameter)} through", LETTER), (at, radius + 1.0))
    return found


def _end(piece: Tube, ends: Sequence[CopedEnd], x: float, radius: float) -> list[Primitive]:
    """The tube from its last end: wall, and how what its ends are coped to is clocked."""
    found: list[Primitive] = [Circle(x, 0.0, radius), Circle(x, 0.0, radius * (1.0 - 2.0 * piece.wall / piece.outer_diameter)),
                              Line(x, radius, x, radius + 3.0, "thin")]
    told: dict[float, list[str]] = {}
    for end, name in zip(ends, ("first", "last")):
        for clocking in end.clocking:
            told.setdefault(round(math.degrees(clocking), 1), []).append(name)
    reach = radius + 2.5
    lines = []
    for degrees, names in told.items():
        turn = math.radians(degrees)
        u, v = -math.sin(turn), math.cos(turn)
        lines.append((Line(x - reach * u, -reach * v, x + reach * u, reach * v, "centre"), f"{' and '.join(names)} {degrees:.1f}°"))
    found += [line for line, _name in lines]
    room = LabelRoom(Box(x - radius - 3.0, -radius - 25.0, x + radius + 40.0, radius + 25.0), found)
    for line, name in lines:
        found += room.label(Text(0.0, 0.0, name, LETTER), (line.x0, line.y0) if line.y0 < line.y1 else (line.x1, line.y1))
    return found


def _bar(piece: Bar, n: float) -> Block:
    length, thick, wide = piece.length / n, piece.thickness / n, piece.width / n
    x = length + AWAY + 12.0
    return block_of([
        Polyline(((0.0, 0.0), (length, 0.0), (length, wide), (0.0, wide)), "visible", True),
        Polyline(((x, 0.0), (x + thick, 0.0), (x + thick, wide), (x, wide)), "visible", True),
        *dimension.horizontal(Datum("first end", 0.0, 0.0), Datum("last end", length, 0.0), -AWAY, sawn_length(piece.length), LETTER),
        *dimension.vertical(Datum("low", length, 0.0), Datum("high", length, wide), length + AWAY, number(piece.width), LETTER),
        *dimension.horizontal(Datum("face", x, wide), Datum("back", x + thick, wide), wide + AWAY, number(piece.thickness), LETTER)])


# --- bent -------------------------------------------------------------------------------------------------------------

def _bent(piece: Tube | Bar, path: Path, n: float) -> Block:
    """In the plane of its bends, its first end on the left; lines across it where bends start and end."""
    deep = piece.outer_diameter if isinstance(piece, Tube) else piece.thickness
    shape = strip(path, deep)
    low_x, low_y, high_x, high_y = shape.bounds
    wide, high = (high_x - low_x) / n, (high_y - low_y) / n

    def at(x: float, y: float) -> tuple[float, float]:
        return (x - low_x) / n, (y - low_y) / n

    items = outline(Flat(shape), at, n)
    center = Loop(tuple(beside(path, 0.0, 0.0)))
    items += along(center.segments[:-1], at, n, "centre")
    for one in center.segments[:-1]:
        if one.sweep:
            for share in (0.0, 1.0):
                y, z = one.at(share)
                u, v = (y - one.yc) / one.radius, (z - one.zc) / one.radius
                items.append(Line(*at(y - u * deep * 0.6, z - v * deep * 0.6), *at(y + u * deep * 0.6, z + v * deep * 0.6), "thin"))
    items += dimension.horizontal(Datum("left", 0.0, 0.0), Datum("right", wide, 0.0), -AWAY, number(high_x - low_x), LETTER)
    items += dimension.vertical(Datum("low", wide, 0.0), Datum("high", wide, high), wide + AWAY, number(high_y - low_y), LETTER)
    room = LabelRoom(_wide(items, 15.0), items)
    first = center.vertices[0]
    items += room.label(Text(0.0, 0.0, "START", LETTER, bold=True), at(first.y, first.z), deep / 2.0 / n)
    place = 0
    for one in center.segments[:-1]:
        if one.sweep:
            place += 1
            items += room.label(Text(0.0, 0.0, f"B{place}", LETTER), at(*one.at(0.5)), deep / 2.0 / n)
    return block_of(items)


def isometric(path: Path) -> Block:
    """The centerline seen isometrically, not to scale: where it starts, and its bends by number."""
    turned = [(run, _isometric(run.points)) for run in runs(path)]
    points = np.concatenate([flat for _run, flat in turned])
    scale = ISOMETRIC / max(float(np.ptp(points[:, 0])), float(np.ptp(points[:, 1])), 1.0)
    items: list[Primitive] = [Polyline(tuple((scale * u, scale * v) for u, v in flat.tolist())) for _run, flat in turned]
    start = float(scale * turned[0][1][0][0]), float(scale * turned[0][1][0][1])
    items.append(Circle(*start, 1.0, "visible", "black"))
    room = LabelRoom(_wide(items, 15.0), items)
    items += room.label(Text(0.0, 0.0, "START", LETTER, bold=True), start, 1.0)
    for run, flat in turned:
        if run.bend >= 0:
            u, v = (scale * flat[len(flat) // 2]).tolist()
            items += room.label(Text(0.0, 0.0, f"B{run.bend + 1}", LETTER), (u, v))
    x0, y0, x1, y1 = _bounds(items)
    return block_of([*items, Text(x0, y0 - 2.0 - LETTER, "centerline, isometric, not to scale", LETTER)])


def _isometric(points: np.ndarray) -> np.ndarray:
    """ISO 5456-3: two axes 30 degrees off level, the third upright; the plane of the first bend stands, its first straight level."""
    along, up, aside = points[:, 1], -points[:, 0], points[:, 2]
    return np.column_stack([(along - aside) * math.cos(math.pi / 6.0), up + (along + aside) * 0.5])


HEAD = ("Bend", "Straight before", "Rotate", "Bend angle", "Starts at", "Ends at")
WIDTHS = (12.0, 29.0, 18.0, 21.0, 19.0, 18.0)


def bend_table(piece: Tube | Bar) -> Block | None:
    """What a bender sets, in the order of the bends, and where each starts and ends along the straight piece; None of a straight one."""
    path = path_of(piece)
    if path is None:
        return None
    shown = []
    for place, (bend, (start, end)) in enumerate(zip(path.bends, path.marks())):
        rotate = dimension.angle_text(path.rotations[place - 1], 1) if place else "-"
        shown.append((f"B{place + 1}", number(path.straights[place]), rotate, dimension.angle_text(bend, 1), number(start), number(end)))
    shown.append(("end", number(path.straights[-1]), "", "", "", number(path.length)))
    drawn, _low = sheet_format.table(0.0, 0.0, WIDTHS, f"Center-line radius {number(path.radius)}", HEAD, shown, row=4.6, letter=LETTER,
                                     right=(1, 2, 3, 4, 5))
    x0, y0, _x1, _y1 = _bounds(drawn)
    return block_of([*drawn, Text(x0, y0 - 1.5 - LETTER, "from START, without grip allowance; yours, added to each: ______", LETTER)])


def _bounds(items: Sequence[Primitive]) -> tuple[float, float, float, float]:
    limits = [bounds(item) for item in items]
    return min(b[0] for b in limits), min(b[1] for b in limits), max(b[2] for b in limits), max(b[3] for b in limits)


def _wide(items: Sequence[Primitive], by: float) -> Box:
    x0, y0, x1, y1 = _bounds(items)
    return Box(x0 - by, y0 - by, x1 + by, y1 + by)


