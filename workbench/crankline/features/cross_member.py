"""Transmission cross member: welded between the rails or into the footwell tube; it stays where the chassis is."""
from __future__ import annotations

from .. import model
from ..geometry import cross_member
from .base import ChassisPart, developed_length


class CrossMember(ChassisPart):
    """The tube that carries the transmission mount."""
    kind = "cross_member"
    record = model.CrossMember
    geometry = cross_member
    welded = True

    def ensure(self, obj) -> None:
        super().ensure(obj)
        developed_length(obj, "Length of the tube's centre line before bending and coping, allowance for the machine's grip not counted")

    @classmethod
    def spec(cls, records, scene):
        return cross_member.spec(records.own, scene)

    def results(self, obj, records, spec, scene) -> None:
        obj.DevelopedLength = cross_member.developed_length(spec)
