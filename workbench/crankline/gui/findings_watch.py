"""What the findings dock watches: the document, the selection, and whether a car is still what was checked.

The host calls observers in the middle of what it does, also of our own selecting; so they only ask for a look afterwards.
"""
from __future__ import annotations

from dataclasses import replace
from typing import Any

import FreeCAD as App
import FreeCADGui as Gui

from ..features import read
from ..features.digest import digest

KEPT = "CheckedFindings"
"""Property of a car's own object that holds the findings of the last check, and when that was."""
STATE = "up to date"
_LOOKS = ("Visibility", "Label", "Label2", "Mark", KEPT)
"""Properties that no rule reads."""


def marks(layout) -> dict[str, Any]:
    """What the findings of a car rest on: every part's inputs, shape and place, by key, and the numbers of the car but for its
    waivers, under an empty key."""
    found: dict[str, Any] = {}
    for obj in read.members(layout):
        if hasattr(obj, "ShapeDigest"):
            place = obj.Placement
            found[obj.Key] = (obj.ShapeDigest, obj.ShapeMark, tuple(round(value, 6) for value in (*place.Base, *place.Rotation.Q)),
                              obj.isValid())
    # A broken chassis leaves every part as it was: what waits for it is not what was checked.
    found[STATE] = tuple((obj.Key, obj.isValid(), "Touched" in obj.State) for obj in read.members(layout))
    sketches = [(name, getattr(layout.Chassis, name, None)) for name in ("SideSketch", "PlanSketch")]
    found["sketches"] = tuple((name, tuple(map(sketch.getConstruction, range(sketch.GeometryCount))), sketch.isValid(),
                               tuple((one.Name, one.Type, round(one.Value, 6)) for one in sketch.Constraints))
                              for name, sketch in sketches if sketch is not None)
    found[STATE] += tuple((name, sketch.isValid(), "Touched" in sketch.State) for name, sketch in sketches if sketch is not None)
    found["containers"] = tuple((part.Key, tuple(round(value, 6) for value in (*part.Placement.Base, *part.Placement.Rotation.Q)))
                                for part in read.containers(layout))
    try:
        car = read.car(layout)
        absent: Any = None
        found[""] = replace(car, rules=absent if car.rules is None else replace(car.rules, waivers=absent))
    except ValueError as error:
        found[""] = str(error)
    return found


def mark(found: dict[str, Any]) -> str:
    """Digest of what the findings of a car rest on, equal after saving and opening: whether it is recomputed is left out."""
    rest = {name: value for name, value in found.items() if name != STATE}
    return digest(tuple((name, rest[name]) for name in sorted(rest)), 1)


def watch(dock) -> None:
    """Have a dock told of what happens to its document and to the selection, as long as the window lives."""
    App.addDocumentObserver(_Document(dock))
    Gui.Selection.addObserver(_Selection(dock))


class _Document:
    """Findings grow old with a recompute and go with their document."""

    def __init__(self, dock):
        self._dock = dock

    def _ours(self, document) -> bool:
        return bool(self._dock.document) and document.Name == self._dock.document

    def slotRecomputedDocument(self, document) -> None:
        if self._ours(document):
            self._dock.soon("age")

    def slotUndoDocument(self, document) -> None:
        if self._ours(document):
            self._dock.soon("age")
            self._dock.soon("waivers")

    def slotRedoDocument(self, document) -> None:
        self.slotUndoDocument(document)

    def slotChangedObject(self, obj, name: str) -> None:
        if name == "Waivers" and self._ours(obj.Document):
            self._dock.soon("waivers")
        elif name not in _LOOKS and self._ours(obj.Document):
            self._dock.soon("age")     # an edit ends a check that is under way, without waiting for the recompute

    def slotActivateDocument(self, document) -> None:
        if self._ours(document):
            self._dock.come_back()
        else:
            self._dock.leave()
            self._dock.soon("kept")

    def slotStartSaveDocument(self, document, _path) -> None:
        if self._ours(document):
            self._dock.keep()
            self._dock.leave()   # what is shown for a while is not saved as shown

    def slotDeletedDocument(self, document) -> None:
        if self._ours(document):
            self._dock.clear()


class _Selection:
    """A part that is selected marks its rows."""

    def __init__(self, dock):
        self._dock = dock

    def addSelection(self, document, *_rest) -> None:
        if document == self._dock.document:
            self._dock.soon("selection")

    def setSelection(self, document, *_rest) -> None:
        self.addSelection(document)

    def removeSelection(self, document, *_rest) -> None:
        self.addSelection(document)

    def clearSelection(self, *_rest) -> None:
        self._dock.soon("selection")
