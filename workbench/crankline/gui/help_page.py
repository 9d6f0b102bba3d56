"""The help page: HTML with pictures that comes with the workbench, in a window beside the work."""
from __future__ import annotations

import os

import FreeCADGui as Gui
from PySide import QtCore, QtGui

from .translation import translate

PAGE = os.path.join(os.path.dirname(__file__), "help", "index.html")
_window: QtGui.QDialog | None = None


def show() -> None:
    """Bring the page to the front; made at first use."""
    global _window
    if _window is None:
        _window = QtGui.QDialog(Gui.getMainWindow())
        _window.setObjectName("CranklineHelp")
        _window.setWindowTitle(translate("Crankline", "Crankline Help"))
        column = QtGui.QVBoxLayout(_window)
        column.setContentsMargins(0, 0, 0, 0)
        browser = QtGui.QTextBrowser()
        browser.setObjectName("CranklineHelpPage")
        browser.setOpenExternalLinks(True)
        browser.setSource(QtCore.QUrl.fromLocalFile(PAGE))
        column.addWidget(browser)
        _window.resize(820, 640)
    _window.show()
    _window.raise_()
    _window.activateWindow()
