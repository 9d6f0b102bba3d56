"""What is cut out of a flat, named and located: every hole by a letter for its size and a number, from a datum that tape and caliper reach.

Letters I, O and Q are left out, as ASME Y14.2 does. The datum is the lower left corner of the flat's box: X counts from its leftmost point
and Y from its lowest.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .. import units
from ..geometry.outline import Circle, Flat, Loop
from ..geometry.piece import Line2
from . import sheet_format
from .block import Block
from .block import of as block_of

LETTERS = "ABCDEFGHJKLMNPRSTUVWXYZ"
SAME = 1e-4
"""mm by which holes of one size may differ (numerical)."""
ROW = 4.6
WIDTHS = (13.0, 20.0, 20.0, 30.0, 10.0)
HEAD = ("Hole", "X", "Y", "Size", "Qty")


@dataclass(frozen=True)
class Opening:
    """One hole. tag: letter of its size and number; x, y: from the datum, of its middle, or of the middle of its box where it is not round;
    diameter: 0 where it is not round; width, height: of its box; all mm; count: how many there are of its letter."""
    tag: str
    x: float
    y: float
    diameter: float
    width: float
    height: float
    count: int

    @property
    def size(self) -> str:
        """Its size as it is written."""
        return f"⌀{number(self.diameter)}" if self.diameter else f"{number(self.width)} × {number(self.height)}"


def number(value: float) -> str:
    """A length without its unit, which the title block says: inches to 0.001, millimeters to 0.01."""
    # What two ways of computing leave in the last digits must not turn a half up here and down there.
    shown = f"{round(value, 9):.2f}" if units.reading() == "mm" else f"{round(value / units.INCH, 9):.3f}"
    return shown[1:] if shown[0] == "-" and not float(shown) else shown


def openings(flat: Flat) -> tuple[Opening, ...]:
    """What is cut out of a flat, the smallest first, each size from left to right."""
    low_x, low_y, _high_x, _high_y = flat.bounds
    sizes: list[list[Circle | Loop]] = []
    for item in sorted(flat.inner, key=_order):
        if sizes and _same(sizes[-1][0], item):
            sizes[-1].append(item)
        else:
            sizes.append([item])
    found = []
    for letter, same in enumerate(sizes):
        for place, item in enumerate(sorted(same, key=lambda item: (round(_middle(item)[0], 3), _middle(item)[1])), 1):
            x0, y0, x1, y1 = item.bounds
            x, y = _middle(item)
            found.append(Opening(f"{_letter(letter)}{place}", x - low_x, y - low_y, item.diameter if isinstance(item, Circle) else 0.0,
                                 x1 - x0, y1 - y0, len(same)))
    return tuple(found)


def _letter(place: int) -> str:
    return LETTERS[place] if place < len(LETTERS) else LETTERS[place // len(LETTERS) - 1] + LETTERS[place % len(LETTERS)]


def _order(item: Circle | Loop) -> tuple[bool, float, float]:
    x0, y0, x1, y1 = item.bounds
    return isinstance(item, Loop), round(x1 - x0, 3), round(y1 - y0, 3)


def _same(a: Circle | Loop, b: Circle | Loop) -> bool:
    (ax0, ay0, ax1, ay1), (bx0, by0, bx1, by1) = a.bounds, b.bounds
    return (type(a) is type(b) and abs(ax1 - ax0 - bx1 + bx0) < SAME and abs(ay1 - ay0 - by1 + by0) < SAME
            and abs(a.area - b.area) < SAME * max(1.0, a.perimeter))


def _middle(item: Circle | Loop) -> tuple[float, float]:
    x0, y0, x1, y1 = item.bounds
    return (x0 + x1) / 2.0, (y0 + y1) / 2.0


def tables(found: Sequence[Opening], lines: Sequence[tuple[str, Line2]], height: float) -> list[Block]:
    """The hole table in pieces no higher than a height in mm; lines: names and ends, from the datum, of what is no hole."""
    shown = [(one.tag, number(one.x), number(one.y), one.size, str(one.count) if one.tag.lstrip(LETTERS) == "1" else "") for one in found]
    for name, ends in lines:
        shown += [(f"{name}{place}", number(x), number(y), "", "") for place, (x, y) in zip("ab", ends)]
    return split(WIDTHS, HEAD, shown, height, right=(1, 2, 4))


def split(widths: tuple[float, ...], head: tuple[str, ...], rows: Sequence[tuple[str, ...]], height: float,
          right: tuple[int, ...]) -> list[Block]:
    """A table of a part drawing in pieces of about equal length, none higher than a height in mm; right: columns set to the right."""
    each = max(1, int((height - 6.0) / ROW) - 1)
    count = -(-len(rows) // each)
    each = -(-len(rows) // count) if count else each
    return [block_of(sheet_format.table(0.0, 0.0, widths, "", head, rows[start:start + each], row=ROW, letter=2.5, right=right)[0])
            for start in range(0, len(rows), each)]
