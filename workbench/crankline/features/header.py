"""Header: a box that holds exhaust pipes, for clearances. It goes with the engine and weighs nothing here."""
from __future__ import annotations

from .. import model
from ..compat import add_property
from ..geometry import header
from .base import PartFeature


class Header(PartFeature):
    """One box; pipes that wind around a member are several."""
    kind = "header"
    record = model.Header
    geometry = header
    reference = True

    def ensure(self, obj) -> None:
        super().ensure(obj)
        add_property(obj, "App::PropertyInteger", "Number", "Identity", "Place in the list of headers")
        obj.setPropertyStatus("Number", "Output")

    @classmethod
    def spec(cls, records, scene):
        return header.spec(records.own, scene)

    @classmethod
    def mass(cls, records, scene, volume) -> float:
        return 0.0
