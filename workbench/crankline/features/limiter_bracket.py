"""Bracket of the limiter strut: bolted to the front plate, or welded on a main rail."""
from __future__ import annotations

from ..geometry import limiter_bracket
from .base import PartFeature, linked_record


class LimiterBracket(PartFeature):
    """One bracket; its key says which: ``limiter_bracket/plate``, ``limiter_bracket/rail``."""
    kind = "limiter_bracket"
    geometry = limiter_bracket
    links = (("LimiterStrut", "The strut that it holds"),)

    @staticmethod
    def _end(obj) -> str:
        end = obj.Key.partition("/")[2].split("_")[0]
        if end not in limiter_bracket.ENDS:
            raise ValueError(f"{obj.Label}: its key {obj.Key!r} names no end of the strut; delete this object")
        return end

    def spec(self, obj, scene):
        return limiter_bracket.spec(linked_record(obj, "LimiterStrut"), scene, self._end(obj))

    def material(self, obj) -> str:
        return obj.LimiterStrut.Material if obj.LimiterStrut is not None else ""
