"""Tie tab: welded to the underside of the support tube, bolted to the top of the mid plate."""
from __future__ import annotations

from ..geometry import tie_tab
from .base import PartFeature, developed_length


class TieTab(PartFeature):
    """One tab; its key says the side: ``tie_tab/left``."""
    kind = "tie_tab"
    geometry = tie_tab
    material_of = "RailTabs"
    welded = True
    links = (("MidPlate", "The plate that it ties"), ("RailTabs", "Thickness, width and bolt that it shares with the rail tabs"),
             ("SupportTube", "The tube that it is welded to"))

    def ensure(self, obj) -> None:
        super().ensure(obj)
        developed_length(obj, "Length of the flat bar before bending, neutral axis taken at half its thickness")

    @classmethod
    def spec(cls, records, scene):
        return tie_tab.spec(records["MidPlate"], records["RailTabs"], records["SupportTube"], scene, records.side)

    def results(self, obj, records, spec, scene) -> None:
        obj.DevelopedLength = tie_tab.developed_length(spec)
