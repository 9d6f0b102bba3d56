"""Shaft envelope: what the driveshaft sweeps over travel, for clearances. A reference volume: it has no mass."""
from __future__ import annotations

from ..geometry import shaft_envelope
from ..mechanics.frames import Frame
from ..snapshot import BETWEEN
from .base import PartFeature, linked_record, output


class ShaftEnvelope(PartFeature):
    """The swept volume; all its inputs belong to the driveshaft and to the chassis."""
    kind = "shaft_envelope"
    geometry = shaft_envelope
    moves_with = BETWEEN
    reference = True
    links = (("Driveshaft", "The driveshaft that sweeps it"),)

    def ensure(self, obj) -> None:
        super().ensure(obj)
        output(obj, "App::PropertyDistance", "WhipAllowance", "Results", "Radial allowance for whip that it holds; set it on "
               "the driveshaft")

    def spec(self, obj, scene):
        return shaft_envelope.spec(linked_record(obj, "Driveshaft"), scene)

    def frame(self, obj, scene) -> Frame:
        return scene.shaft_frame

    def show(self, obj, scene) -> None:
        obj.WhipAllowance = linked_record(obj, "Driveshaft").whip_allowance

    def mass(self, obj, scene) -> float:
        return 0.0
