"""A view on a sheet with all that belongs to it: coordinates below and to the right, marks above, cutting planes, caption and scale bar.

It has a size of its own, so that an allocator can find room for it; nothing of it stands outside of that.
"""
from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from .. import units
from . import sheet_format, traced, view
from .dimension import ARROW, GAP, arrow
from .drawing import Arc, Circle, Line, Polyline, Primitive, SheetError, Text, bounds, text_width
from .places import Place

LETTER = 2.5
"""Lettering of coordinates and marks, mm."""
PITCH, AIR = 1.35 * LETTER + 0.2, 0.5
"""Room of a line of lettering across it, and between two of them, mm."""
STRAIGHT, JOG = 2.0, 6.0
"""From the view to where extension lines turn toward their texts, and to where they meet them, mm."""
FLAG, ABOVE = 5.0, 10.0
"""Height of a mark's flag, and how far above the view the flags stand, mm."""
HEAD = 8.0
"""Room for the caption, mm."""
HATCH = 2.5
"""Distance of hatching lines, mm."""


@dataclass(frozen=True)
class Plane:
    """A cutting plane that a view shows: its letter, two car points on its trace in the view, and the way that its section looks, as a car
    direction."""
    letter: str
    start: tuple[float, float, float]
    end: tuple[float, float, float]
    looks: tuple[float, float, float]


@dataclass(frozen=True)
class Wanted:
    """What a view shows. kinds: line class by part key; below, right: what is dimensioned along the picture's right and up; origin: what
    the coordinates are from; marks: part key to mark; planes: cutting planes; scheme: what is drawn of numbers alone, in the picture's mm;
    scaled: whether it may be measured on paper."""
    title: str
    seen: view.View
    kinds: Mapping[str, str]
    below: Sequence[Place] = ()
    right: Sequence[Place] = ()
    origin: str = ""
    marks: Mapping[str, str] = field(default_factory=dict)
    planes: Sequence[Plane] = ()
    scheme: Sequence[Primitive] = ()
    scaled: bool = True


@dataclass(frozen=True)
class Block:
    """What is drawn, mm, from the lower left corner of its box; size of the box; marks that it shows."""
    items: tuple[Primitive, ...]
    width: float
    height: float
    marks: frozenset[str]


def value_text(value: float, system: str) -> str:
    """A coordinate in the car's unit and, in brackets, the other one, without units: ``83.375 [2117.73]``."""
    texts = [f"{value / units.INCH:.3f}", f"{value:.2f}"]
    texts = [text.lstrip("-") if float(text) == 0.0 else text for text in texts]
    return f"{texts[0]} [{texts[1]}]" if system == "in" else f"{texts[1]} [{texts[0]}]"


@dataclass(frozen=True)
class _Label:
    """A coordinate beside a view: its lines of text and the paper point that it is of."""
    lines: tuple[str, ...]
    at: tuple[float, float]

    @property
    def room(self) -> float:
        """Across its lines, mm."""
        return PITCH * len(self.lines)

    @property
    def length(self) -> float:
        return max(text_width(line, LETTER) for line in self.lines)


def _labels(given: Sequence[Place], along: float, system: str) -> list[_Label]:
    """Labels, at their car points' places yet to be found: of two lines where all find room so along the view, else of one."""
    texts = [(value_text(one.value, system), one.name) for one in given]
    two = len(given) * (2.0 * PITCH + AIR) <= along
    return [_Label(pair if two else ("  ".join(pair),), (0.0, 0.0)) for pair in texts]


def box_of(wanted: Wanted) -> tuple[float, float, float, float]:
    """Of what is seen, of what is drawn of numbers and of the points that are dimensioned, in the picture's mm."""
    u0, v0, u1, v1 = wanted.seen.box()
    limits = [bounds(item) for item in wanted.scheme]
    points = [wanted.seen.frame.at(place.point) for place in (*wanted.below, *wanted.right)]
    return (min([u0, *(b[0] for b in limits), *(p[0] for p in points)]), min([v0, *(b[1] for b in limits), *(p[1] for p in points)]),
            max([u1, *(b[2] for b in limits), *(p[0] for p in points)]), max([v1, *(b[3] for b in limits), *(p[1] for p in points)]))


