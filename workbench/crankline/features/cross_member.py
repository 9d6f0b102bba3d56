"""Transmission cross member: welded between the rails or into the footwell tube; it stays where the chassis is."""
from __future__ import annotations

from .. import model
from ..geometry import cross_member
from .base import ChassisPart


class CrossMember(ChassisPart):
    """The tube that carries the transmission mount."""
    kind = "cross_member"
    record = model.CrossMember
    geometry = cross_member
    welded = True

    def spec(self, obj, scene):
        return cross_member.spec(self.read(obj), scene)
