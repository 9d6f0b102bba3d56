"""Blocks: views, tables and lines of text as they come from what draws them, each in a rectangle of its own, set into a frame one after
the other.
"""
from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from .drawing import Arc, Circle, Line, Polyline, Primitive, Text, bounds, wrapped
from .sheet_format import Box

GAP = 7.0
"""Between blocks, mm."""


@dataclass(frozen=True)
class Block:
    """Items and the rectangle that they take up, mm of paper, their origin anywhere."""
    items: tuple[Primitive, ...]
    box: Box

    def moved(self, x: float, y: float) -> list[Primitive]:
        """Its items with the upper left corner of its rectangle at a point."""
        return [shifted(item, x - self.box.x0, y - self.box.y1) for item in self.items]


def of(items: Iterable[Primitive]) -> Block:
    """A block as large as its items."""
    items = tuple(items)
    limits = [bounds(item) for item in items]
    return Block(items, Box(min(b[0] for b in limits), min(b[1] for b in limits), max(b[2] for b in limits), max(b[3] for b in limits)))


def shifted(item: Primitive, x: float, y: float) -> Primitive:
    """An item moved on the paper."""
    if isinstance(item, Line):
        return Line(item.x0 + x, item.y0 + y, item.x1 + x, item.y1 + y, item.kind)
    if isinstance(item, Polyline):
        return replace(item, points=tuple((u + x, v + y) for u, v in item.points))
    if isinstance(item, (Circle, Arc, Text)):
        return replace(item, x=item.x + x, y=item.y + y)
    raise TypeError(type(item).__name__)


def written(lines: Sequence[str], width: float, height: float = 2.5, bold: int = 0) -> Block:
    """Lines of text, wrapped to a width; the first so many are bold."""
    step = 1.65 * height
    shown = [(line, number < bold) for number, text in enumerate(lines) for line in wrapped(text, height, width)]
    items = [Text(0.0, -height - 0.3 - step * row, line, height, bold=strong) for row, (line, strong) in enumerate(shown)]
    return Block(tuple(items), Box(0.0, -step * len(shown) - 0.5, max((item.width for item in items), default=0.0), 0.0))


def below(upper: Block, lower: Block, gap: float = 2.0) -> Block:
    """One block under another, their left edges in line."""
    moved = lower.moved(upper.box.x0, upper.box.y0 - gap)
    return Block((*upper.items, *moved), Box(upper.box.x0, upper.box.y0 - gap - lower.box.height,
                                             upper.box.x0 + max(upper.box.width, lower.box.width), upper.box.y1))


def rows(blocks: Sequence[Block], room: Box) -> list[tuple[float, float]] | None:
    """Upper left corners of blocks that are set from left to right in rows, None where the room does not hold them."""
    found: list[tuple[float, float]] = []
    x, y, high = room.x0, room.y1, 0.0
    for one in blocks:
        if x > room.x0 and x + one.box.width > room.x1 + 1e-6:
            x, y, high = room.x0, y - high - GAP, 0.0
        if x + one.box.width > room.x1 + 1e-6 or y - one.box.height < room.y0 - 1e-6:
            return None
        found.append((x, y))
        x, high = x + one.box.width + GAP, max(high, one.box.height)
    return found
