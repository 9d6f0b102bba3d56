"""The host's own displays (dimensions of sketches, property editor, status bar) in the unit of the car that is looked at.

Only what is shown in this session: the user's preference stays, and a document without a car is shown as it says.
"""
from __future__ import annotations

import FreeCAD as App
from PySide import QtCore

from ..features import read
from ..features.base import car_units

SCHEMA = {"in": 3, "mm": 0}
"""Units of a car to the number of the host's unit system: decimal inches, millimeters. The numbers are the same in every version."""
INCHES = (2, 3, 5, 7)
"""Unit systems of the host in which lengths are in inches and feet."""
SETTLE = 200
"""ms after what changes the document that is looked at."""
_watching: list[_Watch] = []


def watch() -> None:
    """Show each document in the units of its car from now on."""
    if not _watching:
        _watching.append(_Watch())
        App.addDocumentObserver(_watching[0])
    _watching[0].later()


def schema_for(units: str | None, preferred: int) -> int:
    """The unit system for a car in some units (None: no car), where the user or the document prefers one: that one where it is of the same
    kind."""
    if units is None or (units == "in") == (preferred in INCHES):
        return preferred
    return SCHEMA.get(units, preferred)


class _Watch:
    """Document observer: the host calls its slots."""

    def __init__(self) -> None:
        self._soon = QtCore.QTimer()
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self._settle)

    def later(self) -> None:
        """Once the host has done what it does: 1.1 takes its own unit system some rounds of its loop after a document is opened."""
        self._soon.start(SETTLE)

    def slotActivateDocument(self, _document) -> None:
        self.later()

    def slotDeletedDocument(self, _document) -> None:
        self.later()

    def slotChangedObject(self, obj, name: str) -> None:
        if name == "Units" and getattr(obj, "Kind", "") == "car":
            self.later()

    @staticmethod
    def _settle() -> None:
        document = App.ActiveDocument
        preferred = App.ParamGet("User parameter:BaseApp/Preferences/Units").GetInt("UserSchema", 0)
        if document is not None and "UnitSystem" in document.PropertiesList:   # 1.0 and later: each document has its own
            names = document.getEnumerationsOfProperty("UnitSystem")
            preferred = names.index(document.UnitSystem) if document.UnitSystem in names else preferred
        found = read.layouts(document) if document is not None else []
        wanted = schema_for(car_units(found[0]) if found else None, preferred)
        if App.Units.getSchema() != wanted:
            App.Units.setSchema(wanted)
