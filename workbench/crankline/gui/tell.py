"""How a sentence reaches the user: a message box for what stops a command, the status bar for small news."""
from __future__ import annotations

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtGui


def status(sentence: str, seconds: float = 8.0) -> None:
    """Small news, for some seconds in the status bar, and in the report view's log."""
    App.Console.PrintLog(f"Crankline: {sentence}\n")
    Gui.getMainWindow().statusBar().showMessage(sentence, int(seconds * 1000))


def box(title: str, sentence: str, more: str = "", warning: bool = True) -> None:
    """A message box over the main window; ``more`` stands below the sentence."""
    message = QtGui.QMessageBox(Gui.getMainWindow())
    message.setObjectName("CranklineMessage")
    message.setIcon(QtGui.QMessageBox.Warning if warning else QtGui.QMessageBox.Information)
    message.setWindowTitle(title)
    message.setText(sentence)
    if more:
        message.setInformativeText(more)
    message.exec_()
