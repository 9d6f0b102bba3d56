"""A made part as it is in the car: seen isometrically, dark, with what it is welded to pale around it, and a weld symbol at each joint."""
from __future__ import annotations

from dataclasses import replace
from typing import Any

from ..features.part_kind import Weld
from ..snapshot import PartView, Snapshot
from . import view, weld_symbol
from .block import Block
from .block import of as block_of
from .drawing import Primitive, SheetError, Text, bounds, fitted, text_width
from .hole_table import number
from .label_room import LabelRoom
from .part_picture import Picture, picture
from .part_welds import LISTED, Welded
from .sheet_format import Box

LETTER = 2.5
ROOM = Box(0.0, 0.0, 78.0, 62.0)
STEPS = (1.0, 0.75, 0.55)
"""The largest picture, mm, and how much of it there may be."""
ASIDE = 46.0
"""How far from the picture a symbol may stand, mm."""
AROUND = 40.0
"""How much of what is around the part is shown, mm."""
TAIL, SHORT = 120.0, 45.0
"""How long the text in the tail of a symbol may be, and how short it may be made, mm."""
CAPTION = "as it is in the car, not to scale"


def shown(snapshot: Snapshot, part: PartView, joints: tuple[Welded, ...]) -> Picture:
    """The largest picture of a part, with what it is welded to. SheetError where the part has no shape."""
    others = [other for key in {joint.other for joint in joints} if (other := snapshot.part(key)) is not None]
    try:
        return picture((part, *others), {part.key}, ROOM, around=AROUND if others else None)
    except ValueError as error:
        raise SheetError(f"the picture of {part.key} cannot be drawn: {error}") from None


def block(of: Picture, joints: tuple[Welded, ...], step: float, longest: float = TAIL) -> Block:
    """A picture, so much of it large, with a symbol at each joint; longest: of their tails, mm, 0 for no symbols. SheetError where one
    finds no room."""
    items: list[Primitive] = [view.moved(item, step, 0.0, 0.0) for item in of.items]
    space = LabelRoom(Box(-ASIDE, -ASIDE, step * ROOM.x1 + ASIDE, step * ROOM.y1 + ASIDE), items)
    for joint, places in together(joints) if longest else ():
        size = number(joint.leg) if joint.leg is not None else ""
        count = "" if places == 1 else f", {places} places"
        tail = fitted(joint.to, LETTER, longest - text_width(count, LETTER)) + count
        u, v = of.at(joint.points[0])
        tip = step * u, step * v

        def drawn(box: Box, tip: Any = tip, size: str = size, tail: str = tail, weld: Weld = joint.weld) -> list[Primitive]:
            return weld_symbol.symbol(box, tip, size, tail, weld is Weld.AROUND, weld is Weld.BOTH)

        items += space.group(weld_symbol.width(size, tail), weld_symbol.HIGH, tip, drawn, f"the weld symbol to {joint.to}")
    low = min(bounds(item)[1] for item in items)
    left = min(bounds(item)[0] for item in items)
    return block_of([*items, Text(left, low - 2.0 - LETTER, CAPTION, LETTER)])


def together(joints: tuple[Welded, ...]) -> list[tuple[Welded, int]]:
    """Joints that are made alike to things of one name, or to tubes that the car lists, the first of each called by all of them, and in how
    many places they are."""
    found: dict[tuple[str, Weld, float | None], list[Welded]] = {}
    for joint in joints:
        listed = joint.role if joint.role == LISTED else joint.to
        found.setdefault((listed, joint.weld, joint.leg), []).append(joint)
    return [(replace(some[0], to=", ".join(dict.fromkeys(one.to if one is some[0] else one.to.removeprefix("tube ") for one in some))),
             sum(len(one.points) for one in some)) for some in found.values()]
