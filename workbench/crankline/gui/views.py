"""View providers: looks, icons, and what a double click does. Their class paths stand in documents: they never move.

``attach`` dresses one object and is called for every object of ours that is created or read while there is a window. A
document that was saved without a window holds no view providers: its objects get them here, and what FreeCAD keeps
hidden then (containers, sketches) is shown once.
"""
from __future__ import annotations

import os
from collections.abc import Callable
from functools import cache

import FreeCAD as App

from ..compat import add_property, restoring
from ..features import read
from ..features.registry import declaration
from . import palette

_ICONS = os.path.join(os.path.dirname(__file__), "icons")
_MARK = "ShownInWindow"


class ViewProvider:
    """View provider of an object of ours; parts have a look, data objects an icon only."""

    def __init__(self, view):
        view.Proxy = self

    def attach(self, view) -> None:
        self.kind = getattr(view.Object, "Kind", "")

    def getIcon(self) -> str:
        return icon(getattr(self, "kind", ""))

    def claimChildren(self) -> list:
        return []

    def doubleClicked(self, view) -> bool:
        from .messages import attempt
        obj = view.Object
        attempt("Edit", lambda: _edit_object(obj))
        return True

    def setupContextMenu(self, view, menu) -> None:
        """What is ours comes first; what the host offers, such as moving what is placed by numbers, comes after it."""
        from PySide import QtGui

        from . import editing
        obj, first = view.Object, next(iter(menu.actions()), None)
        offered: list[tuple[str, Callable[[], object]]] = [("Edit…", lambda: self.doubleClicked(obj.ViewObject))]
        if editing.is_item(obj):
            offered.append(("Duplicate Part", lambda: _attempt("Duplicate Part", obj, editing.duplicate)))
        offered.append(("Remove Part…", lambda: _attempt("Remove Part", obj, editing.remove)))
        for text, action in offered:
            made = QtGui.QAction(text, menu)
            made.triggered.connect(lambda *_, action=action: action())
            if first is not None:
                menu.insertAction(first, made)
            else:
                menu.addAction(made)

    def onDelete(self, view, _elements) -> bool:
        """The host's Delete takes the section out of the car, with what is made for it: an object alone would leave a car in pieces."""
        from PySide import QtCore

        from . import editing
        obj = view.Object
        # Not in the middle of the host's Delete.
        QtCore.QTimer.singleShot(0, lambda: _attempt("Remove Part", obj, editing.remove))
        return False

    def setEdit(self, view, mode: int = 0) -> bool:
        """What the host's own Edit and Transform come to: the panel. What is placed by numbers is not dragged about."""
        self.doubleClicked(view)
        return False   # a task panel and no mode of the view: the host has nothing to end

    def updateData(self, obj, name: str) -> None:
        if name == "Material" and not restoring(obj):
            _paint(obj)

    def dumps(self):
        return None

    def loads(self, state):
        return None

    __getstate__ = dumps   # 0.20 knows only these names
    __setstate__ = loads


class LayoutViewProvider(ViewProvider):
    """View provider of the layout."""


def _attempt(title: str, obj, action) -> None:
    from . import editing
    from .messages import attempt
    attempt(title, lambda: editing.on_object(obj, action))


def _edit_object(obj) -> None:
    from . import editing
    editing.edit_object(obj)


@cache
def icon(kind: str) -> str:
    """Name of a kind's icon in the host's store; the workbench's own where a kind has none.

    The host reads the files of tree icons by Qt's image plugins, and Debian installs the one for SVG only on demand;
    QtSvg is always there.
    """
    import FreeCADGui as Gui
    from PySide import QtCore, QtGui, QtSvg

    import crankline
    path = os.path.join(_ICONS, f"{kind}.svg")
    if not os.path.isfile(path):
        path = os.path.join(crankline.ROOT, "icons", "crankline.svg")
    picture = QtGui.QImage(64, 64, QtGui.QImage.Format_ARGB32_Premultiplied)
    picture.fill(0)
    painter = QtGui.QPainter(picture)
    QtSvg.QSvgRenderer(path).render(painter)
    painter.end()
    store = QtCore.QBuffer()
    store.open(QtCore.QIODevice.WriteOnly)
    picture.save(store, "PNG")
    name = f"crankline-{kind}"
    Gui.addIcon(name, bytes(store.data().data()), "PNG")
    return name


def attach(obj) -> None:
    """Give an object its view provider, look and visibility, unless it has one."""
    view = obj.ViewObject
    if view is None:
        return
    from . import document_units, host_copies
    host_copies.watch()
    if obj.Kind in ("layout", "car"):
        document_units.watch()
    if isinstance(getattr(view, "Proxy", None), ViewProvider):
        return
    fresh = not restoring(obj)
    (LayoutViewProvider if obj.Kind == "layout" else ViewProvider)(view)
    _paint(obj)
    view.signalChangeIcon()   # the tree asked for the icon before there was a view provider
    if not fresh:
        view.Visibility = True
    if obj.Kind == "layout":
        if not fresh:
            _show_car(obj)
        _remember(obj)


def _paint(obj) -> None:
    view = obj.ViewObject
    if "LineColor" not in view.PropertiesList:
        return   # a data object
    look = declaration(obj.Kind, obj.Key).look_of(getattr(obj, "Material", ""))
    # ShapeColor is a property up to 0.21 and still an attribute that may be written afterwards.
    view.ShapeColor, view.LineColor, view.LineWidth = look.color, look.edge, look.edge_width
    view.Transparency = look.transparency


def _show_car(layout) -> None:
    """Show what FreeCAD keeps hidden in a document without view providers: containers and sketches."""
    if getattr(layout, _MARK, False):
        App.Console.PrintWarning(f"{layout.Document.Label}: the document was saved without a window, which loses colors "
                                 "and what was hidden; everything is shown in the standard colors\n")
    for part in read.containers(layout):
        part.ViewObject.Visibility = True
    paint_sketches(layout)


def paint_sketches(layout) -> None:
    """Show a car's sketches as thin lines in our color: they stand among the parts."""
    look = palette.SKETCH
    for part in read.containers(layout):
        for child in part.Group:
            if child.TypeId.startswith("Sketcher::"):
                view = child.ViewObject
                view.Visibility = True
                view.LineColor = view.PointColor = look.color
                view.LineWidth, view.PointSize = look.edge_width, look.edge_width + 1.0


def _remember(layout) -> None:
    """Note in the document that it has had view providers, so that their loss can be told from never having had them."""
    add_property(layout, "App::PropertyBool", _MARK, "Internal", "Whether the document was open in a window")
    layout.setPropertyStatus(_MARK, ["Hidden", "Output"])
    setattr(layout, _MARK, True)
