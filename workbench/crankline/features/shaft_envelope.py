"""Shaft envelope: what the driveshaft sweeps over travel, for clearances. A reference volume: it has no mass."""
from __future__ import annotations

from collections.abc import Iterator

from ..geometry import shaft_envelope
from ..mechanics.frames import Frame
from ..record import filled
from ..snapshot import BETWEEN, PartView, Snapshot
from .base import PartFeature
from .part_kind import ENGINE_PATHS, NOT_SCREENED, PHANTOM, Look, PartKind, Removal, none
from .result_properties import output
from .side_item import Item, boxes


def numbered(snapshot: Snapshot, parts: tuple[PartView, ...]) -> Iterator[Item]:
    """Near its rear end, above the shaft."""
    swing = filled(snapshot.car.driveshaft).joint_swing_diameter
    for part, box in boxes(parts):
        x = box.XMin + 0.15 * box.XLength
        yield Item("Driveshaft travel envelope", x, float(snapshot.placed.shaft_at(x)[2]) + swing / 2.0, None, None, part.material)


class ShaftEnvelope(PartFeature):
    """The swept volume; all its inputs belong to the driveshaft and to the chassis."""
    kind = "shaft_envelope"
    declares = (PartKind(
        role="shaft_envelope", kind="shaft_envelope", label="Shaft envelope", container="driveline",
        section="driveshaft",
        moves_with=BETWEEN, welded=False, reference=True, protective=False,
        supply=none("it is no part that is made"), mark=none("it is no part that is made"),
        look=Look((0.45, 0.70, 0.95), 85, edge=(0.30, 0.50, 0.75), pictured=False),
        stands_on=none("it is a swept volume"),
        joints=none("it meets what it meets"),
        keeps_clear=none("it is what containment and members keep clear of"),
        near_driver=True,
        side_view=PHANTOM,
        numbered=numbered,
        hardware=none("it is a swept volume"),
        removal=Removal(absent=("driveshaft", "transmission", *ENGINE_PATHS)),
        parameters=("rear_end.pinion_pitch",),
        stronger=NOT_SCREENED),)
    geometry = shaft_envelope
    links = (("Driveshaft", "The driveshaft that sweeps it"),)

    def ensure(self, obj) -> None:
        super().ensure(obj)
        output(obj, "App::PropertyDistance", "WhipAllowance", "Results", "Radial allowance for whip that it holds; set it on "
               "the driveshaft")

    @classmethod
    def spec(cls, records, scene):
        return shaft_envelope.spec(records["Driveshaft"], scene)

    @classmethod
    def frame(cls, records, scene) -> Frame:
        return scene.shaft_frame

    def results(self, obj, records, spec, scene) -> None:
        obj.WhipAllowance = records["Driveshaft"].whip_allowance

    @classmethod
    def mass(cls, records, scene, volume) -> float:
        return 0.0