def at_scale(wanted: Wanted, n: int, system: str) -> Block:
    """The block of a view at 1:n. SheetError where its texts find no room beside it at that scale."""
    u0, v0, u1, v1 = box_of(wanted)
    width, height = (u1 - u0) / n, (v1 - v0) / n
    below, right = _labels(wanted.below, width, system), _labels(wanted.right, height, system)
    deep = JOG + 1.0 + max((one.length for one in below), default=-JOG)
    wide = JOG + 1.0 + max((one.length for one in right), default=-JOG)
    # What does not find room along the view goes on beyond its ends.
    spare_x, spare_y = _spare(below, width), _spare(right, height)
    left, low = spare_x, max(deep, spare_y)
    scale = 1.0 / n
    x, y = left - u0 * scale, low - v0 * scale

    def on_paper(point: tuple[float, float, float]) -> tuple[float, float]:
        u, v = wanted.seen.frame.at(point)
        return x + scale * u, y + scale * v

    shown = [*wanted.seen.items(lambda key: wanted.kinds.get(key, "visible"), hidden=False), *wanted.scheme]
    items = [view.moved(item, scale, x, y) for item in shown]
    items += _hatched(wanted.seen, scale, x, y)
    below = [replace(one, at=on_paper(place.point)) for one, place in zip(below, wanted.below)]
    right = [replace(one, at=on_paper(place.point)) for one, place in zip(right, wanted.right)]
    items += [*_below(below, left, low, width), *_right(right, left + width, low, height)]
    flags, marks = _flags(wanted, picture_points(wanted.seen, scale, x, y), left, low + height, width, on_paper)
    top = low + height + (4.5 if wanted.origin else 0.0) + max(ABOVE + FLAG / 2.0 if flags else 0.0, spare_y)
    caption, room = _caption(wanted, n, left, top + 3.0, system)
    return Block((*items, *flags, *caption), max(left + width + max(wide, spare_x), left + room), top + HEAD, marks)


def _spare(labels: Sequence[_Label], along: float) -> float:
    """How far labels go on beyond each end of what they stand along, mm."""
    return max((sum(one.room + AIR for one in labels) - along) / 2.0 + 1.0, 2.0)


def _caption(wanted: Wanted, n: int, x: float, y: float, system: str) -> tuple[list[Primitive], float]:
    """Title, scale, a bar of a round length in the car, and what coordinates are from; and how wide they are."""
    told = f"{wanted.title}   1:{n}" if wanted.scaled else wanted.title
    items: list[Primitive] = [Text(x, y, told, 3.5, bold=True)]
    end = x + text_width(told, 3.5)
    if wanted.scaled:
        start, step = end + 6.0, units.INCH if system == "in" else 10.0
        count = next((c for c in (1, 2, 5, 10, 20, 50) if c * step / n >= 18.0), 100)
        length, name = count * step / n, f"{count} in" if system == "in" else f"{count * 10} mm"
        items.append(Line(start, y + 1.0, start + length, y + 1.0, "visible"))
        items += [Line(start + length * i / 4.0, y, start + length * i / 4.0, y + 2.0, "thin") for i in range(5)]
        items.append(Text(start + length + 1.5, y, name, LETTER))
        end = start + length + 1.5 + text_width(name, LETTER)
    if wanted.origin:
        items.append(Text(x, y - 4.2, wanted.origin, LETTER))
        end = max(end, x + text_width(wanted.origin, LETTER))
    return items, end - x


def _hatched(seen: view.View, scale: float, x: float, y: float) -> list[Primitive]:
    """Cut faces; neighbors slope the other way."""
    found: list[Primitive] = []
    for number, (_key, one) in enumerate(sorted((key, one) for key, one in seen.seen.items() if one.cut)):
        loops = [np.array(loop) * scale + (x, y) for loop in one.cut]
        found += [Line(*ends, "thin") for ends in traced.hatching(loops, HATCH, math.pi / 4.0 * (1 + 2 * (number % 2)))]
    return found


def _below(given: Sequence[_Label], left: float, low: float, width: float) -> list[Primitive]:
    """Coordinates below the view, read from the right."""
    spare = _spare(given, width)
    middles = sheet_format.spread([one.at[0] for one in given], [one.room for one in given], left - spare, left + width + spare, (), AIR)
    found: list[Primitive] = []
    for one, x in zip(given, middles):
        px, py = one.at
        found += [Line(px, py - GAP, px, low - STRAIGHT, "dimension"), Line(px, low - STRAIGHT, x, low - JOG, "dimension")]
        found += [Text(x - one.room / 2.0 + PITCH * (i + 0.5) + 0.375 * LETTER, low - JOG - 0.6, line, LETTER, "right", True)
                  for i, line in enumerate(one.lines)]
    return found


def _right(given: Sequence[_Label], right: float, low: float, height: float) -> list[Primitive]:
    """Coordinates to the right of the view."""
    spare = _spare(given, height)
    middles = sheet_format.spread([one.at[1] for one in given], [one.room for one in given], low - spare, low + height + spare, (), AIR)
    found: list[Primitive] = []
    for one, y in zip(given, middles):
        px, py = one.at
        found += [Line(px + GAP, py, right + STRAIGHT, py, "dimension"), Line(right + STRAIGHT, py, right + JOG, y, "dimension")]
        found += [Text(right + JOG + 0.6, y + one.room / 2.0 - PITCH * (i + 0.5) - 0.375 * LETTER, line, LETTER)
                  for i, line in enumerate(one.lines)]
    return found


