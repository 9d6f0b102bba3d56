"""Where the dimensions of a chassis sketch that is drawn here are written: few, and spread out, none over another, as on a drawing.

Lengths along the car are written below the sketch, the shortest on top; lengths upward each beside its element. The host writes every one
ten millimeters off its element, which in a car of three meters is one heap. Dimensions that nobody reads off are in the sketch's virtual
space, which the host shows on demand. A label that somebody has moved stays where it is.
"""
from __future__ import annotations

import io
import zipfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from xml.etree import ElementTree

from ..host import FreeCAD as App
from . import sketches

LINE, LETTER = 110.0, 45.0
"""mm of the sketch that a line of text is high and a letter wide where a whole car is seen in a small window (about 6 mm a pixel)."""
LEADER, LEANING, ARC = 130.0, 0.9, 150.0
"""mm of the leader of a diameter and its angle to the ground, rad; half the radius at which an angle is written, mm."""
ASIDE = ("track", "rail_right", "upper_right", "upright_right")
"""Elements of which no dimension is read off: how long the track is drawn, and what is as far to the right as its like is to the left."""
UNMOVED = ((10.0, 0.0), (10.0, 10.0))
"""Distance and position of a label that nobody has moved, the host's own: of a length or an angle, and of a diameter."""
_ENTRY = "Persistence.xml"


@dataclass(frozen=True)
class Box:
    """What a label covers, mm in the sketch."""
    left: float
    right: float
    low: float
    high: float

    def meets(self, other: Box) -> bool:
        """Whether one covers some of the other, not only touches it."""
        return min(self.right, other.right) - max(self.left, other.left) > 1e-6 and \
            min(self.high, other.high) - max(self.low, other.low) > 1e-6


@dataclass(frozen=True)
class Label:
    """A dimension of a length from an axis: number of its constraint, its direction, the point that it leads to, letters of its text."""
    number: int
    across: bool
    at: tuple[float, float]
    letters: int

    def box(self, offset: float) -> Box:
        """What it covers where it is written ``offset`` mm from the point's own level (to the left of its station, where it goes up)."""
        x, y = self.at
        # The host puts it to the left of the way that it is measured: over one to the right, beside one upward.
        x, y = (x / 2.0, y + offset * _sign(x)) if self.across else (x - offset * _sign(y), y / 2.0)
        along, up = (self.letters * LETTER, LINE) if self.across else (LINE, self.letters * LETTER)
        return Box(x - along / 2.0, x + along / 2.0, y - up / 2.0, y + up / 2.0)


def _sign(value: float) -> float:
    return 1.0 if value >= 0.0 else -1.0


def offsets(labels: Sequence[Label]) -> dict[int, float]:
    """Number of a constraint to where its label goes, mm from its point as ``Label.box`` takes it; no label covers another one."""
    found: dict[int, float] = {}
    placed: list[Box] = []
    across = sorted((one for one in labels if one.across), key=lambda one: abs(one.at[0]))
    upward = sorted((one for one in labels if not one.across), key=lambda one: abs(one.at[1]))
    for label in upward:            # beside its element, on one side or the other
        for step in range(1, 100):
            offset = (step // 2 + 0.5) * LINE * (1.0 if step % 2 else -1.0)
            if not any(label.box(offset).meets(other) for other in placed):
                break
        found[label.number] = offset
        placed.append(label.box(offset))
    level = min([0.0, *(box.low for box in placed), *(one.at[1] for one in across)])
    for label in across:            # each on a level of its own below everything
        level -= LINE
        found[label.number] = (level - label.at[1]) * _sign(label.at[0])
    return found


def spread(sketch) -> None:
    """Spread the labels of a sketch that nobody has moved."""
    with zipfile.ZipFile(io.BytesIO(bytes(sketch.dumpPropertyContent("Constraints")))) as held:
        root = ElementTree.fromstring(held.read(_ENTRY))
    rows = list(root.iter("Constrain"))
    fresh = [number for number, row in enumerate(rows) if (float(row.get("LabelDistance", "10")), float(row.get("LabelPosition", "0")))
             in UNMOVED and row.get("IsInVirtualSpace") == "0" and sketch.Constraints[number].Name]
    if not fresh:
        return
    aside = {number for number in fresh if _aside(sketch.Constraints[number])}
    where = offsets(tuple(_labels(sketch, [number for number in fresh if number not in aside])))
    for number in fresh:
        row, kind = rows[number], sketch.Constraints[number].Type
        if number in aside:
            row.set("IsInVirtualSpace", "1")
        elif number in where:
            row.set("LabelDistance", repr(where[number]))
        elif kind == "Diameter":
            row.set("LabelDistance", repr(LEADER))
            row.set("LabelPosition", repr(LEANING))
        elif kind == "Angle":
            row.set("LabelDistance", repr(ARC))
    store = io.BytesIO()
    with zipfile.ZipFile(store, "w") as made:
        made.writestr(_ENTRY, ElementTree.tostring(root))
    sketch.restorePropertyContent("Constraints", bytearray(store.getvalue()))


def _aside(one) -> bool:
    """Whether a dimension is none that is read off: it only names a line, or says how far one is drawn."""
    name = sketches.role_name(one.Name)
    return one.Type == "Distance" or name.startswith(ASIDE) or name in ("firewall_v", "firewall_end_v")


def _labels(sketch, numbers: Iterable[int]) -> Iterable[Label]:
    """The labels of lengths from the axes."""
    for number in numbers:
        one = sketch.Constraints[number]
        if one.Type in ("DistanceX", "DistanceY") and one.First == -1 and one.Second >= 0:
            point = sketch.getPoint(one.Second, one.SecondPos)
            value = App.Units.Quantity(one.Value, App.Units.Length).UserString
            yield Label(number, one.Type == "DistanceX", (point.x, point.y), len(value))
