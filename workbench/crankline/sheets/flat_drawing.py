"""The drawing of a piece cut from sheet: its flat with overall dimensions, where its holes are, bend and trim lines, and an end view; and
that of a section of a piece that is machined.

Up to so many holes are dimensioned from the datum (ordinates, ASME Y14.5: rectangular coordinate dimensioning without dimension lines);
more stand in a hole table. Nothing is measured on a picture: every number comes from the piece.
"""
from __future__ import annotations

import math
from collections.abc import Callable, Iterable

from ..geometry.outline import Circle as Hole
from ..geometry.outline import Flat, Loop, Segment
from ..geometry.piece import Section, Sheet
from . import dimension, profile, sheet_format
from .bent_path import Path, strip
from .block import Block
from .block import of as block_of
from .dimension import Datum
from .drawing import Arc, Circle, Line, Polyline, Primitive, Text, bounds, text_width
from .hole_table import Opening, number, openings
from .label_room import LabelRoom
from .sheet_format import Box

MOST = 6
"""Holes that are dimensioned one by one; more of them stand in a table."""
LETTER = 2.5
AWAY, CLEAR = 7.0, 2.0
"""Of dimension lines from the flat; between a flat and its ordinates, mm."""
PITCH = 3.6
"""From one ordinate to the next, mm."""
ASIDE = 30.0
"""How far beside everything else a label may stand, mm."""
CROSS = 1.2
"""How far center lines stand out of a hole, mm."""


def tabled(piece: Sheet | Section) -> bool:
    """Whether its holes stand in a table."""
    return len(piece.flat.inner) > MOST or any(isinstance(item, Loop) for item in piece.flat.inner)


def view(piece: Sheet | Section, n: float) -> Block:
    """The piece or the section at 1:n. SheetError where a label finds no room at that scale."""
    low_x, low_y, high_x, high_y = piece.flat.bounds
    wide, high = (high_x - low_x) / n, (high_y - low_y) / n

    def at(x: float, y: float) -> tuple[float, float]:
        return (x - low_x) / n, (y - low_y) / n

    items = [*outline(piece.flat, at, n), *_centers(piece.flat, at, n)]
    lines = _lines(piece, at) if isinstance(piece, Sheet) else []
    items += [line for line, _told in lines]
    found = openings(piece.flat)
    items += _overall(piece.flat, at, wide, high)
    if isinstance(piece, Sheet):
        items += _end_view(piece, n, wide, high)
    if not tabled(piece):
        items += _ordinates(found, [line for line, _told in lines], n, high)
    items += _datum()
    room = LabelRoom(_around(items, ASIDE), items)
    for line, told in lines:
        if told:
            items += room.label(Text(0.0, 0.0, told, LETTER), ((line.x0 + line.x1) / 2.0, (line.y0 + line.y1) / 2.0))
    for one in found:
        where, radius = (one.x / n, one.y / n), max(one.width, one.height) / 2.0 / n if one.diameter else 0.0
        if tabled(piece):
            items += room.label(Text(0.0, 0.0, one.tag, LETTER), where, radius)
        elif one.tag[1:] == "1":
            told = one.size if one.count == 1 else f"{one.count}× {one.size}"
            items += room.label(Text(0.0, 0.0, told, LETTER), where, radius)
    if profile.box_radius(piece.flat.outer) is None:
        for corner in profile.corners(piece.flat.outer)[0]:
            items += room.label(Text(0.0, 0.0, corner.name, LETTER), at(*corner.at))
    return block_of(items)


def outline(flat: Flat, at: Callable[[float, float], tuple[float, float]], n: float) -> list[Primitive]:
    """The outline of a flat and of what is cut out of it."""
    found: list[Primitive] = []
    for item in (flat.outer, *flat.inner):
        found += [Circle(*at(item.y, item.z), item.diameter / 2.0 / n)] if isinstance(item, Hole) else along(item.segments, at, n)
    return found


