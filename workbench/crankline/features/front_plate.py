"""Front plate: on the front of the block, to the rails or carried by plate feet."""
from __future__ import annotations

from .. import model
from ..geometry import front_plate
from .base import PartFeature


class FrontPlate(PartFeature):
    """The plate that carries the powertrain's front."""
    kind = "front_plate"
    record = model.FrontPlate
    geometry = front_plate
    links = (("RailTabs", "Bolt and width that its ears share with the rail tabs"), ("LimiterStrut", "Fore-aft strut bolted to it"))
    optional_links = ("LimiterStrut",)

    @classmethod
    def spec(cls, records, scene):
        return front_plate.spec(records.own, records["RailTabs"], scene, records["LimiterStrut"])
