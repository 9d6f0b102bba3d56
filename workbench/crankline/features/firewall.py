"""Firewall: the panel on the mid plate's front face, made where the chassis has a firewall line."""
from __future__ import annotations

from collections.abc import Iterator

from .. import model
from ..geometry import firewall
from ..mechanics.scene import Scene
from ..snapshot import POWERTRAIN, PartView, Snapshot
from ..units import INCH
from .base import PartFeature
from .joint_hardware import HardwareLine, along, piece, spaced
from .part_kind import NOT_SCREENED, THIN, Hold, Joint, Look, PartKind, Removal, Supply, none
from .result_properties import developed_area, output
from .side_item import Item, boxes

MATERIAL = "6061-T6"


EDGE_RIVET = 0.125 * INCH
"""Blind rivets along the outer edge (common practice, no source)."""


def hardware(car: model.Car, scene: Scene) -> tuple[HardwareLine, ...]:
    """Rivets along the outer edge, drilled on assembly."""
    if None in (scene.chassis.firewall, car.plates.mid, car.mounts.rail_tabs):
        return ()
    panel = firewall.spec(car.plates.mid, car.mounts.rail_tabs, scene)
    # Up one side, over the top and down the other; the portal around the block stays free.
    edge = 2.0 * (panel.z_high - panel.z_low) + panel.left - panel.right
    return piece("rivet", EDGE_RIVET, along(edge), ("firewall",), note=spaced())


def numbered(_snapshot: Snapshot, parts: tuple[PartView, ...]) -> Iterator[Item]:
    """Its middle, with the station of its rearmost point."""
    for part, box in boxes(parts):
        yield Item("Firewall", box.Center.x, box.Center.z, box.XMin, None, part.material)


class Firewall(PartFeature):
    """The panel. It goes with the mid plate; ``AheadOfLine`` says how far that is from the chassis's firewall line."""
    kind = "firewall"
    declares = (PartKind(
        role="firewall", kind="firewall", label="Firewall", container="powertrain",
        section="chassis.firewall",
        moves_with=POWERTRAIN, welded=False, reference=False, protective=True,
        supply=Supply.KIT, mark="FW",
        look=Look((0.70, 0.68, 0.78), 70),
        stands_on=none("it lies on the mid plate and is trimmed to what it meets"),
        joints=(Joint(Hold.TRIMMED, ("mid_plate", "rail", "upper_rail", "upright", "support_tube", "tie_tab", "rail_tab", "tunnel")),),
        keeps_clear=("header_to_chassis", "engine_to_firewall"),
        near_driver=none("it parts the driver from the engine and is built around him"),
        side_view=THIN,
        numbered=numbered,
        hardware=hardware,
        removal=Removal(off_with="firewall"),
        parameters=none("it follows the mid plate"),
        stronger=NOT_SCREENED),)
    geometry = firewall
    links = (("MidPlate", "The plate that it lies on"), ("RailTabs", "Sizes of the tabs that it clears"))

    def ensure(self, obj) -> None:
        super().ensure(obj)
        developed_area(obj)
        output(obj, "App::PropertyDistance", "AheadOfLine", "Results",
               "Front face of the mid plate ahead of the firewall line, at crank height")

    @classmethod
    def spec(cls, records, scene):
        if scene.chassis.firewall is None:
            raise ValueError(f"{records.label}: the chassis has no firewall line any more; draw it in the side sketch or delete this "
                             "object")
        return firewall.spec(records["MidPlate"], records["RailTabs"], scene)

    def results(self, obj, records, spec, scene) -> None:
        obj.DevelopedAreaMm2, obj.AheadOfLine = firewall.flat(spec).area, firewall.gap(scene.chassis.firewall, scene)

    @classmethod
    def material(cls, records, scene) -> str:
        return MATERIAL
