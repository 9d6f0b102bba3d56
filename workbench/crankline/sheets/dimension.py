"""Dimensions between named points. A value is never measured on a picture: it comes with the datum points it was made from.

Arrowheads, extension lines and gaps after ISO 129-1; text above its dimension line, readable from below or from the right.
"""
from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from .. import units
from .drawing import Arc, Line, Polyline, Primitive, Text, text_width

ARROW, HALF_WIDTH = 3.0, 0.5
"""Arrowhead: length, and half its width at the back (about 20 degrees)."""
GAP, OVERRUN, TEXT_GAP = 1.0, 2.0, 0.9
"""Between feature and extension line; extension line beyond the dimension line; between line and text."""
HEIGHT = 3.5
"""Lettering of dimensions."""


@dataclass(frozen=True)
class Datum:
    """A named point: where it stands on the paper, mm. The name says what a dimension goes to, and is what tests look for."""
    name: str
    x: float
    y: float


def both_units(value: float, system: str = "in") -> str:
    """A length in both units, the car's own first: ``82.500 in [2095.50 mm]``."""
    metric, inch = f"{value:.2f} mm", units.inches(value)
    metric, inch = (text[1:] if float(text.split()[0]) == 0.0 and text[0] == "-" else text for text in (metric, inch))
    return f"{inch} [{metric}]" if system == "in" else f"{metric} [{inch}]"


def angle_text(value: float, places: int = 2) -> str:
    """An angle in degrees: ``2.00°``."""
    degrees = round(math.degrees(value), places) + 0.0
    return f"{degrees:.{places}f}°"


def arrow(x: float, y: float, toward: tuple[float, float]) -> Polyline:
    """An arrowhead with its tip at a point, pointing along a direction."""
    size = math.hypot(*toward)
    ux, uy = toward[0] / size, toward[1] / size
    bx, by = x - ARROW * ux, y - ARROW * uy
    return Polyline(((x, y), (bx - HALF_WIDTH * uy, by + HALF_WIDTH * ux), (bx + HALF_WIDTH * uy, by - HALF_WIDTH * ux)),
                    "dimension", True, "black")


def horizontal(a: Datum, b: Datum, y: float, text: str, height: float = HEIGHT) -> list[Primitive]:
    """The distance along x from a to b, its dimension line at height y (below or above both points); height: of its letters."""
    left, right = sorted((a, b), key=lambda d: d.x)
    found: list[Primitive] = [_extension(d.x, d.y, d.x, y) for d in (left, right)]
    return found + _measured(left.x, right.x, y, text, lambda u, v: (u, v), False, height)


def vertical(a: Datum, b: Datum, x: float, text: str, height: float = HEIGHT) -> list[Primitive]:
    """The distance along y from a to b, its dimension line at station x, read from the right; height: of its letters."""
    low, high = sorted((a, b), key=lambda d: d.y)
    found: list[Primitive] = [_extension(d.x, d.y, x, d.y) for d in (low, high)]
    return found + _measured(low.y, high.y, x, text, lambda u, v: (v, u), True, height)


def angle(apex: Datum, first: float, second: float, radius: float, text: str) -> list[Primitive]:
    """The angle at a point between the directions ``first`` and ``second`` (rad on paper), on an arc of a radius.

    A small angle gets its arrows from outside, and its text beyond the arc, beside the upper direction.
    """
    low, high = sorted((first, second))
    reach = 3.2 * ARROW / radius
    outside = (high - low) * radius < 4.0 * ARROW
    found: list[Primitive] = [Line(apex.x + (radius - OVERRUN - 3.0) * math.cos(d), apex.y + (radius - OVERRUN - 3.0) * math.sin(d),
                                   apex.x + (radius + OVERRUN) * math.cos(d), apex.y + (radius + OVERRUN) * math.sin(d), "dimension")
                              for d in (low, high)]
    for d, way in ((low, -1.0 if not outside else 1.0), (high, 1.0 if not outside else -1.0)):
        x, y = apex.x + radius * math.cos(d), apex.y + radius * math.sin(d)
        # A chord's direction: the back of the head sits on the arc, not beside it.
        turn = d - way * ARROW / radius / 2.0
        found.append(arrow(x, y, (-way * math.sin(turn), way * math.cos(turn))))
    if outside:
        found += [Arc(apex.x, apex.y, radius, low, -reach, "dimension"), Arc(apex.x, apex.y, radius, high, reach, "dimension")]
        end = high + reach
    else:
        found.append(Arc(apex.x, apex.y, radius, low, high - low, "dimension"))
        end = (low + high) / 2.0
    x, y = apex.x + radius * math.cos(end), apex.y + radius * math.sin(end)
    if outside:
        return [*found, Text(x, y + TEXT_GAP + 0.3 * HEIGHT, text, HEIGHT, "middle")]
    return [*found, Text(x + TEXT_GAP + 0.5, y - HEIGHT / 2.0, text, HEIGHT)]


def _extension(x0: float, y0: float, x1: float, y1: float) -> Line:
    span = math.hypot(x1 - x0, y1 - y0)
    if span <= GAP:
        return Line(x0, y0, x1, y1, "dimension")
    ux, uy = (x1 - x0) / span, (y1 - y0) / span
    return Line(x0 + GAP * ux, y0 + GAP * uy, x1 + OVERRUN * ux, y1 + OVERRUN * uy, "dimension")


def _measured(low: float, high: float, level: float, text: str,
              place: Callable[[float, float], tuple[float, float]], turned: bool, height: float) -> list[Primitive]:
    """Dimension line with arrows and text, along a direction that ``place`` (along, across) maps to the paper.

    Where arrows and text do not fit between the extension lines, the arrows come from outside, and the text goes beyond
    the upper end.
    """
    width = text_width(text, height)
    # Text above its line: for one that is read from the right, above is to the left.
    across = level + TEXT_GAP + 0.3 * height if not turned else level - TEXT_GAP - 0.3 * height
    found: list[Primitive] = []

    def line(first: float, last: float) -> Line:
        (x0, y0), (x1, y1) = place(first, level), place(last, level)
        return Line(x0, y0, x1, y1, "dimension")

    def head(at: float, way: float) -> Primitive:
        x, y = place(at, level)
        return arrow(x, y, place(way, 0.0))

    def lettering(at: float, anchor: str) -> Text:
        x, y = place(at, across)
        return Text(x, y, text, height, anchor, turned)

    if high - low >= width + 2.0 * ARROW:
        return [line(low, high), head(low, -1.0), head(high, 1.0), lettering((low + high) / 2.0, "middle")]
    if high - low >= 3.0 * ARROW:
        ends = ((low, -1.0), (high, 1.0))
        start = low
    else:
        ends = ((low, 1.0), (high, -1.0))
        start = low - 2.0 * ARROW
    found += [head(at, way) for at, way in ends]
    text_from = high + OVERRUN + TEXT_GAP + (2.0 * ARROW if start < low else 0.0)
    return [*found, line(start, text_from + width), lettering(text_from, "left")]
