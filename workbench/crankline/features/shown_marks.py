"""The marks of a car's parts where the tree and the property panel show them: as the part's description and as its property ``Mark``.

They follow from all parts of a car together, so that no part computes its own: they are put there when a document is built, or a car is
checked or exported. A part that is built again loses its own until then: no mark is better than one of another shape.
"""
from __future__ import annotations

from collections.abc import Mapping

from .base import PartFeature
from .result_properties import output, put_mark


def show(layout, marks: Mapping[str, str]) -> None:
    """Show the mark of every part; ``marks``: part key to mark. Nothing is touched by it."""
    from .read import members
    for obj in members(layout):
        proxy = getattr(obj, "Proxy", None)
        if not isinstance(proxy, PartFeature):
            continue
        if proxy.declaration(obj.Key).mark and "Mark" not in obj.PropertiesList:
            output(obj, "App::PropertyString", "Mark", "Results", "Mark on drawings, cut files and lists, as of the last check or export")
        put_mark(obj, marks.get(obj.Key, ""))
