"""A picture of some parts among others as line drawing: those it is of are dark and seen whole, what is around them is pale.

For instruction steps and for where a part belongs; it is to no scale.
"""
from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from ..features.registry import declaration
from ..snapshot import PartView
from . import view
from .drawing import Primitive, SheetError
from .sheet_format import Box


@dataclass(frozen=True)
class Picture:
    """A view on paper: items in paper mm; how many times as large as the car; where the origin of the frame is."""
    items: tuple[Primitive, ...]
    frame: view.Frame
    scale: float
    x: float
    y: float

    def at(self, point: tuple[float, float, float]) -> tuple[float, float]:
        """The paper point of a car point, for balloons and arrows."""
        u, v = self.frame.at(point)
        return self.x + self.scale * u, self.y + self.scale * v


def picture(parts: Iterable[PartView], highlighted: Collection[str], room: Box, frame: view.Frame = view.ISOMETRIC,
            around: float | None = None) -> Picture:
    """Parts as large as a room on the paper allows; highlighted: keys of those that the picture is of, which only each other hide.

    around: mm in the car that are shown about the highlighted ones, None for all parts; lines are cut off there. SheetError where no
    highlighted part has a shape that is seen.
    """
    given = tuple(part for part in parts if not part.reference)
    chosen = view.of([part for part in given if part.key in highlighted], frame)
    if not chosen.seen:
        raise SheetError(f"picture: none of the parts {', '.join(sorted(highlighted))} has a shape; recompute the document and draw again")
    others = view.of(given, frame)
    return composed(chosen, view.View(frame, {key: one for key, one in others.seen.items() if key not in highlighted}), room, around)


def composed(chosen: view.View, context: view.View, room: Box, around: float | None = None) -> Picture:
    """A picture from what is seen of the highlighted parts and of the others, in one frame; ``around`` as of ``picture``."""
    frame, seen = chosen.frame, context.seen
    x0, y0, x1, y1 = chosen.box()
    if around is None:
        u0, v0, u1, v1 = context.box() if seen else (x0, y0, x1, y1)
        x0, y0, x1, y1 = min(x0, u0), min(y0, v0), max(x1, u1), max(y1, v1)
    else:
        x0, y0, x1, y1 = x0 - around, y0 - around, x1 + around, y1 + around
    scale = min(room.width / max(x1 - x0, 1e-6), room.height / max(y1 - y0, 1e-6))
    left = (room.x0 + room.x1) / 2.0 - scale * (x0 + x1) / 2.0
    low = (room.y0 + room.y1) / 2.0 - scale * (y0 + y1) / 2.0
    half_x, half_y = room.width / 2.0 / scale, room.height / 2.0 / scale
    window = Box((x0 + x1) / 2.0 - half_x, (y0 + y1) / 2.0 - half_y, (x0 + x1) / 2.0 + half_x, (y0 + y1) / 2.0 + half_y)
    pale = [piece for item in context.items(lambda _key: "pale") for piece in view.within(item, window)]
    items = [*pale, *chosen.items()]
    return Picture(tuple(view.moved(item, scale, left, low) for item in items), frame, scale, left, low)


def see_through(part: PartView) -> bool:
    """Whether what is behind a part is drawn too: what is drawn in phantom lines is only said to be there."""
    return declaration(part.kind, part.key).side_view.line == "phantom"
