"""Limiter strut: fore-aft strut with rod ends from the front plate to a main rail."""
from __future__ import annotations

from .. import model
from ..geometry import limiter_strut
from .base import PartFeature


class LimiterStrut(PartFeature):
    """The strut; it unbolts at both ends."""
    kind = "limiter_strut"
    record = model.LimiterStrut
    geometry = limiter_strut

    @classmethod
    def spec(cls, records, scene):
        return limiter_strut.spec(records.own, scene)