def picture_points(seen: view.View, scale: float, x: float, y: float) -> dict[str, tuple[float, float]]:
    """Part key to the paper point at which a leader meets it: the middle of its longest visible line."""
    found = {}
    for key, one in seen.seen.items():
        lines = [*one.visible, *(Polyline(loop, "visible", True) for loop in one.cut)]
        if lines:
            px, py = _middle(max(lines, key=_length))
            found[key] = (x + scale * px, y + scale * py)
    return found


def _length(item: Primitive) -> float:
    if isinstance(item, Line):
        return math.hypot(item.x1 - item.x0, item.y1 - item.y0)
    if isinstance(item, Polyline):
        return sum(math.dist(a, b) for a, b in pairwise(item.points))
    return item.radius * (math.tau if isinstance(item, Circle) else abs(item.sweep)) if isinstance(item, Circle | Arc) else 0.0


def _middle(item: Primitive) -> tuple[float, float]:
    if isinstance(item, Line):
        return (item.x0 + item.x1) / 2.0, (item.y0 + item.y1) / 2.0
    if isinstance(item, Polyline):
        a, b = max(pairwise(item.points), key=lambda ends: math.dist(*ends))
        return (a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0
    if isinstance(item, Arc | Circle):
        turn = item.start + item.sweep / 2.0 if isinstance(item, Arc) else math.pi / 4.0
        return item.x + item.radius * math.cos(turn), item.y + item.radius * math.sin(turn)
    return item.x, item.y


def _flags(wanted: Wanted, points: Mapping[str, tuple[float, float]], left: float, top: float, width: float, on_paper
           ) -> tuple[list[Primitive], frozenset[str]]:
    """Marks of parts and letters of cutting planes above the view; which marks there are."""
    first: dict[str, tuple[float, float]] = {}
    for key in sorted(points):
        if key in wanted.marks:
            first.setdefault(wanted.marks[key], points[key])
    planes = [(plane, on_paper(plane.start), on_paper(plane.end)) for plane in wanted.planes]
    named = [*((plane.letter, end[0]) for plane, _start, end in planes), *((mark, at[0]) for mark, at in first.items())]
    if not named:
        return [], frozenset()
    y = top + ABOVE
    widths = [flag_width(text) for text, _ in named]
    try:
        middles = sheet_format.spread([x for _, x in named], widths, left - 1.0, left + width + 1.0, (), 0.8)
    except SheetError:
        raise SheetError(f"{wanted.title}: {len(named)} marks find no room above the view; use a larger sheet") from None
    found: list[Primitive] = []
    for (plane, start, end), x in zip(planes, middles):
        found += _plane(plane, start, end, x, y, wanted.seen.frame)
    for (mark, at), x, wide in zip(first.items(), middles[len(planes):], widths[len(planes):]):
        found += flag(mark, x, y, wide, at)
    return found, frozenset(first)


def flag_width(mark: str) -> float:
    """Width of a mark's frame, mm."""
    return text_width(mark, LETTER) + 3.2


def flag(mark: str, x: float, y: float, width: float, at: tuple[float, float], inside: bool = False) -> list[Primitive]:
    """A mark in a frame around (x, y), with a leader to a point above or below it that ends in a small arrow on a line, or in a dot
    inside an outline."""
    half, low = width / 2.0, y - FLAG / 2.0
    foot = (min(max(at[0], x - half + 1.0), x + half - 1.0), low if at[1] < y else low + FLAG)
    way = (at[0] - foot[0], at[1] - foot[1])
    head = arrow(at[0], at[1], way)
    small = tuple((at[0] + (px - at[0]) * 0.6, at[1] + (py - at[1]) * 0.6) for px, py in head.points)
    return [Polyline(((x - half, low), (x + half, low), (x + half, low + FLAG), (x - half, low + FLAG)), "outline", True, "white"),
            Text(x, y - LETTER / 2.0, mark, LETTER, "middle"), Line(*foot, *at, "thin"),
            Circle(*at, 0.5, "thin", "black") if inside else replace(head, points=small, kind="thin")]


def _plane(plane: Plane, start: tuple[float, float], end: tuple[float, float], x: float, y: float, frame: view.Frame) -> list[Primitive]:
    """A cutting plane: its trace over the whole view, the way that its section looks, and its letter."""
    (sx, sy), (ex, ey) = start, end
    size = math.hypot(ex - sx, ey - sy)
    ux, uy = (ex - sx) / size, (ey - sy) / size
    looks = frame.seen(np.array(plane.looks) + frame.origin)[:2]
    way = 1.0 if looks @ np.array([uy, -ux]) > 0.0 else -1.0
    hx, hy = uy * way, -ux * way
    tip = (ex + hx * (ARROW + 3.0), ey + hy * (ARROW + 3.0))
    return [Line(sx, sy, ex, ey, "centre"), Line(ex, ey, *tip, "outline"), arrow(*tip, (hx, hy)),
            Line(ex, ey, x, y - FLAG / 2.0, "thin"), Circle(x, y, FLAG / 2.0, "outline", "white"),
            Text(x, y - LETTER / 2.0, plane.letter, LETTER, "middle", bold=True)]

