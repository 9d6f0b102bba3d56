"""Bracket of the limiter strut on the rear face of the front plate, bolted."""
from __future__ import annotations

from ..geometry import limiter_bracket
from .base import PartFeature


class LimiterBracket(PartFeature):
    """The bracket at the strut's front end."""
    kind = "limiter_bracket"
    geometry = limiter_bracket
    material_of = "LimiterStrut"
    links = (("LimiterStrut", "The strut that it holds"),)
    end = "plate"

    @classmethod
    def spec(cls, records, scene):
        return limiter_bracket.spec(records["LimiterStrut"], scene, cls.end)
