"""A tube of the chassis: rails, uprights, cross members, upper members. All of them come from the chassis object."""
from __future__ import annotations

from ..geometry import chassis_tube
from .base import ChassisPart


class ChassisTube(ChassisPart):
    """One tube; its key says which."""
    kind = "chassis_tube"
    geometry = chassis_tube
    links = (("CrossMember", "The transmission cross member that stands in the line of this tube and breaks it"),)
    optional_links = ("CrossMember",)

    @classmethod
    def spec(cls, records, scene):
        found = chassis_tube.specs(scene.chassis, cross_member=records["CrossMember"])
        if records.key not in found:
            raise ValueError(f"{records.label}: the chassis has no {records.key} any more; draw it in the sketches or delete this object")
        return found[records.key]

    @classmethod
    def material(cls, records, scene) -> str:
        return (scene.chassis.rails.material or "") if scene is not None else ""
