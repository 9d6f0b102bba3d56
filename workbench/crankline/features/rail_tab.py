"""Rail tab: welded to a main rail, one in front of and one behind the mid plate, clamping it."""
from __future__ import annotations

from .. import model
from ..geometry import rail_tab
from .base import PartFeature, linked_record


class RailTab(PartFeature):
    """One tab; its key says side, face and, on double rails, the rail: ``rail_tab/left_front``."""
    kind = "rail_tab"
    geometry = rail_tab
    welded = True
    links = (("RailTabs", "Sizes that all rail tabs share"),)

    def spec(self, obj, scene):
        words = obj.Key.partition("/")[2].split("_")
        if len(words) < 2:
            raise ValueError(f"{obj.Label}: its key {obj.Key!r} names no side and face; delete this copy and copy nothing")
        level = words[2] if len(words) > 2 and words[2] == "upper" else "lower"
        return rail_tab.spec(linked_record(obj, "RailTabs"), scene.stack.mid_plate, -scene.stack.total, scene, words[0],
                             words[1], level)

    def material(self, obj) -> str:
        tabs = obj.RailTabs
        return tabs.Material if tabs is not None else ""
