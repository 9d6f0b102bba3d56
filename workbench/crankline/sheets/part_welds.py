"""What a made part is welded to: where they touch, how the joint is made, and the fillet's leg that the strength screening counts on."""
from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from ..checks.strength import load_model
from ..features.part_kind import Hold, Weld
from ..features.registry import declaration
from ..geometry.piece import Seam
from ..measure import relations
from ..measure.measurer import Measurer
from ..record import filled
from ..rules.quantity import NotEvaluated
from ..snapshot import PartView, Snapshot

Point: TypeAlias = tuple[float, float, float]
Legs: TypeAlias = Mapping[tuple[str, str], float]
"""(Key of a part, role of what it is welded to) to the leg of its fillet, mm."""
LISTED = "frame_tube"
"""Kind and role of the tubes that a car lists by name."""


@dataclass(frozen=True)
class Welded:
    """One joint. other, role: of what the part is welded to, "" of a weld between its own pieces; to: what that is called; leg: of the
    fillet, mm, None where no strength screening counts on one; points: one of every place at which they touch, car frame."""
    other: str
    role: str
    to: str
    weld: Weld
    leg: float | None
    points: tuple[Point, ...]


def legs(snapshot: Snapshot) -> dict[tuple[str, str], float]:
    """The fillets that the strength screening counts on; none of a car whose mounting is not known yet."""
    if snapshot.scene is None:
        return {}
    try:
        mounting = load_model.mounting(filled(snapshot.car), snapshot.scene)
    except (ValueError, NotEvaluated, AttributeError):
        return {}
    rails = "rail", "upper_rail"
    found = {(tab, rail): seat.mount.weld_leg for seat in mounting.rails for tab in seat.tabs for rail in rails}
    found |= {(foot.foot, rail): foot.weld_leg for foot in mounting.feet for rail in rails}
    for tie in mounting.ties:
        found[tie.key, "support_tube"] = tie.weld_leg
        found["support_tube", "upright"] = tie.tube_leg
    if mounting.tail is not None:
        found["receiver", "cross_member"] = mounting.tail.receiver.weld_leg
        found |= {("cross_member", to): mounting.tail.member_leg for to in (*rails, "footwell_tube")}
    return found


def of_mark(snapshot: Snapshot, keys: Sequence[str], names: Mapping[str, str], of_fillets: Legs,
            measurer: Measurer | None) -> tuple[Welded, ...]:
    """What the first of the parts of one mark is welded to, called by all that any of them is welded to in that way."""
    parts = [part for key in keys if (part := snapshot.part(key)) is not None]
    found = welded(snapshot, parts[0], names, of_fillets, measurer) if parts else ()
    if len(parts) < 2:
        return found
    alike: dict[str, set[str]] = {}
    for joint in found:
        alike.setdefault(joint.role, set()).add(joint.to)
    for part in parts[1:]:
        for other, _weld in _welded_to(snapshot, part):
            # Of the others it is enough to know whether, which takes less time than where.
            if measurer is not None and part.shape is not None and measurer.meets(part.shape, other.shape):
                alike.setdefault(relations.role(other), set()).add(called(other, names))
    return tuple(replace(joint, to=" or ".join(sorted(alike[joint.role]))) for joint in found)


def welded(snapshot: Snapshot, part: PartView, names: Mapping[str, str], of_fillets: Legs, measurer: Measurer | None) -> tuple[Welded, ...]:
    """What a part is welded to, by key; nothing where it cannot be measured where they touch. names: key to mark."""
    found: list[Welded] = []
    if measurer is None or part.shape is None:
        return ()
    for other, weld in _welded_to(snapshot, part):
        if not (points := measurer.touches(part.shape, other.shape)):
            continue
        leg = of_fillets.get((part.key, relations.role(other)), of_fillets.get((other.key, relations.role(part))))
        found.append(Welded(other.key, relations.role(other), called(other, names), weld, leg, points))
    return tuple(found)


def _welded_to(snapshot: Snapshot, part: PartView) -> Iterator[tuple[PartView, Weld]]:
    """What a part is made to be welded to, and how, by key; whether they touch was not looked at."""
    for other in sorted(snapshot.parts, key=lambda other: other.key):
        joint = relations.join(part, other) if other.key != part.key and other.shape is not None else None
        if joint is not None and joint.how == Hold.WELDED.value and joint.weld is not None:
            yield other, joint.weld


def called(part: PartView, names: Mapping[str, str]) -> str:
    """What drawings call a part that another one meets: mark and name of what the kit brings, the name of the car's own; of several tubes
    that a car lists, which one. names: key to mark."""
    label = declaration(part.kind, part.key).label.lower()
    if part.key in names:
        return f"{names[part.key]} {label}"
    return part.key.replace("/", " ").replace("_", " ") if part.kind == LISTED else label


def inside(seams: Sequence[Seam]) -> tuple[Welded, ...]:
    """The welds between the pieces of a part."""
    return tuple(Welded("", "", seam.joins, Weld.AROUND if seam.around else Weld.BOTH, None, seam.points) for seam in seams)
