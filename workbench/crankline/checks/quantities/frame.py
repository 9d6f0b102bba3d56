"""Quantity of the chassis as a whole: whether its tubes, and what is welded in between them, hang together. Measured on the shapes."""
from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from ...measure import relations
from ...rules.quantity import Found, Measurement, Tries, Unmeasured, parts, quantity
from ...snapshot import PartView, Snapshot
from ...units import points_text, sized
from ..context import Context
from ..finding import Finding
from .clearance import EXACT, bodies_of, kept_of
from .clearing import of_chassis, of_part, on_subjects, unique

if TYPE_CHECKING:
    from ...measure.body import Body
    from ...measure.distance import Clearance

FRAME = ("chassis_tube", "frame_tube", "cross_member", "support_tube", "fixed_loop")
"""Kinds that a chassis hangs together by. Rail tabs, feet and the like are asked for what they stand on (``contact.weld_gap``)."""
ROOTS = ("rail", "upper_rail")
"""Roles that need not reach anything: a car file describes the chassis around the powertrain, and both rails run on beyond that."""


def _closer(finding: Finding, _settings: Mapping[str, Any], _snapshot: Snapshot) -> Tries:
    return on_subjects(finding, unique(path for key in finding.subjects for path in (*of_part(key), *of_chassis(key))))


def _in_frame(part: PartView) -> bool:
    return part.kind in FRAME


@quantity("frame_gap", "length", any_shape=True, clears=_closer, effort=2, each=parts(*FRAME))
def frame_gap(snapshot: Snapshot, context: Context) -> Found:
    """Gap between each tube of the chassis and what it hangs on, on its best way to a main rail; 0 where it is welded to something that
    is. What hangs on a tube in the air is not told again."""
    from ...measure.distance import air, gap
    kept = kept_of(context)
    bodies, refused = bodies_of(snapshot, context, _in_frame)
    found: list[Measurement | Unmeasured] = list(refused)
    reached: list[Body] = [body for part, body in bodies.values() if relations.role(part) in ROOTS]
    waiting = {key: body for key, (part, body) in bodies.items() if relations.role(part) not in ROOTS}
    if refused and waiting:
        # A tube that may not be measured may be what the others hang on.
        why = f"{refused[0].subjects[0]}, which it may hang on, is not measured: {refused[0].reason}"
        return (*refused, *(Unmeasured((key,), why) for key in waiting))
    nearest: dict[str, Clearance] = {}
    added = reached
    while waiting and reached:
        for key, body in waiting.items():
            for other in sorted(added, key=lambda other: gap(body, other, kept)):
                best = nearest.get(key)
                if best is None or gap(body, other, kept) < best.distance:
                    one = air(body, other, kept)
                    nearest[key] = one if best is None or one.distance < best.distance else best
        key = min(waiting, key=lambda key: (nearest[key].distance, key))
        one, added = nearest[key], [waiting.pop(key)]
        reached.append(added[0])
        host = one.b if one.a == key else one.a
        found.append(Measurement(max(one.distance, 0.0), (key,), points=one.points, accuracy=EXACT,
                                 how=f"{key} to {host}, {one.kind if one.distance <= EXACT else sized(one.distance)}, "
                                 f"{points_text(one.points)}"))
    return tuple(found)
