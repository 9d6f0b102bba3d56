"""Firewall: the panel on the mid plate's front face, made where the chassis has a firewall line."""
from __future__ import annotations

from ..geometry import firewall
from .base import PartFeature, developed_area, output

MATERIAL = "6061-T6"


class Firewall(PartFeature):
    """The panel. It goes with the mid plate; ``AheadOfLine`` says how far that is from the chassis's firewall line."""
    kind = "firewall"
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
