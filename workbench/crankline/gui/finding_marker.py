"""Where a finding is, in the 3-D view: its points, the line between the first two, and what was measured.

Nodes of the scene graph and nothing in the document, drawn over the parts. Hidden parts that a finding is about are shown as long
as it is looked at.
"""
from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import FreeCAD as App
import FreeCADGui as Gui

from . import palette
from .overlay import Overlay

NAME = "CranklineFinding"


def view_of(document):
    """A 3-D view of a document, the active one if it is one; None where there is none."""
    gui = Gui.getDocument(document.Name)
    active = gui.ActiveView
    if hasattr(active, "getSceneGraph"):
        return active
    views = gui.mdiViewsOfType("Gui::View3DInventor")
    return views[0] if views else None


class Marker(Overlay):
    """Marks of one finding in one view; ``close`` takes them out. points: (x, y, z) in the frame of ``root``, mm; text: what stands
    beside them."""

    def __init__(self, view, root: App.Placement, points: Sequence[Sequence[float]], text: str):
        from pivy import coin
        super().__init__(view, root)
        paint = coin.SoBaseColor()
        paint.rgb.setValue(*palette.finding())
        coordinates = coin.SoCoordinate3()
        points = [tuple(map(float, point)) for point in points]
        coordinates.point.setValues(0, len(points), points)
        for node in (paint, coordinates):
            self.top.addChild(node)
        if len(points) > 1:
            style, line = coin.SoDrawStyle(), coin.SoLineSet()
            style.lineWidth = 3.0
            line.numVertices.setValue(2)
            self.top.addChild(style)
            self.top.addChild(line)
        marks = coin.SoMarkerSet()
        marks.markerIndex.setValue(coin.SoMarkerSet.DIAMOND_FILLED_9_9)
        self.top.addChild(marks)
        if text:
            move, font, words = coin.SoTranslation(), coin.SoFont(), coin.SoText2()
            first = points[:2]
            move.translation.setValue(*(sum(values) / len(first) for values in zip(*first)))
            font.name, font.size = "sans:Bold", 18.0
            words.string.setValues(0, 2, [f"   {text}", ""])   # beside the mark, and a line over it
            for node in (move, font, words):
                self.top.addChild(node)
        self.show(self.top, NAME)


class Shown:
    """Hidden objects that are shown for a while; the document does not count as modified by it (on 0.20 it does, as by hand)."""

    def __init__(self, objects: Iterable):
        self._shown = []
        for obj in objects:
            view = obj.ViewObject
            if view is not None and not view.Visibility:
                self._shown.append((obj.Document.Name, obj.Name))
                set_visible(view, True)

    def close(self) -> None:
        """Hide them again, but for those that are hidden or gone already."""
        shown, self._shown = self._shown, []
        for document_name, name in shown:
            document = App.listDocuments().get(document_name)
            obj = document.getObject(name) if document is not None else None
            if obj is not None and obj.ViewObject is not None and obj.ViewObject.Visibility:
                set_visible(obj.ViewObject, False)


def holders(containers: Iterable, objects: Iterable) -> list:
    """The containers that hold objects, outermost first."""
    wanted: list[Any] = list(objects)
    found: list[Any] = []
    while wanted:
        child = wanted.pop()
        for part in containers:
            if part not in found and child in part.Group:
                found.insert(0, part)
                wanted.append(part)
    return found


def set_visible(view, on: bool) -> None:
    """Show or hide an object; the document does not count as modified by it (on 0.20 it does, as by hand)."""
    document = Gui.getDocument(view.Object.Document.Name)
    modified = document.Modified
    view.Visibility = on
    if not modified and document.Modified:
        try:
            document.Modified = False
        except AttributeError:   # read-only on 0.20
            pass