def along(segments: Iterable[Segment], at: Callable[[float, float], tuple[float, float]], n: float,
          kind: str = "visible") -> list[Primitive]:
    """Lines and arcs of a loop."""
    found: list[Primitive] = []
    for one in segments:
        if one.sweep:
            start = math.atan2(one.z0 - one.zc, one.y0 - one.yc)
            found.append(Arc(*at(one.yc, one.zc), one.radius / n, start, one.sweep, kind))
        else:
            found.append(Line(*at(one.y0, one.z0), *at(one.y1, one.z1), kind))
    return found


def _centers(flat: Flat, at: Callable[[float, float], tuple[float, float]], n: float) -> list[Primitive]:
    found: list[Primitive] = []
    for hole in flat.holes:
        x, y = at(hole.y, hole.z)
        reach = hole.diameter / 2.0 / n + CROSS
        kind = "centre" if reach > 6.0 else "thin"
        found += [Line(x - reach, y, x + reach, y, kind), Line(x, y - reach, x, y + reach, kind)]
    return found


def _lines(piece: Sheet, at: Callable[[float, float], tuple[float, float]]) -> list[tuple[Line, str]]:
    """Bend and trim lines, and what is written at them: what the bends have in common at the first of them alone."""
    found = []
    for place, (a, b) in enumerate(piece.bends):
        angle = piece.bend_angles[place] if place < len(piece.bend_angles) else None
        told = "BEND" if len(piece.bends) == 1 else f"B{place + 1}"
        if angle is not None:
            told += f" {abs(math.degrees(angle)):.1f}° {'UP' if angle > 0.0 else 'DOWN'}, INSIDE R {number(piece.bend_radius)}"
        found.append((Line(*at(*a), *at(*b), "centre"), told))
    return found + [(Line(*at(*a), *at(*b), "phantom"), "TRIM AT FIT-UP") for a, b in piece.trims]


def _overall(flat: Flat, at: Callable[[float, float], tuple[float, float]], wide: float, high: float) -> list[Primitive]:
    """Overall width above and height on the right, from the points that make them."""
    points = [at(y, z) for y, z in flat.outer.points()]
    left = max((p for p in points if p[0] < 1e-3), key=lambda p: p[1], default=(0.0, high))
    right = max((p for p in points if p[0] > wide - 1e-3), key=lambda p: p[1], default=(wide, high))
    low = max((p for p in points if p[1] < 1e-3), key=lambda p: p[0], default=(wide, 0.0))
    top = max((p for p in points if p[1] > high - 1e-3), key=lambda p: p[0], default=(wide, high))
    low_x, low_y, high_x, high_y = flat.bounds
    return [*dimension.horizontal(Datum("left end", 0.0, left[1]), Datum("right end", wide, right[1]), high + AWAY,
                                  number(high_x - low_x), LETTER),
            *dimension.vertical(Datum("lower end", low[0], 0.0), Datum("upper end", top[0], high), wide + AWAY,
                                number(high_y - low_y), LETTER)]


def _end_view(piece: Sheet, n: float, wide: float, high: float) -> list[Primitive]:
    """What is seen along the sheet from the right: its thickness, and what its bends make of it where all of them run across."""
    x = wide + AWAY + 9.0
    profile = folded(piece)
    if profile is None:
        thick = piece.thickness / n
        found: list[Primitive] = [Polyline(((x, 0.0), (x + thick, 0.0), (x + thick, high), (x, high)), "visible", True)]
        return [*found, *dimension.horizontal(Datum("face", x, high), Datum("back", x + thick, high), high + AWAY,
                                              number(piece.thickness), LETTER)]
    low_x, low_y, high_x, high_y = profile.bounds
    shown = outline(Flat(profile), lambda u, v: (x + (u - low_x) / n, (v - low_y) / n), n)
    right, top = x + (high_x - low_x) / n, (high_y - low_y) / n
    return [*shown, *dimension.horizontal(Datum("left", x, top), Datum("right", right, top), top + AWAY, number(high_x - low_x), LETTER),
            *dimension.vertical(Datum("low", right, 0.0), Datum("top", right, top), right + AWAY, number(high_y - low_y), LETTER),
            Text(x, -2.0 - LETTER, f"bent, {number(piece.thickness)} thick", LETTER)]


