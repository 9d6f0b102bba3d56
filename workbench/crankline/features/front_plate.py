"""Front plate: on the front of the block, to the rails or carried by plate feet."""
from __future__ import annotations

from collections.abc import Iterator

from .. import model, sections
from ..geometry import front_plate
from ..mechanics.scene import Scene
from ..record import filled
from ..snapshot import POWERTRAIN, PartView, Snapshot
from .base import PartFeature
from .joint_hardware import HardwareLine, bolts_of, tapped
from .part_kind import ENGINE_PATHS, PLATE, VISIBLE, Hold, Joint, PartKind, Removal, Supply, none
from .side_item import Item, at, plate


def hardware(car: model.Car, scene: Scene) -> tuple[HardwareLine, ...]:
    """Bolts into the block's front face, by the size of its holes."""
    if car.plates.front is None:
        return ()
    made = front_plate.spec(car.plates.front, car.mounts.rail_tabs, scene)
    holes = list(front_plate.drilled(scene.engine.front_holes, made.openings))
    return tuple(line for diameter, count in bolts_of(holes)
                 for line in tapped(diameter, count, car.plates.front.thickness, ("front_plate", "engine")))


def numbered(snapshot: Snapshot, _parts: tuple[PartView, ...]) -> Iterator[Item]:
    """Its middle, with the station of its rear face."""
    front, scene = filled(snapshot.car.plates).front, snapshot.placed
    if front:
        length = scene.engine.block_length
        x, z = at(scene.engine_point(length + front.thickness / 2.0))
        yield Item("Front plate, rear face", x, z, float(scene.engine_point(length)[0]), None, plate(front, snapshot.system), True)


class FrontPlate(PartFeature):
    """The plate that carries the powertrain's front."""
    kind = "front_plate"
    declares = (PartKind(
        role="front_plate", kind="front_plate", label="Front plate", container="powertrain",
        section="plates.front",
        moves_with=POWERTRAIN, welded=False, reference=False, protective=False,
        supply=Supply.KIT, mark="FP",
        look=PLATE,
        stands_on=none("rail tabs clamp it, or plate feet carry it"),
        joints=(Joint(Hold.BOLTED, ("engine",)),),
        keeps_clear=none("its ears are over the rails by design"),
        near_driver=True,
        side_view=VISIBLE,
        numbered=numbered,
        hardware=hardware,
        removal=Removal(moves=ENGINE_PATHS),
        parameters=none("its outline follows the block and what carries it"),
        stronger=dict.fromkeys(("bearing", "fore_aft"), ("+plates.front.thickness",))),)
    record = model.FrontPlate
    geometry = front_plate
    links = (("RailTabs", "Bolt and width that its ears share with the rail tabs"), ("LimiterStrut", "Fore-aft strut bolted to it"))
    optional_links = ("RailTabs", "LimiterStrut")

    @classmethod
    def unfinished(cls, records) -> str:
        return sections.not_yet(sections.RAIL_TABS) if records["RailTabs"] is None else ""

    @classmethod
    def spec(cls, records, scene):
        return front_plate.spec(records.own, records["RailTabs"], scene, records["LimiterStrut"])
