"""The drawing model: what stands on a sheet, in paper millimeters, independent of any renderer and of the host.

Origin in the lower left corner of the trimmed sheet, x to the right, y up. Renderers (``qt``) draw what is here and decide
nothing; tests compare ``listing``. Line kinds and their widths: ISO 128-2, line group 0.5; lettering heights: ISO 3098.
"""
from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np


class SheetError(ValueError):
    """A sheet that cannot be drawn. One sentence: what was found, what is allowed, the way out."""


@dataclass(frozen=True)
class Pen:
    """How a kind of line is drawn: width in mm, dash, gap, dash, gap ... in mm (empty: continuous), and its shade, 0 black to 1 white."""
    width: float
    dashes: tuple[float, ...] = ()
    shade: float = 0.0


PENS = {
    "border": Pen(0.7),
    "visible": Pen(0.5),
    "outline": Pen(0.35),
    "hidden": Pen(0.25, (3.0, 0.75)),
    "centre": Pen(0.25, (6.0, 0.8, 0.4, 0.8)),
    "phantom": Pen(0.25, (6.0, 0.8, 0.4, 0.8, 0.4, 0.8)),
    "dimension": Pen(0.18),
    "thin": Pen(0.18),
    "pale": Pen(0.18, shade=0.55),
}
"""Line class to pen. Chassis tubes are drawn in ``outline``, so that the powertrain in ``visible`` stands out from them; what is only
around the parts that a picture is of is ``pale``."""


@dataclass(frozen=True)
class Line:
    """A straight line."""
    x0: float
    y0: float
    x1: float
    y1: float
    kind: str = "visible"


@dataclass(frozen=True)
class Arc:
    """Part of a circle, counterclockwise from ``start`` over ``sweep`` rad (negative: clockwise)."""
    x: float
    y: float
    radius: float
    start: float
    sweep: float
    kind: str = "visible"


@dataclass(frozen=True)
class Circle:
    """A circle; ``fill``: '' open, 'black' or 'white'."""
    x: float
    y: float
    radius: float
    kind: str = "visible"
    fill: str = ""


@dataclass(frozen=True)
class Polyline:
    """A chain of straight lines; ``fill`` as for a circle."""
    points: tuple[tuple[float, float], ...]
    kind: str = "visible"
    closed: bool = False
    fill: str = ""


@dataclass(frozen=True)
class Text:
    """One line of text. ``height``: of a capital, mm; (x, y): on the base line, at the left end, the middle or the right end
    as ``anchor`` says; ``turned``: a quarter turn counterclockwise, to be read from the right. It takes up no more than
    ``width``: a renderer whose letters are wider condenses them."""
    x: float
    y: float
    text: str
    height: float = 2.5
    anchor: str = "left"
    turned: bool = False
    bold: bool = False

    @property
    def width(self) -> float:
        """Length set aside for it, mm."""
        return text_width(self.text, self.height)

    @property
    def box(self) -> tuple[float, float, float, float]:
        """(x low, y low, x high, y high), descenders included."""
        back = {"left": 0.0, "middle": 0.5, "right": 1.0}[self.anchor] * self.width
        down, up = 0.30 * self.height, 1.05 * self.height
        if self.turned:
            return self.x - up, self.y - back, self.x + down, self.y - back + self.width
        return self.x - back, self.y - down, self.x - back + self.width, self.y + up


Primitive = Line | Arc | Circle | Polyline | Text


@dataclass(frozen=True)
class Sheet:
    """A finished sheet: file stem, title, trimmed size in mm, what stands on it, and its date as it is written
    in the title block (empty: none)."""
    name: str
    title: str
    width: float
    height: float
    items: tuple[Primitive, ...]
    issued: str = ""

    def texts(self) -> tuple[str, ...]:
        """Every text on the sheet."""
        return tuple(item.text for item in self.items if isinstance(item, Text))


# --------------------------------------------------------------------------------------------------------- lettering

# Advance of a letter over the height of a capital: the wider of the lettering font that comes with the host and 0.63;
# measured from that font. A font that runs wider (the fallback does) is condensed by the renderer.
_ADVANCES = {0.30: ".':!Iij|·,", 0.36: "();[]l", 0.46: "`{}1t", 0.53: '″"^°', 0.56: "crJ", 0.60: " f",
             0.64: "$*+-02<=>?\\_svxyz~±×", 0.68: "37aCEF/56Leknou9bdgh–pq48", 0.75: "STZKPR", 0.81: "BGDHNOUØQ",
             0.85: "#&AVXYw", 0.91: "mM⌀", 1.05: "%W", 1.15: "@→←"}
_ADVANCE = {letter: advance for advance, letters in _ADVANCES.items() for letter in letters}
_WIDEST = 1.15


def text_width(text: str, height: float) -> float:
    """Length in mm that a line of text with capitals of this height is given."""
    return height * _advance(text)


