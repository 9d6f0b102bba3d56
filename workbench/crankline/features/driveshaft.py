"""Driveshaft: tube and two joints between transmission and rear end, at static ride height."""
from __future__ import annotations

from collections.abc import Iterator

from .. import catalog, model
from ..geometry import driveshaft
from ..mechanics.frames import Frame
from ..record import filled
from ..snapshot import BETWEEN, PartView, Snapshot
from .base import PartFeature
from .part_kind import ENGINE_PATHS, NOT_SCREENED, OUTLINE, Hold, Joint, Look, PartKind, Removal, Supply, none
from .side_item import Item, tube

JOINT_MATERIAL = "4130N"


def numbered(snapshot: Snapshot, _parts: tuple[PartView, ...]) -> Iterator[Item]:
    """Near its middle."""
    shaft, scene = filled(snapshot.car.driveshaft), snapshot.placed
    x = float(scene.rear_joint[0] + 0.45 * (scene.front_joint[0] - scene.rear_joint[0]))
    yield Item("Driveshaft", x, float(scene.shaft_at(x)[2]), None, None, tube(shaft, shaft.material, snapshot.system), inside=True)


class Driveshaft(PartFeature):
    """The shaft; its length is the distance between the joints and therefore a result."""
    kind = "driveshaft"
    schema = 2
    declares = (PartKind(
        role="driveshaft", kind="driveshaft", label="Driveshaft", container="driveline",
        section="driveshaft",
        moves_with=BETWEEN, welded=False, reference=False, protective=False,
        supply=Supply.BOUGHT, mark=none("it is bought by its order sheet"),
        look=Look((0.62, 0.65, 0.69), composite=(0.17, 0.18, 0.20)),
        stands_on=none("its joints carry it"),
        joints=(Joint(Hold.SLIDING, ("transmission",)),),
        keeps_clear=none("what it sweeps is what keeps clear"),
        near_driver=none("what it sweeps is drawn for it"),
        side_view=OUTLINE,
        numbered=numbered,
        hardware=none("straps and joints are bought with the shaft"),
        removal=Removal(moves=("driveshaft",), absent=("transmission", *ENGINE_PATHS)),
        parameters=("rear_end.pinion_pitch",),
        stronger=NOT_SCREENED),)
    record = model.Driveshaft
    geometry = driveshaft

    @classmethod
    def spec(cls, records, scene):
        return driveshaft.spec(records.own, scene)

    @classmethod
    def frame(cls, records, scene) -> Frame:
        return scene.shaft_frame

    @classmethod
    def mass(cls, records, scene, volume) -> float:
        """The tube in its own material; yokes and joints are steel whatever the tube is."""
        tube = driveshaft.tube_volume(driveshaft.spec(records.own, scene))
        return records.own.density * tube + catalog.material(JOINT_MATERIAL).density * (volume() - tube)
