"""Plate foot: foot and tube from a narrow front plate down to the rail."""
from __future__ import annotations

from .. import model
from ..geometry import plate_foot, plate_layout
from ..mechanics.scene import Scene
from ..snapshot import POWERTRAIN
from .base import PartFeature
from .joint_hardware import HardwareLine, through
from .part_kind import MOUNT, ON_RAILS, OUTLINE, RAILS, WELDED_IN, Hold, Joint, PartKind, Supply, Weld, none


def hardware(car: model.Car, scene: Scene) -> tuple[HardwareLine, ...]:
    """Bolts of a narrow front plate's feet."""
    front, tabs = car.plates.front, car.mounts.rail_tabs
    if front is None or front.kind == "wide" or tabs is None:
        return ()
    grip = front.thickness + (front.foot_web or tabs.thickness)
    lines: tuple[HardwareLine, ...] = ()
    for side in ("left", "right"):
        bolt = plate_layout.lug(front, tabs, scene, side).bolt
        lines += through(bolt, front.foot_bolts, grip, ("front_plate", f"plate_foot/{side}"))
    return lines


class PlateFoot(PartFeature):
    """One foot; its key says the side: ``plate_foot/left``."""
    kind = "plate_foot"
    declares = (PartKind(
        role="plate_foot", kind="plate_foot", label="Plate foot", container="mounts",
        section="plates.front",
        moves_with=POWERTRAIN, welded=True, reference=False, protective=False,
        supply=Supply.KIT, mark="PF",
        look=MOUNT,
        stands_on=ON_RAILS,
        joints=(Joint(Hold.WELDED, RAILS, Weld.AROUND), Joint(Hold.BOLTED, ("front_plate",))),
        keeps_clear=("damper_to_chassis", "header_to_chassis"),
        near_driver=True,
        side_view=OUTLINE,
        numbered=none("the front plate that it carries is numbered"),
        hardware=hardware,
        removal=WELDED_IN,
        parameters=("plates.front.foot_half_spacing",),
        stronger={"plate_foot": ("plates.front.foot_tube.outer_diameter", "plates.front.foot_tube.wall", "plates.front.foot_web")}),)
    geometry = plate_foot
    material_of = "RailTabs"
    links = (("FrontPlate", "The narrow front plate that it carries"),
             ("RailTabs", "Bolt and width that it shares with the rail tabs"))

    @classmethod
    def spec(cls, records, scene):
        return plate_foot.spec(records["FrontPlate"], records["RailTabs"], scene, records.side)
