"""What the host's own Duplicate, Copy and Paste make of our parts: a copy of an item of a list joins the car under a name of its own, as
one undo step; a car has one of anything else, and a sentence says so. The host would leave an object in no branch of the tree, or a second
half of a car with it.
"""
from __future__ import annotations

from typing import Any

import FreeCAD as App
from PySide import QtCore

from .. import sections
from ..features import read
from ..features.apply import apply
from ..features.base import is_ours
from ..features.edited import path_of
from .editing import added, label_of
from .messages import attempt, show_message, show_status
from .task_panel import in_error

_watching: list[_Copies] = []


def watch() -> None:
    """Look at what the host copies from now on."""
    if not _watching:
        _watching.append(_Copies())
        App.addDocumentObserver(_watching[0])


class _Copies:
    """Document observer: the host calls its slots."""

    def __init__(self) -> None:
        self._made: dict[str, list[str]] = {}

    def slotCreatedObject(self, obj) -> None:
        """An object that is read from what was copied, inside the step of a user: one of a file that is opened is in no step."""
        document = obj.Document
        if document.Restoring and document.HasPendingTransaction:
            if document.Name not in self._made:
                self._made[document.Name] = []
                # Not in the middle of what the host does.
                QtCore.QTimer.singleShot(0, lambda: self._settle(document.Name))
            self._made[document.Name].append(obj.Name)

    def _settle(self, name: str) -> None:
        document = App.listDocuments().get(name)
        if document is not None and document.HasPendingTransaction:
            QtCore.QTimer.singleShot(20, lambda: self._settle(name))
            return
        made = self._made.pop(name, [])
        if document is not None:
            objects = [obj for obj in map(document.getObject, made) if obj is not None]
            if any(is_ours(obj) for obj in objects) and not _whole(objects):
                step = document.UndoNames[0] if document.UndoNames else "Copy"
                attempt(step, lambda: _join(document, objects, step))


def _whole(objects: list[Any]) -> bool:
    """Whether everything that is ours among objects belongs to whole cars that were copied with their trees."""
    layouts = {obj.Layout.Name for obj in objects if getattr(obj, "Kind", "") == "car" and obj.Layout is not None}
    own = {obj.Name for obj in objects}
    held = {part.Name for obj in objects if getattr(obj, "Kind", "") == "layout" and obj.Name in layouts
            for part in (*read.members(obj), *read.containers(obj))}
    return bool(held) and all(obj.Name in held for obj in objects if is_ours(obj)) and held <= own


def _join(document, objects: list[Any], step: str) -> None:
    """Take the copies out again, and add the items that they are of to the car of the document."""
    made = {obj.Name for obj in objects}
    asked = [obj for obj in objects if is_ours(obj) and not any(other.Name in made for other in obj.InList)]
    found = [layout for layout in read.layouts(document) if layout.Name not in made]
    # The car that the copies were linked to, where they came without it.
    linked = {obj.Layout.Name for obj in asked if getattr(obj, "Layout", None) is not None} - made
    layout = next((one for one in found if linked == {one.Name} or (not linked and len(found) == 1)), None)
    labels = ", ".join(obj.Label for obj in asked)
    wanted = [(path, obj.Proxy.read(obj, absent=True)) for obj in asked
              if (path := path_of(obj.Kind, obj.Key)) and sections.section_of(path).many]
    _take_out(document, made)
    if layout is None:
        where = "holds no car" if not found else "holds several cars"
        show_message(step, f"{labels} was not kept: {document.Label} {where}, and a part belongs to one",
                     "Add the part from the list of the car's sections.")
        return
    if len(wanted) != len(asked):
        show_message(step, f"{labels} was not kept: a car has one of each of its sections, and copies only of loops, chassis tubes, "
                           "headers, masses and protective items", "Edit the part that is there, or save the document under another name.")
        return
    car, names = read.car(layout), []
    for path, record in wanted:
        car, name = sections.joined(car, path, record)
        names.append(f"{label_of(path)}, {name}")
    told = "; ".join(names)
    apply(layout, car, title=f"{step} {told}")
    show_status(in_error(layout) or added(told))


def _take_out(document, made: set[str]) -> None:
    """The copies out of the document, and out of what can be undone and redone."""
    if document.UndoNames:
        document.undo()
        # A change that is not kept: with it the host forgets what could be redone.
        document.openTransaction("Copy")
        document.addObject("App::FeaturePython", "Copy")
        document.abortTransaction()
    for name in made:
        if document.getObject(name) is not None:
            document.removeObject(name)
