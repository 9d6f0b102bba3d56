"""Flags: short texts in frames beside a picture, each with a leader to what it names, in a strip in which none covers another. Pure."""
from __future__ import annotations

from collections.abc import Sequence

from .drawing import Line, Polyline, Primitive, Text, text_width
from .sheet_format import spread

LETTER, HEIGHT, STRIP = 2.5, 4.6, 9.0
"""Lettering, height of a flag, and of a strip of flags with its leaders, mm."""


def strip(texts: Sequence[str], targets: Sequence[tuple[float, float]], low: float, high: float, y: float, below: bool) -> list[Primitive]:
    """Flags from x = low to x = high whose lower edge is at y, each as near above its target, or below it, as the others allow. SheetError
    where they do not fit beside each other."""
    widths = [text_width(text, LETTER) + 3.0 for text in texts]
    found: list[Primitive] = []
    for text, width, target, x in zip(texts, widths, targets, spread([x for x, _y in targets], widths, low, high)):
        half, edge = width / 2.0, y + HEIGHT if below else y
        found += [Polyline(((x - half, y), (x + half, y), (x + half, y + HEIGHT), (x - half, y + HEIGHT)), "outline", True),
                  Text(x, y + HEIGHT / 2.0 - LETTER / 2.0, text, LETTER, "middle", bold=True), Line(x, edge, *target, "thin")]
    return found
