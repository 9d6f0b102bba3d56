"""A tube of the chassis: rails, uprights, cross members, upper members. All of them come from the chassis object."""
from __future__ import annotations

from ..geometry import chassis_tube
from .base import ChassisPart, linked_record


class ChassisTube(ChassisPart):
    """One tube; its key says which."""
    kind = "chassis_tube"
    geometry = chassis_tube
    links = (("CrossMember", "The transmission cross member that stands in the line of this tube and breaks it"),)
    optional_links = ("CrossMember",)

    def spec(self, obj, scene):
        found = chassis_tube.specs(scene.chassis, cross_member=linked_record(obj, "CrossMember"))
        if obj.Key not in found:
            raise ValueError(f"{obj.Label}: the chassis has no {obj.Key} any more; draw it in the sketches or delete this object")
        return found[obj.Key]

    def material(self, obj) -> str:
        layout = obj.Layout
        return layout.Chassis.RailsMaterial if layout is not None and layout.Chassis is not None else ""
