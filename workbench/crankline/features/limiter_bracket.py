"""Bracket of the limiter strut on the rear face of the front plate, bolted."""
from __future__ import annotations

from ..geometry import limiter_bracket
from .base import PartFeature, linked_record


class LimiterBracket(PartFeature):
    """The bracket at the strut's front end."""
    kind = "limiter_bracket"
    geometry = limiter_bracket
    links = (("LimiterStrut", "The strut that it holds"),)
    end = "plate"

    def spec(self, obj, scene):
        return limiter_bracket.spec(linked_record(obj, "LimiterStrut"), scene, self.end)

    def material(self, obj) -> str:
        return obj.LimiterStrut.Material if obj.LimiterStrut is not None else ""
