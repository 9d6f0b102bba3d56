"""Quantity of the chassis as a whole: whether its tubes, and what is welded in between them, hang together. Measured on the shapes."""
from __future__ import annotations

import heapq
import itertools
from collections.abc import Generator, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from ...geometry import frame_tube
from ...measure import relations
from ...mechanics.chassis import completed
from ...progress import Progress
from ...rules.quantity import Found, Measurement, Slices, Tries, Unmeasured, parts, quantity
from ...snapshot import PartView, Snapshot
from ...units import points_text, sized
from ..context import Context
from ..finding import Finding
from .clearance import EXACT, bodies_of, kept_of
from .clearing import of_chassis, of_part, on_subjects, unique

if TYPE_CHECKING:
    from ...measure.body import Body
    from ...measure.distance import Clearance
    from ...measure.kept import Kept

LOOP = "fixed_loop"
FRAME = ("chassis_tube", "frame_tube", "cross_member", "support_tube", LOOP)
"""Kinds that a chassis hangs together by. Rail tabs, feet and the like are asked for what they stand on (``contact.weld_gap``)."""
ROOTS = ("rail", "upper_rail")
"""Roles that need not reach anything: a car file describes the chassis around the powertrain, and both rails run on beyond that."""


def _closer(finding: Finding, _settings: Mapping[str, Any], _snapshot: Snapshot) -> Tries:
    return on_subjects(finding, unique(path for key in finding.subjects for path in (*of_part(key), *of_chassis(key))))


def _in_frame(part: PartView) -> bool:
    return part.kind in FRAME


@quantity("frame_gap", "length", any_shape=True, clears=_closer, effort=2, each=parts(*FRAME))
def frame_gap(snapshot: Snapshot, context: Context) -> Slices:
    """Gap between each tube of the chassis and what it hangs on, on its best way to a main rail; 0 where it is welded to something that
    is. What hangs on a tube in the air is not told again, and nothing but another loop hangs on a loop: that is what the chassis holds."""
    kept = kept_of(context)
    bodies, refused = bodies_of(snapshot, context, _in_frame)
    found: list[Measurement | Unmeasured] = list(refused)
    reached: list[Body] = [body for part, body in bodies.values() if relations.role(part) in ROOTS]
    waiting = {key: body for key, (part, body) in bodies.items() if relations.role(part) not in ROOTS}
    if refused and waiting:
        # A tube that may not be measured may be what the others hang on.
        why = f"{refused[0].subjects[0]}, which it may hang on, is not measured: {refused[0].reason}"
        return (*refused, *(Unmeasured((key,), why) for key in waiting))
    loops = {key: waiting.pop(key) for key in list(waiting) if bodies[key][0].kind == LOOP}
    for hanging in (waiting, loops):
        found += yield from _hung(hanging, reached, kept)
    return tuple(found)


def _hung(waiting: dict[str, Body], reached: list[Body], kept: Kept) -> Generator[Progress, None, list[Measurement]]:
    """Slice by slice, each body's gap to what it hangs on, the nearest first; it then carries others. Empties ``waiting`` into
    ``reached``."""
    from ...measure.body import faces_of
    from ...measure.distance import TOUCH, air, box_gaps
    added, found, many = list(reached), list[Measurement](), len(waiting)
    # Prim's tree, of which a gap is measured only where its bound, what the boxes keep, is the least of all that is known or pending:
    # (gap or its bound, key, what came first of equals, what was measured, to what).
    pending: list[tuple[float, str, int, Clearance | None, Body]] = []
    numbers = itertools.count()
    while waiting and reached:
        boxes = [np.array([faces_of(body, kept).box for body in bodies]) for bodies in (waiting.values(), added)]
        gaps = box_gaps(*boxes)
        # To the micron, so that of what hangs equally near the first by its key is told; what touches is told as 0.
        for key, bounds in zip(waiting, np.where(gaps < TOUCH, 0.0, np.floor(gaps * 1e6) / 1e6)):
            for number in np.argsort(bounds, kind="stable").tolist():
                heapq.heappush(pending, (float(bounds[number]), key, next(numbers), None, added[number]))
        while True:
            _least, key, number, one, other = heapq.heappop(pending)
            if key not in waiting:
                continue
            if one is not None:
                break
            yield Progress(f"{key} and what it hangs on", len(found) / many)
            one = air(waiting[key], other, kept)
            heapq.heappush(pending, (round(one.distance, 6), key, number, one, other))
        added = [waiting.pop(key)]
        reached.append(added[0])
        host = one.b if one.a == key else one.a
        how = f"{key} to {host}, {one.kind if one.distance <= EXACT else sized(one.distance)}, {points_text(one.points)}"
        found.append(Measurement(max(one.distance, 0.0), (key,), points=one.points, accuracy=EXACT, how=how))
    return found


@quantity("free_tube_end", "length", no_remedy="where it runs is given by its points", each=parts("frame_tube"))
def free_tube_end(snapshot: Snapshot, context: Context) -> Found:
    """Gap between either end of a further chassis tube (chassis.tubes) and the nearest other tube of the chassis; 0 where it meets one. The
    worse of its ends."""
    car, found = context.car, []
    tubes = [tube for tube in car.chassis.tubes or () if len(tube.points or ()) > 1]
    scene = replace(context.scene, chassis=completed(context.scene.chassis, car.car.wheelbase))
    others = frame_tube.others(scene, car.mounts.cross_member)
    own = {tube.name: frame_tube.legs(tube) for tube in tubes}
    for tube in tubes:
        legs = (*others, *(leg for name, some in own.items() if name != tube.name for leg in some))
        ends = []
        for name, point in (("first", tube.points[0]), ("last", tube.points[-1])):
            off = [leg.off(point) for leg in legs]
            gap, _off, number = min((max(away - 0.5 * (leg.diameter + tube.section.outer_diameter), 0.0), away, number)
                                    for number, (leg, away) in enumerate(zip(legs, off)))
            ends.append((gap, name, legs[number].key, point))
        gap, name, key, point = max(ends)
        found.append(Measurement(gap, (f"tube/{tube.name}",), how=f"its {name} end, {sized(gap)} from {key}", points=(point,)))
    return tuple(found)
