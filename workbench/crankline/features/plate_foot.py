"""Plate foot: foot and tube from a narrow front plate down to the rail."""
from __future__ import annotations

from ..geometry import plate_foot
from .base import PartFeature


class PlateFoot(PartFeature):
    """One foot; its key says the side: ``plate_foot/left``."""
    kind = "plate_foot"
    geometry = plate_foot
    material_of = "RailTabs"
    welded = True
    links = (("FrontPlate", "The narrow front plate that it carries"),
             ("RailTabs", "Bolt and width that it shares with the rail tabs"))

    @classmethod
    def spec(cls, records, scene):
        return plate_foot.spec(records["FrontPlate"], records["RailTabs"], scene, records.side)
