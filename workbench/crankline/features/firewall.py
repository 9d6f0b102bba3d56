"""Firewall: the panel on the mid plate's front face, made where the chassis has a firewall line."""
from __future__ import annotations

from ..geometry import firewall
from .base import PartFeature, developed_area, linked_record, output

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

    def spec(self, obj, scene):
        return firewall.spec(linked_record(obj, "MidPlate"), linked_record(obj, "RailTabs"), scene)

    def show(self, obj, scene) -> None:
        if scene.chassis.firewall is None:
            raise ValueError(f"{obj.Label}: the chassis has no firewall line any more; draw it in the side sketch or delete this object")
        obj.AheadOfLine = firewall.gap(scene.chassis.firewall, scene)

    def results(self, obj, spec) -> None:
        obj.DevelopedAreaMm2 = firewall.flat(spec).area

    def material(self, obj) -> str:
        return MATERIAL