@lru_cache(maxsize=20_000)
def _advance(text: str) -> float:
    """The same over the height; what is laid out is measured again and again."""
    return sum(_ADVANCE.get(letter, _WIDEST) for letter in text)


def fitted(text: str, height: float, width: float) -> str:
    """The text, its end replaced by '...' where it is longer than a width in mm."""
    if text_width(text, height) <= width:
        return text
    while text and text_width(text + "...", height) > width:
        text = text[:-1].rstrip()
    return text + "..."


def wrapped(text: str, height: float, width: float) -> list[str]:
    """The text in lines no longer than a width in mm, broken between words."""
    lines: list[str] = []
    reached = 0.0
    for word in text.split():
        longer = reached
        for letter in f" {word}":
            longer += _ADVANCE.get(letter, _WIDEST)
        if lines and height * longer <= width:
            lines[-1] += f" {word}"
            reached = longer
        else:
            lines.append(word)
            reached = _advance(word)
    return lines


# ------------------------------------------------------------------------------------------------------- golden lists

# ------------------------------------------------------------------------------------------------------- collisions

def bounds(item: Primitive) -> tuple[float, float, float, float]:
    """(x low, y low, x high, y high) of an item without its line width."""
    if isinstance(item, Line):      # most are: asked first, and without calling anything
        x0, x1, y0, y1 = item.x0, item.x1, item.y0, item.y1
        return x0 if x0 <= x1 else x1, y0 if y0 <= y1 else y1, x1 if x0 <= x1 else x0, y1 if y0 <= y1 else y0
    if isinstance(item, Text):
        return item.box
    if isinstance(item, Polyline):
        xs, ys = zip(*item.points)
        return min(xs), min(ys), max(xs), max(ys)
    if isinstance(item, Circle):
        return item.x - item.radius, item.y - item.radius, item.x + item.radius, item.y + item.radius
    xs, ys = zip(*chords(item))
    return min(xs), min(ys), max(xs), max(ys)


def chords(item: Primitive) -> list[tuple[float, float]]:
    """Points along an item, mm: round ones as chords."""
    if isinstance(item, Line):
        return [(item.x0, item.y0), (item.x1, item.y1)]
    if isinstance(item, Polyline):
        return [*item.points, item.points[0]] if item.closed else list(item.points)
    if isinstance(item, Text):
        low_x, low_y, high_x, high_y = item.box
        return [(low_x, low_y), (high_x, low_y), (high_x, high_y), (low_x, high_y), (low_x, low_y)]
    start, sweep = (0.0, math.tau) if isinstance(item, Circle) else (item.start, item.sweep)
    steps = max(2, math.ceil(abs(sweep) / 0.1))
    return [(item.x + item.radius * math.cos(start + sweep * i / steps), item.y + item.radius * math.sin(start + sweep * i / steps))
            for i in range(steps + 1)]


def _enters(a: tuple[float, float], b: tuple[float, float], box: tuple[float, float, float, float]) -> bool:
    """Whether the line a-b passes through the inside of a box (Liang-Barsky clipping)."""
    first, last = 0.0, 1.0
    for start, step, low, high in ((a[0], b[0] - a[0], box[0], box[2]), (a[1], b[1] - a[1], box[1], box[3])):
        if abs(step) < 1e-12:
            if not low < start < high:
                return False
            continue
        near, far = sorted(((low - start) / step, (high - start) / step))
        first, last = max(first, near), min(last, far)
    return first < last


def collisions(sheet: Sheet) -> list[str]:
    """What makes a sheet unreadable, a sentence each: texts that overlap each other, are crossed by a line, or leave the sheet.

    Boxes are shrunk by a tenth of a millimeter, so that touching is no overlap. Empty: none.
    """
    found = []
    texts = [item for item in sheet.items if isinstance(item, Text) and item.text.strip()]
    boxes = [(x0 + 0.1, y0 + 0.1, x1 - 0.1, y1 - 0.1) for x0, y0, x1, y1 in (item.box for item in texts)]
    others = [item for item in sheet.items if not isinstance(item, Text)]
    limits, rivals = (np.array(some, float).reshape(-1, 4) for some in ([bounds(item) for item in others], boxes))
    for i, (text, box) in enumerate(zip(texts, boxes)):
        if box[0] < 0 or box[1] < 0 or box[2] > sheet.width or box[3] > sheet.height:
            found.append(f"the text {text.text!r} leaves the sheet")
        before = rivals[:i]
        found += [f"the texts {texts[j].text!r} and {text.text!r} overlap" for j in np.flatnonzero(
            (box[0] < before[:, 2]) & (before[:, 0] < box[2]) & (box[1] < before[:, 3]) & (before[:, 1] < box[3]))]
        near = np.flatnonzero((limits[:, 2] >= box[0]) & (limits[:, 0] <= box[2]) & (limits[:, 3] >= box[1]) & (limits[:, 1] <= box[3]))
        if any(_enters(a, b, box) for j in near for a, b in pairwise(chords(others[j]))):
            found.append(f"a line crosses the text {text.text!r}")
    return found
