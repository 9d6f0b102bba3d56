"""Where labels find room: a text goes to the nearest free place around what it names, with a leader where that is not beside it."""
from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from itertools import pairwise

import numpy as np

from .drawing import Line, Primitive, SheetError, Text, chords
from .sheet_format import Box

CELL, STEP = 0.5, 0.2
"""Side of the cells in which taken paper is kept, and of the steps in which lines are followed, mm (numerical)."""
AIR = 0.4
"""Least distance between a label and what is around it, mm."""
DISTANCES = (0.8, 2.0, 4.0, 6.5, 9.5, 13.0, 18.0, 24.0, 32.0)
"""How far from what it names a label is tried, mm."""
FAR = 7.0, 10.0, 14.0, 19.0, 25.0, 32.0, 40.0
"""The same for what points at something with an arrow."""
LEADER = 3.0
"""Distance beyond which a label has a leader, mm."""
DIRECTIONS = tuple(math.pi / 4.0 + math.tau * i / 16 for i in range(16))


class LabelRoom:
    """A rectangle of paper and what of it is taken by lines and by texts."""

    def __init__(self, box: Box, items: Iterable[Primitive] = ()):
        self.box = box
        shape = math.ceil(box.height / CELL) + 1, math.ceil(box.width / CELL) + 1
        self._lines, self._texts = np.zeros(shape, bool), np.zeros(shape, bool)
        self.take(items)

    def take(self, items: Iterable[Primitive]) -> None:
        """Say that paper is taken by items."""
        lines: list[tuple[tuple[float, float], tuple[float, float]]] = []
        for item in items:
            if isinstance(item, Text):
                self._texts[self._cells(item.box)] = True
            else:
                lines += pairwise(chords(item))
        if lines:
            self._lines[self._along(np.array(lines))] = True

    def label(self, text: Text, at: tuple[float, float], radius: float = 0.0) -> list[Primitive]:
        """A text, wherever it stands, set near a point that it names, or near the rim of a circle around it: text, and leader where it has
        one. What it takes is taken. SheetError where it finds no room."""
        low_x, low_y, high_x, high_y = text.box
        for box, way, distance in self._around(high_x - low_x, high_y - low_y, at, radius):
            found: list[Primitive] = [replace(text, x=text.x + box.x0 - low_x, y=text.y + box.y0 - low_y)]
            if distance > LEADER:
                found.append(Line(at[0] + radius * way[0], at[1] + radius * way[1],
                                  at[0] + (radius + distance - AIR) * way[0], at[1] + (radius + distance - AIR) * way[1], "thin"))
            if self._takes(found):
                return found
        raise SheetError(f"the label {text.text!r} finds no room")

    def group(self, wide: float, high: float, at: tuple[float, float], drawn: Callable[[Box], list[Primitive]],
              what: str) -> list[Primitive]:
        """What is drawn in a rectangle of a size in mm, wherever that finds room beside a point at which its nearer end points. what: it
        is, for the sentence of the SheetError where it finds no room."""
        for distance in FAR:
            for turn in DIRECTIONS:
                x, y = at[0] + distance * math.cos(turn), at[1] + distance * math.sin(turn) - high / 2.0
                box = Box(x, y, x + wide, y + high) if x >= at[0] else Box(x - wide, y, x, y + high)
                if self._free(box) and self._takes(found := drawn(box)):
                    return found
        raise SheetError(f"{what} finds no room")

    def _around(self, wide: float, high: float, at: tuple[float, float], radius: float
                ) -> Iterator[tuple[Box, tuple[float, float], float]]:
        """Free rectangles around a circle, the nearest first: each with its direction from there and its distance from the rim."""
        for distance in DISTANCES:
            for turn in DIRECTIONS:
                way = math.cos(turn), math.sin(turn)
                # The middle of the rectangle so far off that its rim is that distance from the circle.
                off = radius + distance + min(wide / 2.0 / max(abs(way[0]), 1e-9), high / 2.0 / max(abs(way[1]), 1e-9))
                x, y = at[0] + off * way[0] - wide / 2.0, at[1] + off * way[1] - high / 2.0
                if self._free(box := Box(x, y, x + wide, y + high)):
                    yield box, way, distance

    def _takes(self, items: list[Primitive]) -> bool:
        """Take what items cover, unless one of their lines runs through a text that stands already."""
        lines = np.array([pair for item in items if isinstance(item, Line) for pair in pairwise(chords(item))])
        if len(lines) and self._texts[self._along(lines)].any():
            return False
        self.take(items)
        return True

    def _free(self, box: Box) -> bool:
        if box.x0 < self.box.x0 or box.y0 < self.box.y0 or box.x1 > self.box.x1 or box.y1 > self.box.y1:
            return False
        cells = self._cells((box.x0 - AIR, box.y0 - AIR, box.x1 + AIR, box.y1 + AIR))
        return not (self._lines[cells].any() or self._texts[cells].any())

    def _cells(self, box: tuple[float, float, float, float]) -> tuple[slice, slice]:
        x0, y0, x1, y1 = box
        return (slice(max(0, math.floor((y0 - self.box.y0) / CELL)), max(0, math.ceil((y1 - self.box.y0) / CELL))),
                slice(max(0, math.floor((x0 - self.box.x0) / CELL)), max(0, math.ceil((x1 - self.box.x0) / CELL))))

    def _along(self, lines: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Rows and columns of the cells along lines (n, 2, 2), those outside left out."""
        steps = np.ceil(np.linalg.norm(lines[:, 1] - lines[:, 0], axis=1) / STEP).astype(int) + 1
        # The steps of all lines, one after the other, each counted from 0 to 1 of its line.
        place = np.arange(steps.sum()) - np.repeat(np.cumsum(steps) - steps, steps)
        share = (place / np.maximum(np.repeat(steps, steps) - 1, 1))[:, None]
        points = np.repeat(lines[:, 0], steps, axis=0) + share * np.repeat(lines[:, 1] - lines[:, 0], steps, axis=0)
        columns, rows = np.floor((points - (self.box.x0, self.box.y0)) / CELL).astype(int).T
        inside = (rows >= 0) & (columns >= 0) & (rows < self._lines.shape[0]) & (columns < self._lines.shape[1])
        return rows[inside], columns[inside]
