"""Parts that carry a specification and a date, as the car file lists them."""
from __future__ import annotations

import datetime
import re

from ..measuring import Measurement, Setting, Unmeasured, quantity

ITEMS = ("flexplate", "flexplate_shield", "transmission_shield", "bellhousing", "damper", "driveshaft", "clutch", "flywheel",
         "containment")


def normal(text: str) -> str:
    """A specification number without what people write differently: SFI 29.1, sfi-29.1, 29.1."""
    found = re.search(r"(\d+\.\d+)\s*([A-Za-z]?)\s*$", text.strip())
    return f"SFI {found.group(1)}{found.group(2).upper()}" if found else " ".join(text.split()).upper()


def named(text: str) -> str:
    """The name of an item without what people write differently."""
    return re.sub(r"[\s_-]+", "_", text.strip().lower())


@quantity("protective_item", "count", components={"specification": "word", "days_left": "count"},
          item=Setting("choice", None, "the part", ITEMS),
          dated=Setting("choice", "true", "whether its specification runs out", ("true", "false")))
def protective_item(snapshot, context):
    """A listed part's specification and the days from the event until it runs out; the part must be listed."""
    wanted = context.settings["item"]
    found = []
    for number, item in enumerate(context.car.protective_items, start=1):
        if named(item.item) != wanted:
            continue
        subjects = (f"protective_item/{number}",)
        days = 0.0
        if item.expires is not None:
            days = float((datetime.date.fromisoformat(item.expires) - context.event_date).days)
        elif context.settings["dated"] == "true":
            found.append(Unmeasured(subjects, f"the {wanted.replace('_', ' ')} states no date of expiry; read it off its "
                                              "label and give protective_items expires"))
            continue
        until = f", good until {item.expires}" if item.expires else ""
        found.append(Measurement(None, subjects, how=f"{item.specification}{until}, event {context.event_date}",
                                 parts={"specification": normal(item.specification), "days_left": days}))
    if not found:
        name = wanted.replace("_", " ")
        return (Measurement(None, ("car",), wanted, how=f"no {name} is listed under protective_items"),)
    return tuple(found)
