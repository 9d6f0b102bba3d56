"""Firewall: panel at the chassis's firewall line, with an opening in which the mid plate stands."""
from __future__ import annotations

from ..geometry import firewall
from .base import ChassisPart, linked_record

MATERIAL = "6061-T6"


class Firewall(ChassisPart):
    """The panel. Its station is the chassis's; its opening follows the mid plate."""
    kind = "firewall"
    geometry = firewall
    links = (("MidPlate", "The plate that stands in its opening"),)

    def spec(self, obj, scene):
        if scene.chassis.firewall is None:
            raise ValueError(f"{obj.Label}: the chassis has no firewall line any more; draw it in the side sketch or delete this object")
        return firewall.spec(scene.chassis.firewall, linked_record(obj, "MidPlate"), scene)

    def material(self, obj) -> str:
        return MATERIAL
