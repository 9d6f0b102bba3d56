"""Tie tab: welded to the underside of the support tube, bolted to the top of the mid plate."""
from __future__ import annotations

from .. import model
from ..geometry import tie_tab
from ..mechanics.scene import Scene
from ..snapshot import POWERTRAIN
from .base import PartFeature
from .joint_hardware import HardwareLine, through
from .part_kind import MOUNT, OUTLINE, WELDED_IN, Hold, Joint, PartKind, Supply, Weld, none
from .result_properties import developed_length


def hardware(car: model.Car, _scene: Scene) -> tuple[HardwareLine, ...]:
    """The bolt of each tab."""
    if None in (car.mounts.support_tube, car.mounts.rail_tabs, car.plates.mid):
        return ()
    tabs = car.mounts.rail_tabs
    return tuple(line for side in ("left", "right")
                 for line in through(tabs.bolt, 1, car.plates.mid.thickness + tabs.thickness, ("mid_plate", f"tie_tab/{side}")))


class TieTab(PartFeature):
    """One tab; its key says the side: ``tie_tab/left``."""
    kind = "tie_tab"
    declares = (PartKind(
        role="tie_tab", kind="tie_tab", label="Tie tab", container="mounts",
        section="mounts.support_tube",
        moves_with=POWERTRAIN, welded=True, reference=False, protective=False,
        supply=Supply.KIT, mark="TT",
        look=MOUNT,
        stands_on=(("support_tube",),),
        joints=(Joint(Hold.WELDED, ("support_tube",), Weld.BOTH), Joint(Hold.BOLTED, ("mid_plate",))),
        keeps_clear=("header_to_chassis",),
        near_driver=True,
        side_view=OUTLINE,
        numbered=none("the support tube that it hangs on is numbered"),
        hardware=hardware,
        removal=WELDED_IN,
        parameters=("mounts.support_tube.behind_plate", "mounts.support_tube.above_crank"),
        stronger={"tie_tab": ("mounts.rail_tabs.thickness", "mounts.rail_tabs.width")}),)
    geometry = tie_tab
    material_of = "RailTabs"
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
