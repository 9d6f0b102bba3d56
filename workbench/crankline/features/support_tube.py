"""Support tube: upper cross tube behind the mid plate, welded to the uprights; it moves with the powertrain."""
from __future__ import annotations

from .. import model
from ..geometry import support_tube
from .base import PartFeature


class SupportTube(PartFeature):
    """The tube to which the top of the mid plate is tied."""
    kind = "support_tube"
    record = model.SupportTube
    geometry = support_tube
    welded = True

    @classmethod
    def spec(cls, records, scene):
        return support_tube.spec(records.own, scene)
