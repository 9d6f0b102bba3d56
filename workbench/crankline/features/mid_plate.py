"""Mid plate: clamped between block and transmission, spanning the rails. Its thickness belongs to the layout's stack."""
from __future__ import annotations

from .. import model
from ..geometry import mid_plate
from .base import PartFeature


class MidPlate(PartFeature):
    """The plate that carries the powertrain's middle."""
    kind = "mid_plate"
    record = model.MidPlate
    geometry = mid_plate
    links = (("RailTabs", "Sizes of the rail tabs that clamp it"), ("SupportTube", "Tube to which its top is tied"))
    optional_links = ("SupportTube",)
    shown = ("Thickness",)

    @classmethod
    def spec(cls, records, scene):
        return mid_plate.spec(records.own, records["RailTabs"], records["SupportTube"], scene)

    def show(self, obj, scene) -> None:
        obj.Thickness = scene.stack.mid_plate
