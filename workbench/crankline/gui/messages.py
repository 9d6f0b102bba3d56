"""How a sentence reaches the user: a message box for what stops a command, the status bar for small news."""
from __future__ import annotations

from collections.abc import Callable

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui


def show_status(sentence: str, seconds: float = 8.0) -> None:
    """Small news, for some seconds in the status bar, and in the report view's log."""
    App.Console.PrintLog(f"Crankline: {sentence}\n")
    Gui.getMainWindow().statusBar().showMessage(sentence, int(seconds * 1000))


def show_message(title: str, sentence: str, more: str = "", warning: bool = True) -> None:
    """A message box over the main window; ``more`` stands below the sentence."""
    message = QtGui.QMessageBox(Gui.getMainWindow())
    message.setObjectName("CranklineMessage")
    message.setIcon(QtGui.QMessageBox.Warning if warning else QtGui.QMessageBox.Information)
    message.setWindowTitle(title)
    message.setText(sentence)
    if more:
        message.setInformativeText(more)
    message.exec_()


def problem_label(name: str) -> QtGui.QLabel:
    """A line below or above fields for what is wrong with them; hidden as long as nothing is."""
    label = QtGui.QLabel()
    label.setObjectName(name)
    label.setWordWrap(True)
    label.setTextInteractionFlags(QtCore.Qt.TextSelectableByMouse)
    font = label.font()
    font.setBold(True)
    label.setFont(font)
    label.hide()
    return label


def attempt(title: str, action: Callable[[], object]) -> None:
    """Do something with the cursor of a clock; what it raises becomes a message box with one sentence."""
    QtGui.QApplication.setOverrideCursor(QtGui.QCursor(QtCore.Qt.WaitCursor))
    failure = None
    try:
        action()
    except (ValueError, OSError) as error:
        failure = " ".join(str(error).split())
    except Exception as error:   # the last net: the log gets the traceback, the user a sentence
        import traceback
        App.Console.PrintLog(traceback.format_exc())
        failure = (f"An internal error stopped {title} ({type(error).__name__}: {' '.join(str(error).split())[:200]}); "
                   "nothing was changed. Please report it with the car file.")
    finally:
        QtGui.QApplication.restoreOverrideCursor()
    if failure:
        show_message(title, failure)


def agreed(title: str, question: str, more: str = "") -> bool:
    """Whether the user agrees to something; ``more`` stands below the question."""
    message = QtGui.QMessageBox(Gui.getMainWindow())
    message.setObjectName("CranklineQuestion")
    message.setIcon(QtGui.QMessageBox.Question)
    message.setWindowTitle(title)
    message.setText(question)
    message.setInformativeText(more)
    message.setStandardButtons(QtGui.QMessageBox.Ok | QtGui.QMessageBox.Cancel)
    message.setDefaultButton(QtGui.QMessageBox.Cancel)
    return bool(message.exec_() == QtGui.QMessageBox.Ok)
