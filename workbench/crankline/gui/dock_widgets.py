"""Docks and their widgets."""
from __future__ import annotations

from PySide import QtCore, QtGui

from ..compat import tasks_cover_the_right


def choice_box(name: str, told: str, items) -> QtGui.QComboBox:
    """A box to choose from. items: (label, what it stands for); told: what a screen reader and a tip say."""
    choice = QtGui.QComboBox()
    for label, values in items:
        choice.addItem(label, values)
    choice.setObjectName(name)
    choice.setAccessibleName(told)
    choice.setToolTip(told)
    choice.setSizeAdjustPolicy(QtGui.QComboBox.AdjustToContents)
    return choice


def push_button(text: str, name: str, tip: str, action) -> QtGui.QPushButton:
    """A button that does something; its object name begins with Crankline."""
    button = QtGui.QPushButton(text)
    button.setObjectName(f"Crankline{name}")
    button.setToolTip(tip)
    button.clicked.connect(lambda *_: action())
    return button


class BesidePanel(QtGui.QDockWidget):
    """A dock that goes with a task panel, of two widgets: one above the other at a side of the window, side by side below it."""

    def __init__(self, parent, title: str, name: str):
        super().__init__(title, parent)
        self.setObjectName(name)
        self.setFeatures(QtGui.QDockWidget.DockWidgetMovable | QtGui.QDockWidget.DockWidgetFloatable)

    def hold(self, *widgets: QtGui.QWidget, sizes: tuple[int, int]) -> None:
        """Show the two widgets; sizes: of theirs at first, pixels."""
        split = QtGui.QSplitter(QtCore.Qt.Vertical)
        for widget in widgets:
            split.addWidget(widget)
        split.setSizes(list(sizes))
        self.setWidget(split)
        self.dockLocationChanged.connect(lambda area: split.setOrientation(
            QtCore.Qt.Vertical if area in (QtCore.Qt.LeftDockWidgetArea, QtCore.Qt.RightDockWidgetArea) else QtCore.Qt.Horizontal))

    def leave(self, *_ignored) -> None:
        """Take the dock out of the window; nothing happens the second time."""
        try:
            self.hide()
            self.setParent(None)
            self.deleteLater()
        except RuntimeError:    # gone with the window
            pass


def put_below(window, dock) -> None:
    """Put a dock below the view, as a tab of one that is there: the whole width, instead of half of it beside the console."""
    _put(window, dock, QtCore.Qt.BottomDockWidgetArea)


def put_beside(window, dock, width: int) -> None:
    """Put a dock of a width (pixels) beside the view, as a tab of one that is there: at the side where no task panel is."""
    covered = tasks_cover_the_right(window.findChildren(QtGui.QDockWidget))
    _put(window, dock, QtCore.Qt.LeftDockWidgetArea if covered else QtCore.Qt.RightDockWidgetArea)
    window.resizeDocks([dock], [width], QtCore.Qt.Horizontal)


def _put(window, dock, area) -> None:
    window.addDockWidget(area, dock)
    for other in window.findChildren(QtGui.QDockWidget):
        if other is not dock and other.isVisible() and not other.isFloating() and window.dockWidgetArea(other) == area:
            window.tabifyDockWidget(other, dock)
            return
