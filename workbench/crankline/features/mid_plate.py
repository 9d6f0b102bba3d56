"""Mid plate: clamped between block and transmission, spanning the rails. Its thickness belongs to the layout's stack."""
from __future__ import annotations

from collections.abc import Iterator

from .. import model, sections
from ..geometry import mid_plate
from ..mechanics import placement as placing
from ..mechanics.scene import Scene
from ..record import filled
from ..snapshot import POWERTRAIN, PartView, Snapshot
from .base import PartFeature
from .joint_hardware import HardwareLine, bolts_of, piece
from .part_kind import ENGINE_PATHS, PLATE, VISIBLE, Hold, Joint, PartKind, Removal, Supply, none
from .side_item import Item, at, plate


def hardware(car: model.Car, scene: Scene) -> tuple[HardwareLine, ...]:
    """Dowels and bolts of the stack, by the size of the holes in the block's rear face."""
    if car.plates.mid is None:
        return ()
    made = mid_plate.spec(car.plates.mid, car.mounts.rail_tabs, car.mounts.support_tube, scene)
    rear = mid_plate.drilled(scene.engine.rear_holes, made.openings)
    dowels = [hole for hole in rear if abs(hole[2] - scene.engine.dowel_diameter) < 0.01]
    stack = ("transmission", "mid_plate") + (("protector",) if car.plates.protector else ()) + ("engine",)
    lines = piece("dowel", scene.engine.dowel_diameter, len(dowels), stack, scene.engine.dowel_length)
    for diameter, count in bolts_of([hole for hole in rear if hole not in dowels]):
        # Through the bell's flange: how long they are only the car can say.
        given = car.transmission.bell_bolts
        lines += piece("bolt", diameter, count, stack, given.length if given else None) + piece("washer", diameter, count, stack)
    return lines


def numbered(snapshot: Snapshot, _parts: tuple[PartView, ...]) -> Iterator[Item]:
    """The top of its front face, with the station of that face."""
    mid, scene = filled(snapshot.car.plates).mid, snapshot.placed
    front = float(placing.mid_plate_front(scene.located, scene.block, scene.stack.protector))
    yield Item("Mid plate, front face", *at(scene.engine_point(-scene.stack.total, 0.0, mid.above_crank - 30.0)), front, None,
               plate(mid, snapshot.system))


class MidPlate(PartFeature):
    """The plate that carries the powertrain's middle."""
    kind = "mid_plate"
    declares = (PartKind(
        role="mid_plate", kind="mid_plate", label="Mid plate", container="powertrain",
        section="plates.mid",
        moves_with=POWERTRAIN, welded=False, reference=False, protective=False,
        supply=Supply.KIT, mark="MP",
        look=PLATE,
        stands_on=none("rail tabs clamp it and tie tabs hold its top"),
        joints=(Joint(Hold.BOLTED, ("engine", "transmission")),),
        keeps_clear=none("its ears are over the rails by design"),
        near_driver=True,
        side_view=VISIBLE,
        numbered=numbered,
        hardware=hardware,
        removal=Removal(moves=ENGINE_PATHS),
        parameters=("plates.mid.below_crank",),
        stronger=dict.fromkeys(("bearing", "fore_aft"), ("+plates.mid.thickness",))),)
    schema = 2
    record = model.MidPlate
    geometry = mid_plate
    links = (("RailTabs", "Sizes of the rail tabs that clamp it"), ("SupportTube", "Tube to which its top is tied"))
    optional_links = ("RailTabs", "SupportTube")
    shown = ("Thickness",)

    @classmethod
    def unfinished(cls, records) -> str:
        return sections.not_yet(sections.RAIL_TABS) if records["RailTabs"] is None else ""

    @classmethod
    def spec(cls, records, scene):
        return mid_plate.spec(records.own, records["RailTabs"], records["SupportTube"], scene)

    def show(self, obj, scene) -> None:
        obj.Thickness = scene.stack.mid_plate
