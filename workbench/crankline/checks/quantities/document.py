"""Quantities of the document itself: what makes a reading doubtful."""
from __future__ import annotations

from ... import sections
from ...rules.quantity import Found, Measurement, Setting, Unmeasured, quantity
from ...snapshot import Snapshot
from ..context import Context

KINDS = ("invalid", "touched", "proxy", "stale", "link", "missing", "extra", "moved", "edited", "altered", "axle", "catalogue", "undrawn",
         "solid")


@quantity("unsound_objects", "count", any_shape=True, no_remedy="",
          kinds=Setting("choices", None, "kinds of trouble that are counted", KINDS))
def unsound_objects(snapshot: Snapshot, context: Context) -> Found:
    """Objects of the document with a given kind of trouble, one finding per object; none is one value of 0."""
    found = [item for item in snapshot.unsound if item.kind in context.settings["kinds"]]
    if not found:
        return (Measurement(0.0, (), how="all objects checked"),)
    by_object: dict = {}
    for item in found:
        by_object.setdefault((item.key, item.kind), []).append(item.message)
    return tuple(Measurement(float(len(messages)), (key,), kind, how="; ".join(messages))
                 for (key, kind), messages in by_object.items())


@quantity("missing_sections", "count", no_remedy="")
def missing_sections(snapshot: Snapshot, context: Context) -> Found:
    """What a finished car has and this one has not yet, one finding each; none is one value of 0."""
    gone = sections.lacking(context.car)
    return tuple(Unmeasured((), sections.not_yet(path), path) for path in gone) or (Measurement(0.0, (), how="nothing is missing"),)
