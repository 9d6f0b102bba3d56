"""What the commands do, apart from asking and from the panels. Every change to a document is one undo step."""
from __future__ import annotations

import os
from contextlib import nullcontext

import FreeCAD as App
import FreeCADGui as Gui

import crankline

from ..features.base import UNLINKED
from ..features.transaction import transaction
from .messages import show_status

EXAMPLE = "full_bodied_automatic.yaml"


class ActionError(ValueError):
    """Something that cannot be done as asked. One sentence."""


def current_layout():
    """The layout that is meant: the selected object's, else the document's only one; ActionError says what is missing."""
    from ..features import read
    document = App.ActiveDocument
    if document is None:
        raise ActionError("No document is open; open one, or create the example car")
    if told := read.newer(document):
        raise ActionError(told)
    chosen = set()
    for obj in Gui.Selection.getSelection(document.Name):
        layout = obj if getattr(obj, "Kind", "") == "layout" else getattr(obj, "Layout", None)
        if layout is not None and getattr(layout, "Kind", "") == "layout":
            chosen.add(layout.Name)
    if len(chosen) == 1:
        layout = document.getObject(chosen.pop())
    else:
        found = read.layouts(document)
        if not found:
            raise ActionError(f"{document.Label}: there is no car in this document; create the example car or open a car file")
        if len(found) > 1:
            raise ActionError(f"{document.Label}: the document holds {len(found)} cars; select a part of the one you mean")
        layout = found[0]
    if getattr(layout, "Proxy", None) is None:
        raise ActionError(f"{layout.Label} {UNLINKED}")
    return layout


def example_car():
    """A new document with the example car."""
    return open_car_file(os.path.join(crankline.ROOT, "demo_assemblies", EXAMPLE))


def open_car_file(path: str):
    """A new document with the car of a car file, made as one undo step; the document."""
    from .. import carfile
    from ..features import make, read
    from . import camera, views
    car = carfile.read(path)
    stem = os.path.splitext(os.path.basename(path))[0]
    document = App.newDocument("Car")
    document.Label = stem
    try:
        with transaction(document, "Open car file"):
            layout = make.add_car(document, car, os.path.dirname(os.path.abspath(path)))
            document.recompute()
            if "Invalid" in layout.State:
                raise ActionError(layout.getStatusString())
            views.paint_sketches(layout)
    except BaseException:
        App.closeDocument(document.Name)
        raise
    camera.isometric(Gui.getDocument(document.Name).ActiveView,
                     [obj for obj in read.members(layout) if obj.TypeId == "Part::FeaturePython"])
    show_status(f"{car.car.name} built from {os.path.basename(path)}")
    return document


def recomputed_snapshot(layout):
    """The snapshot of a layout's car after a recompute; what the recompute changes is one undo step."""
    from ..features import read
    document = layout.Document
    if not read.settled(document):
        # After an undo what is recomputed belongs to the step that was undone: a step of its own would end what can be redone.
        with nullcontext() if document.RedoCount else transaction(document, "Recompute"):
            read.recompute(document)
    return read.snapshot(layout)


def fit_snapshot(layout):
    """The snapshot after a recompute; ActionError where it is not up to date, so that nothing is written from the last good numbers."""
    from ..features import read
    shot = recomputed_snapshot(layout)
    if told := read.not_fit(shot):
        raise ActionError(f"Nothing was written, because the car is not up to date: {told}")
    return shot


def waivers_of(layout) -> tuple:
    """The waivers that a layout's car holds; ValueError where they were damaged."""
    from ..features.data import waivers_from
    return waivers_from(_car_object(layout).Waivers) or ()


def set_waivers(layout, waivers: tuple, name: str) -> None:
    """Write the waivers of a layout's car as one undo step; no shape hangs on them, so nothing is recomputed."""
    from ..features.data import waivers_text
    with transaction(layout.Document, name):
        _car_object(layout).Waivers = waivers_text(tuple(waivers))


def remove_waiver(layout, current) -> None:
    """Take the waiver of a finding, or one that speaks for none, out of a layout's car as one undo step."""
    from ..checks import waivers
    from ..checks.finding import Finding
    held = waivers_of(layout)
    if isinstance(current, Finding):
        index = waivers.speaking(current, held)
    else:
        index = next((i for i, waiver in enumerate(held) if waiver == current.waiver), None)
    if index is not None:
        set_waivers(layout, waivers.without(held, index), "Remove waiver")


def _car_object(layout):
    from ..features import read
    found = next((obj for obj in read.members(layout) if obj.Kind == "car"), None)
    if found is None:
        raise ActionError(f"{layout.Label}: the car object was deleted; undo that or build the document again")
    return found


def formulas(layout) -> list[str]:
    """Formulas that the objects of a car hold, a line each: a car file has their values only."""
    from ..features import read
    return [f"{obj.Label}.{name.lstrip('.')} = {formula}" for obj in read.members(layout)
            for name, formula in getattr(obj, "ExpressionEngine", ())]


def rebuild(layout) -> None:
    """Build every shape of a layout's car again."""
    from ..features import read
    document = layout.Document
    with transaction(document, "Rebuild shapes"):
        read.rebuild(layout)
        document.recompute()
    show_status("Every shape of the car was rebuilt")


def repair_document(document) -> list[str]:
    """Bring lifeless objects back; their labels."""
    from ..features import repair
    with transaction(document, "Repair document"):
        revived = repair.repair(document)
    show_status(f"{len(revived)} objects relinked: {', '.join(revived)}" if revived else "Nothing to repair")
    return revived
