"""Weld symbols of AWS A2.4 (as ISO 2553 system B): arrow, reference line, fillet on the arrow side or on both, all around, size, tail."""
from __future__ import annotations

from .dimension import arrow
from .drawing import Circle, Line, Polyline, Primitive, Text, text_width
from .sheet_format import Box

LETTER, LEG = 2.5, 2.6
"""Height of letters, and legs of the fillet's triangle, mm."""
START, AFTER, FORK, HIGH = 3.0, 3.0, 2.2, 8.6
"""Of the reference line before the size and behind the triangle; of the tail; height of the whole, mm."""


def width(size: str, tail: str) -> float:
    """Length of a symbol with its tail, mm."""
    return START + _sized(size) + LEG + AFTER + FORK + 1.0 + text_width(tail, LETTER)


def _sized(size: str) -> float:
    return text_width(size, LETTER) + 1.2 if size else 0.0


def symbol(box: Box, tip: tuple[float, float], size: str, tail: str, around: bool, both: bool) -> list[Primitive]:
    """A fillet's symbol in a rectangle of ``width`` by HIGH, its arrow to a tip outside it.

    size: of the fillet's leg, "" where none is said; tail: what is written at its end; around: weld all around; both: on both sides of the
    joint, else on the arrow's side.

    The arrow leaves the end that is nearer to the tip; the triangle's upright leg is on the left whichever that is, the size to its left.
    """
    y = (box.y0 + box.y1) / 2.0
    from_left = tip[0] <= (box.x0 + box.x1) / 2.0
    told = text_width(tail, LETTER)
    if from_left:
        near, far = box.x0, box.x1 - told - 1.0 - FORK
        x = near + START + _sized(size)
        fork, text, anchor = far + FORK, far + FORK + 1.0, "left"
    else:
        near, far = box.x1, box.x0 + told + 1.0 + FORK
        x = far + AFTER + _sized(size)
        fork, text, anchor = far - FORK, far - FORK - 1.0, "right"
    found: list[Primitive] = [Line(near, y, far, y, "outline"), Line(far, y, fork, y + FORK, "outline"),
                              Line(far, y, fork, y - FORK, "outline"), Line(near, y, *tip, "dimension"),
                              arrow(*tip, (tip[0] - near, tip[1] - y)), Text(text, y - LETTER / 2.0, tail, LETTER, anchor)]
    for side in (-1.0, 1.0) if both else (-1.0,):
        found.append(Polyline(((x, y), (x, y + side * LEG), (x + LEG, y)), "outline", True))
        if size:
            found.append(Text(x - 1.0, y + 0.9 if side > 0.0 else y - LETTER - 0.9, size, LETTER, "right"))
    if around:
        found.append(Circle(near, y, 1.1, "outline"))
    return found
