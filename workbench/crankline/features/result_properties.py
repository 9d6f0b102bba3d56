"""Properties that hold results: read-only to the user, and no recompute follows from them."""
from __future__ import annotations

import re

from ..compat import add_property


def output(obj, kind: str, name: str, group: str, doc: str, hidden: bool = False) -> None:
    """A property that holds a result: read-only, and setting it touches nothing."""
    add_property(obj, kind, name, group, doc)
    obj.setPropertyStatus(name, ["ReadOnly", "Output"] + (["Hidden"] if hidden else []))


def developed_area(obj) -> None:
    """The result property of a part that is cut from sheet."""
    output(obj, "App::PropertyFloat", "DevelopedAreaMm2", "Results",
           "Area of the sheet laid flat, at mid thickness, openings taken off (mm2)")


def developed_length(obj, doc: str) -> None:
    """The result property of a part that is bent from straight stock."""
    output(obj, "App::PropertyDistance", "DevelopedLength", "Results", doc)


MARK = re.compile(r"([A-Z]{2}-[0-9]+[LRAB]?)?")
"""A description of a part that is empty or its mark; any other is the user's own and stays."""


def put_mark(obj, mark: str) -> None:
    """Show a part's mark, or none, where the tree and the property panel show it; nothing is touched by it."""
    if "Mark" in obj.PropertiesList and obj.Mark != mark:
        obj.Mark = mark
    if obj.Label2 != mark and MARK.fullmatch(obj.Label2):
        obj.Label2 = mark
