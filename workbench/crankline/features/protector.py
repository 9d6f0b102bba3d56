"""Block protector: the thin plate between block and mid plate. Its thickness belongs to the layout's stack."""
from __future__ import annotations

from .. import model
from ..geometry import protector
from .base import PartFeature


class Protector(PartFeature):
    """The plate that keeps a failed flywheel or converter out of pan and block."""
    kind = "protector"
    record = model.Protector
    geometry = protector
    shown = ("Thickness",)

    @classmethod
    def spec(cls, records, scene):
        return protector.spec(records.own, scene)

    def show(self, obj, scene) -> None:
        obj.Thickness = scene.stack.protector
