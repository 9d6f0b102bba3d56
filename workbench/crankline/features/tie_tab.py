"""Tie tab: welded to the underside of the support tube, bolted to the top of the mid plate."""
from __future__ import annotations

from ..geometry import tie_tab
from .base import PartFeature, developed_length, linked_record


class TieTab(PartFeature):
    """One tab; its key says the side: ``tie_tab/left``."""
    kind = "tie_tab"
    geometry = tie_tab
    welded = True
    links = (("MidPlate", "The plate that it ties"), ("RailTabs", "Thickness, width and bolt that it shares with the rail tabs"),
             ("SupportTube", "The tube that it is welded to"))

    def ensure(self, obj) -> None:
        super().ensure(obj)
        developed_length(obj, "Length of the flat bar before bending, neutral axis taken at half its thickness")

    def spec(self, obj, scene):
        return tie_tab.spec(linked_record(obj, "MidPlate"), linked_record(obj, "RailTabs"), linked_record(obj, "SupportTube"), scene,
                            side_of(obj))

    def results(self, obj, spec) -> None:
        obj.DevelopedLength = tie_tab.developed_length(spec)

    def material(self, obj) -> str:
        return obj.RailTabs.Material if obj.RailTabs is not None else ""


def side_of(obj) -> str:
    """left or right, from the key of a part that stands on both sides."""
    side = obj.Key.partition("/")[2].split("_")[0]
    if side not in ("left", "right"):
        raise ValueError(f"{obj.Label}: its key {obj.Key!r} names no side; delete this object")
    return side
