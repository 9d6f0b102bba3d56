"""Rail tab: welded to a main rail, one in front of and one behind a plate, clamping it: the mid plate, or a wide front plate."""
from __future__ import annotations

from ..geometry import rail_tab
from .base import PartFeature


class RailTab(PartFeature):
    """One tab; its key says side, face and, on double rails, the rail: ``rail_tab/left_front`` clamps the mid plate,
    ``front_tab/left_front`` the front plate that it links to."""
    kind = "rail_tab"
    geometry = rail_tab
    material_of = "RailTabs"
    welded = True
    links = (("RailTabs", "Sizes that all rail tabs share"), ("FrontPlate", "The wide front plate that it clamps; empty for the mid plate"))
    optional_links = ("FrontPlate",)

    @classmethod
    def spec(cls, records, scene):
        stem, _, rest = records.key.partition("/")
        words = rest.split("_")
        if len(words) < 2:
            raise ValueError(f"{records.label}: its key {records.key!r} names no side and face; delete this copy and copy nothing")
        level = words[2] if len(words) > 2 and words[2] == "upper" else "lower"
        front = records["FrontPlate"]
        if front is None and stem == "front_tab":
            raise ValueError(f"{records.label}: FrontPlate links to nothing; set it to the wide front plate, or delete this tab")
        if front is not None and front.kind != "wide":
            raise ValueError(f"{records.label}: a narrow front plate stands on plate feet and is clamped by no rail tabs; make it wide, or "
                             "delete this tab")
        thickness, x_rear = (scene.stack.mid_plate, -scene.stack.total) if front is None else (front.thickness, scene.engine.block_length)
        return rail_tab.spec(records["RailTabs"], thickness, x_rear, scene, words[0], words[1], level)
