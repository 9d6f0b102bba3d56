"""Parts that carry a specification and a date, as the car file lists them."""
from __future__ import annotations

import datetime
import re

from ...rules.quantity import NO_DIMENSION, Found, Measurement, Setting, Unmeasured, quantity
from ...rules.specification import normal
from ...snapshot import Snapshot
from ..context import Context

ITEMS = ("flexplate", "flexplate_shield", "transmission_shield", "bellhousing", "damper", "driveshaft", "clutch", "flywheel",
         "containment")

ALIASES = {"transmission_blanket": "transmission_shield", "transmission_shield_or_blanket": "transmission_shield",
           "harmonic_damper": "damper",
           "drive_shaft": "driveshaft", "bell_housing": "bellhousing", "flex_plate": "flexplate", "flex_plate_shield": "flexplate_shield"}


def named(text: str) -> str:
    """The name of an item without what people write differently; a blanket is one kind of transmission shield."""
    name = re.sub(r"[\s_-]+", "_", text.strip().lower())
    return ALIASES.get(name, name)


@quantity("protective_item", "count", no_remedy=NO_DIMENSION, components={"specification": "word", "days_left": "count"},
          item=Setting("choice", None, "the part", ITEMS),
          dated=Setting("choice", "true", "whether its certification expires", ("true", "false")))
def protective_item(snapshot: Snapshot, context: Context) -> Found:
    """A listed part's specification and the days from the event until it expires; the part must be listed."""
    wanted = context.settings["item"]
    item_name = wanted.replace("_", " ")
    found: list[Measurement | Unmeasured] = []
    for subjects, item in _listed(context.car.protective_items, wanted):
        days = 0.0
        if item.expires is not None:
            days = float((datetime.date.fromisoformat(item.expires) - context.event_date).days)
        elif context.settings["dated"] == "true":
            found.append(Unmeasured(subjects, f"the {item_name} has no expiration date; read it off its "
                                              "label and give protective_items expires"))
            continue
        until = f", valid until {item.expires}" if item.expires else ""
        if item.issued is not None:
            early = float((context.event_date - datetime.date.fromisoformat(item.issued)).days)
            if early < 0.0:
                until += f", issued {item.issued}, which is after the event"
                days = min(days, early)
        found.append(Measurement(None, subjects, how=f"{item.specification}{until}, event {context.event_date}",
                                 parts={"specification": normal(item.specification), "days_left": days}))
    if not found:
        unknown = [item.item for item in context.car.protective_items if named(item.item) not in ITEMS]
        other = f"; no rule uses the name {' or '.join(map(repr, unknown))}; known names: {', '.join(ITEMS)}" if unknown else ""
        return (Measurement(None, ("car",), wanted, how=f"no {item_name} is listed under protective_items{other}"),)
    return tuple(found)


def _listed(items, wanted: str):
    """(subjects, item) of the items of a name. Subjects tell them by name, not by place: they stay when the list is put in another
    order."""
    same = sorted((item for item in items if named(item.item) == wanted), key=lambda item: (normal(item.specification), item.issued or "",
                                                                                           item.expires or ""))
    for number, item in enumerate(same, start=1):
        yield (f"protective_item/{wanted}" + (f"_{number}" if number > 1 else ""),), item
