"""Quantities of service: whether transmission, driveshaft and engine come out, and with how much room. ``measure.removal`` and
``measure.swept_path`` need the host and are imported when a quantity is asked for."""
from __future__ import annotations

import math
from typing import Any

from ...measure import relations
from ...rules.quantity import Measurement, NotEvaluated, Setting, Slices, every_part, formula, quantity
from ...snapshot import Snapshot
from ...units import points_text, sized
from ..context import Context
from .clearance import bodies_of, kept_of

PATH = Setting("choice", None, "what is removed", ("transmission", "driveshaft", "engine", "engine_with_transmission",
                                                     "engine_straight_up"))
_WAYS = ("straight_down", "nose_down", "turned_nose_down")
WAYS = Setting("choices", _WAYS, "ways to try with a transmission that is back off its dowels, in this order: straight_down; "
               "nose_down: tipped over the cross member; turned_nose_down: the same after a quarter turn on its own axis", _WAYS)
OFF = Setting("choices", ("nothing",), "bolted parts that may be taken off first", (*relations.removable(), "nothing"))
TIP = Setting("angle", math.radians(90.0), "how far a transmission may be tipped on its jack")
SWEPT = "whether one dimension alone clears it is not looked for: each try would be a sweep of its own"
_SERVICE: dict[str, Any] = dict(no_remedy=SWEPT, path=PATH, ways=WAYS, off=OFF, tip_limit=TIP)


def _way_out(snapshot: Snapshot, context: Context):
    """Slice by slice, (moving key, outcome) of the service path that is asked for, remembered as long as nothing about any part changes;
    None where there is nothing to move."""
    from ...measure import removal
    from ...measure.body import matrix
    kept, name = kept_of(context), context.settings["path"]
    bodies, refused = bodies_of(snapshot, context, lambda part: True)
    if refused:
        raise NotEvaluated(refused[0].reason)
    known = {key: (part.kind, item) for key, (part, item) in bodies.items()}
    asked = tuple(context.settings[item] for item in ("ways", "off", "tip_limit"))
    yield from removal.ahead(name, known, kept)
    try:
        setup = removal.setup(name, known, context.scene, context.car, asked[1], kept)
    except removal.NoPath:
        return None
    stand = tuple((item.key, item.mark, matrix(item.shape.Placement).round(9).tobytes()) for item in (*setup.moving, *setup.staying))
    mark = "removal" if all(mark for _key, mark, _place in stand) else ""
    what = name, setup.steps, asked, stand
    outcome = kept.known(what, mark)
    if outcome is None:
        found = yield from removal.way_out(name, known, context.scene, context.car, kept, *asked)
        outcome = kept.of(what, mark, lambda: found)
    return setup.moving[0].key, outcome


def _steps(path) -> str:
    words_of = []
    for step in path.steps:
        words = [step.name]
        if step.travel and not any(letter.isdigit() for letter in step.name):
            words.append(sized(step.travel, 2))
        if step.tip:
            words.append(f"by {abs(math.degrees(step.tip)):.0f} deg")
        words_of.append(" ".join(words))
    return ", then ".join(words_of)


def _failed(failure) -> str:
    after = "" if failure.after is None else f" after {sized(failure.after, 2)} ({failure.step})"
    return f"{failure.way.replace('_', ' ')}: {failure.part} is in the way{after}"


def _way(outcome) -> str:
    """The way that is gone, and what it asks for."""
    words = f"{outcome.way.replace('_', ' ')}: " if outcome.way else ""
    words += _steps(outcome.path)
    if outcome.off:
        words += f"; first {', '.join(outcome.off)} must come off"
    if outcome.name == "transmission":
        words += f"; car on stands, the lowest point comes within {sized(outcome.lowest, 1)} of track level at ride height"
    return words


@quantity("service_path_free", "length", any_shape=True, effort=100, looks_at=every_part, gives=("path_length",), **_SERVICE)
def service_path_free(snapshot: Snapshot, context: Context) -> Slices:
    """How far along its service path a part comes out before something is in the way; the whole path where nothing is. The track is no
    obstacle: the car is on stands."""
    found = yield from _way_out(snapshot, context)
    if found is None:
        return ()
    key, outcome = found
    path, given = outcome.path, {"path_length": outcome.path.travel}
    first, others = path.blocked, "; ".join(_failed(one) for one in outcome.failed)
    if first is None:
        nearest = path.closest
        room = (f"; closest to {nearest.part}, {sized(nearest.distance, 2)}, {nearest.step}" if nearest else
                "; it comes close to nothing")
        how = f"{_way(outcome)}: it comes out{room}" + (f"; not {others}" if others else "")
        return (Measurement(path.travel, (key,), context.settings["path"], how=how, points=nearest.points if nearest else (), given=given),)
    how = f"{_steps(path)}: {first.part} is in the way after {sized(first.blocked, 2)} ({first.step}), at {points_text(first.points[1:])}"
    rest = "; ".join(_failed(one) for one in outcome.failed if one.way != outcome.way)
    return (Measurement(first.blocked, (key, first.part), context.settings["path"], how=how + (f"; {rest}" if rest else ""),
                        points=first.points, accuracy=0.0, given=given),)


@formula("service_path_length", "length", "path_length")
def service_path_length(given, settings):
    """The whole length of the service path."""
    return given["path_length"]


@quantity("service_path_clearance", "length", any_shape=True, effort=100, looks_at=every_part, **_SERVICE)
def service_path_clearance(snapshot: Snapshot, context: Context) -> Slices:
    """Smallest clearance along the service path by which a part comes out, to what it approaches; nothing where it does not come out."""
    found = yield from _way_out(snapshot, context)
    if found is None or found[1].path.blocked is not None or found[1].path.closest is None:
        return ()
    key, outcome = found
    path, one = outcome.path, outcome.path.closest
    passed = ", ".join(f"{item.part} {sized(item.distance, 2)}" for item in
                       sorted((item for item in path.passes if item.distance is not None and not item.at_rest),
                              key=lambda item: item.distance))
    how = (f"to {one.part}, {sized(one.along, 2)} along the path ({one.step}), {points_text(one.points)}, to within {sized(one.within)}; "
           f"passed: {passed}; every other part by more than {sized(path.reach, 1)}")
    return (Measurement(one.distance, (key, one.part), context.settings["path"], how=how, points=one.points),)
