"""Quantities of what is welded: whether it meets what it is welded to, and whether that reaches as far. Measured on the shapes."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from ...measure import relations
from ...measure.kept import Kept
from ...rules.quantity import Found, Measurement, Tries, Unmeasured, every_part, quantity
from ...snapshot import PartView, Snapshot
from ...units import points_text, sized
from ..context import Context
from ..finding import Finding
from .clearance import EXACT, bodies_of, kept_of
from .clearing import RAIL_ENDS, SHAFT, of_part, on_subjects, unique

if TYPE_CHECKING:
    from ...measure.body import Body


@dataclass(frozen=True)
class _Standing:
    """A welded part, its body (None where it may not be measured) and those that it may be welded to; why, where one is missing;
    which of its ends, where it has two."""
    part: PartView
    mine: Body | None
    hosts: tuple[tuple[PartView, Body], ...]
    reason: str
    end: str


def _standing(snapshot: Snapshot, context: Context) -> tuple[_Standing, ...]:
    """Everything that is welded to a tube."""
    bodies, refused = bodies_of(snapshot, context)
    reasons = {note.subjects[0]: note.reason for note in refused}
    found: list[_Standing] = []
    placed = [(other, {other.key, relations.role(other)}, _side(other.key)) for other in snapshot.parts]
    for part in sorted(snapshot.parts, key=lambda part: part.key):
        for group in relations.declaration(part).stands_on or ():
            away = {"left": "right", "right": "left"}.get(_side(part.key), "neither")
            wanted = [other for other, names, side in placed if side != away and not names.isdisjoint(group)]
            hosts = tuple(bodies[other.key] for other in wanted if other.key in bodies)
            why = [reasons[key] for key in (part.key, *(other.key for other in wanted)) if key in reasons]
            missing = f"{' or '.join(group)}, to which {part.key} is welded, is not in the document"
            found.append(_Standing(part, bodies.get(part.key, (None, None))[1], hosts, (why or [missing])[0], _side(group[0])))
    return tuple(found)


def _side(key: str) -> str:
    """Side of the car that a key names, empty where it names none."""
    word = key.partition("/")[2].split("_")[0]
    return word if word in ("left", "right") else ""


def _past(part: Body, rail: Body, kept: Kept) -> bool:
    """Whether nothing of a part stands between the ends of a rail."""
    from ...measure.body import faces_of
    box, reach = faces_of(part, kept).box, faces_of(rail, kept).box
    return bool(box[0] > reach[3] or box[3] < reach[0])


def _closer(finding: Finding, _settings: Mapping[str, Any], _snapshot: Snapshot) -> Tries:
    # A part on a rail follows the rail's height; only its end leaves it.
    ends = RAIL_ENDS if any(relations.stands_on_rail(key.partition("/")[0]) for key in finding.subjects) else ()
    own = (path for key in finding.subjects if key not in SHAFT for path in of_part(key, "+" if set(SHAFT) & set(finding.subjects) else ""))
    return on_subjects(finding, unique((*ends, *own)))


@quantity("weld_gap", "length", any_shape=True, clears=_closer, effort=1, each=every_part)
def weld_gap(snapshot: Snapshot, context: Context) -> Found:
    """Gap between a welded part and the nearest of the tubes that it may be welded to; 0 where they meet."""
    from ...measure import distance
    kept = kept_of(context)
    found: list[Measurement | Unmeasured] = []
    for one in _standing(snapshot, context):
        key = one.part.key
        if one.mine is None or not one.hosts:
            found.append(Unmeasured((key,), one.reason, one.end and f"{one.end} end"))
            continue
        if relations.stands_on_rail(relations.role(one.part)) and all(_past(one.mine, item, kept) for _other, item in one.hosts):
            continue    # beyond the rail's end: that is told on its own
        nearest = distance.nearest_air(one.mine, [item for _other, item in one.hosts], kept)
        other = nearest.b if nearest.a == key else nearest.a
        found.append(Measurement(max(nearest.distance, 0.0), (key, other), points=nearest.points, accuracy=EXACT,
                                 how=f"{key} to {other}, {nearest.kind}, {points_text(nearest.points)}"))
    return tuple(found)


@quantity("beyond_rail", "length", any_shape=True, clears=(*RAIL_ENDS, "placement.axle_to_block"), effort=1, each=every_part)
def beyond_rail(snapshot: Snapshot, context: Context) -> Found:
    """How far a part that is welded on a rail reaches beyond the rail's end, along the car; 0 where the rail is long enough."""
    from ...measure import distance
    from ...measure.body import faces_of, tight_box
    kept = kept_of(context)
    found: list[Measurement | Unmeasured] = []
    for one in _standing(snapshot, context):
        key = one.part.key
        if not relations.stands_on_rail(relations.role(one.part)):
            continue
        if one.mine is None or not one.hosts:
            found.append(Unmeasured((key,), one.reason))
            continue
        mine = one.mine
        nearest = distance.nearest_air(mine, [host for _rail, host in one.hosts], kept)
        rail, item = next(host for host in one.hosts if host[0].key in (nearest.a, nearest.b))
        box, reach = tight_box(mine, kept), faces_of(item, kept).box
        ahead, behind = float(box[3] - reach[3]), float(reach[0] - box[0])
        middle = 0.5 * (box[:3] + box[3:])
        point, end = (box[3], reach[3]) if ahead >= behind else (box[0], reach[0])
        found.append(Measurement(max(ahead, behind, 0.0), (key, rail.key), how=f"{key} from X = {sized(box[0])} to {sized(box[3])}, "
                                 f"{rail.key} from {sized(reach[0])} to {sized(reach[3])}",
                                 points=((float(end), float(middle[1]), float(reach[5])),
                                         (float(point), float(middle[1]), float(middle[2]))),
                                 accuracy=EXACT))
    return tuple(found)
