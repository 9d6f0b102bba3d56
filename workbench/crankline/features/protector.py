"""Block protector: the thin plate between block and mid plate. Its thickness belongs to the layout's stack."""
from __future__ import annotations

from collections.abc import Iterator

from .. import model
from ..geometry import protector
from ..record import filled
from ..snapshot import POWERTRAIN, PartView, Snapshot
from .base import PartFeature
from .part_kind import ENGINE_PATHS, NOT_SCREENED, VISIBLE, Hold, Joint, Look, PartKind, Removal, Supply, none
from .side_item import Item, at, plate


def numbered(snapshot: Snapshot, _parts: tuple[PartView, ...]) -> Iterator[Item]:
    """Its upper half."""
    plates, scene = filled(snapshot.car.plates), snapshot.placed
    if plates.protector:
        top = plates.mid.above_crank if plates.mid is not None else scene.engine.deck_height
        yield Item("Block protector", *at(scene.engine_point(-scene.stack.protector / 2.0, 0.0, 0.6 * top)), None, None,
                   plate(plates.protector, snapshot.system))


class Protector(PartFeature):
    """The plate that keeps a failed flywheel or converter out of pan and block."""
    kind = "protector"
    declares = (PartKind(
        role="protector", kind="protector", label="Protector", container="powertrain",
        section="plates.protector",
        moves_with=POWERTRAIN, welded=False, reference=False, protective=True,
        supply=Supply.KIT, mark="BP",
        look=Look((0.95, 0.82, 0.47), edge_width=1.5),
        stands_on=none("it is clamped in the stack"),
        joints=(Joint(Hold.BOLTED, ("engine", "mid_plate", "transmission")),),
        keeps_clear=none("it lies within the outline of what it protects"),
        near_driver=True,
        side_view=VISIBLE,
        numbered=numbered,
        hardware=none("the mid plate lists the bolts of the stack"),
        removal=Removal(moves=ENGINE_PATHS),
        parameters=none("its outline follows the block's"),
        stronger=NOT_SCREENED),)
    record = model.Protector
    geometry = protector
    shown = ("Thickness",)

    @classmethod
    def spec(cls, records, scene):
        return protector.spec(records.own, scene)

    def show(self, obj, scene) -> None:
        obj.Thickness = scene.stack.protector
