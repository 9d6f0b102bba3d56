"""Plate foot: foot and tube from a narrow front plate down to the rail."""
from __future__ import annotations

from ..geometry import plate_foot
from .base import PartFeature, linked_record
from .tie_tab import side_of


class PlateFoot(PartFeature):
    """One foot; its key says the side: ``plate_foot/left``."""
    kind = "plate_foot"
    geometry = plate_foot
    welded = True
    links = (("FrontPlate", "The narrow front plate that it carries"),
             ("RailTabs", "Bolt and width that it shares with the rail tabs"))

    def spec(self, obj, scene):
        return plate_foot.spec(linked_record(obj, "FrontPlate"), linked_record(obj, "RailTabs"), scene, side_of(obj))

    def material(self, obj) -> str:
        tabs = obj.RailTabs
        return tabs.Material if tabs is not None else ""