def folded(piece: Sheet) -> Loop | None:
    """The sheet's section when it is bent, mm, its first leg upright; None where it is not bent, its bends are not known, or they do not
    all run straight across it. The neutral axis is taken at half the thickness, as flats do (``tie_tab.developed_length``)."""
    if not piece.bends or len(piece.bend_angles) != len(piece.bends):
        return None
    if any(abs(a[1] - b[1]) > 1e-6 for a, b in piece.bends):
        return None
    _x0, low, _x1, high = piece.flat.bounds
    radius = piece.bend_radius + piece.thickness / 2.0
    bends = sorted(zip((line[0][1] for line in piece.bends), piece.bend_angles))
    straights, at = [], low
    for middle, angle in bends:
        half = radius * abs(angle) / 2.0
        straights.append(middle - half - at)
        at = middle + half
    straights.append(high - at)
    if min(straights) < 0.0:
        return None
    return strip(Path(tuple(straights), tuple(angle for _at, angle in bends), (0.0,) * (len(bends) - 1), radius), piece.thickness,
                 math.pi / 2.0)


def _ordinates(found: Iterable[Opening], lines: list[Line], n: float, high: float) -> list[Primitive]:
    """X of every hole below the flat and Y on its left, with those of lines that run along an axis."""
    found = list(found)
    across = {0.0: 0.0, **{round(one.x / n, 3): one.x for one in found}}
    up = {0.0: 0.0, **{round(one.y / n, 3): one.y for one in found}}
    low = {round(one.x / n, 3): min(other.y for other in found if abs(other.x - one.x) < 1e-3 * n) / n for one in found}
    left = {round(one.y / n, 3): min(other.x for other in found if abs(other.y - one.y) < 1e-3 * n) / n for one in found}
    for line in lines:
        if abs(line.y0 - line.y1) < 1e-6:
            up[round(line.y0, 3)], left[round(line.y0, 3)] = line.y0 * n, min(line.x0, line.x1)
        elif abs(line.x0 - line.x1) < 1e-6:
            across[round(line.x0, 3)], low[round(line.x0, 3)] = line.x0 * n, min(line.y0, line.y1)
    items: list[Primitive] = []
    if len(across) > 1:
        items += _row(across, low, lambda u, v: (u, v), True)
    if len(up) > 1:
        items += _row(up, left, lambda u, v: (v, u), False)
    return items


def _row(values: dict[float, float], starts: dict[float, float], place: Callable[[float, float], tuple[float, float]],
         turned: bool) -> list[Primitive]:
    """One row of ordinates: a line from each feature, bent where labels are pushed apart, and its label at the end."""
    at = sorted(values)
    reach = max(len(at) * PITCH, max(at)) + 20.0
    spread = sheet_format.spread(at, [PITCH] * len(at), -reach, reach, (), 0.0)
    widest = max(text_width(number(value), LETTER) for value in values.values())
    found: list[Primitive] = []
    for u, label in zip(at, spread):
        knee, end = place(u, -CLEAR), place(label, -CLEAR - 3.0)
        found += [Line(*place(u, starts.get(u, 0.0)), *knee, "dimension"), Line(*knee, *end, "dimension")]
        x, y = place(label, -CLEAR - 3.8)
        told = number(values[u])
        found.append(Text(x + LETTER / 2.0, y - widest, told, LETTER, "left", True) if turned else
                     Text(x, y - LETTER / 2.0, told, LETTER, "right"))
    return found


def _datum() -> list[Primitive]:
    """The datum corner: a small open circle over its point."""
    return [Circle(0.0, 0.0, 1.0, "thin")]


def _around(items: Iterable[Primitive], by: float) -> Box:
    limits = [bounds(item) for item in items]
    return Box(min(b[0] for b in limits) - by, min(b[1] for b in limits) - by,
               max(b[2] for b in limits) + by, max(b[3] for b in limits) + by)
