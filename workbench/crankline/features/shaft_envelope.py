"""Shaft envelope: what the driveshaft sweeps over travel, for clearances. A reference volume: it has no mass."""
from __future__ import annotations

from ..geometry import shaft_envelope
from ..mechanics.frames import Frame
from ..snapshot import BETWEEN
from .base import PartFeature, output


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
