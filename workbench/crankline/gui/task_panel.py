"""What our task panels share: one at a time, a sentence where something is wrong, a preview that goes with the panel."""
from __future__ import annotations

from collections.abc import Callable
from typing import Any

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui

from ..features import read
from .messages import problem_label, show_status

LONGEST = 30
"""Characters of a title: a longer one would make the host's task panel wider than a small screen has room for."""
followers: list[Callable[[], None]] = []
"""Called when a panel has been left: what shows the document is brought up to date before the user goes on."""


def may_open() -> bool:
    """Whether a task panel may open; where another one is open, a sentence in the status bar says so."""
    if Gui.Control.activeDialog():
        show_status("Another task panel is open; close it first")
        return False
    return True


def in_error(layout) -> str:
    """What to say of parts that are in error after a change; empty where none is."""
    wrong = [obj.Label for obj in read.members(layout) if "Invalid" in obj.State]
    return f"These parts cannot be laid out now: {', '.join(wrong)}; see the tree, or Undo" if wrong else ""


class TaskPanel:
    """``form``: its widget; ``problem``: where a sentence about the whole of it goes. A panel touches the document at OK and not before."""

    def __init__(self, document, name: str, title: str, problem: str):
        self.document = document.Name
        self._preview: Any = None
        self.form = QtGui.QWidget()
        self.form.setObjectName(name)
        self.form.setWindowTitle(title if len(title) <= LONGEST else f"{title[:LONGEST - 1].rstrip(' ,')}…")
        self.column = QtGui.QVBoxLayout(self.form)
        self.column.setContentsMargins(4, 4, 4, 4)
        self.problem = problem_label(problem)
        self._observer = _Closing(self)
        App.addDocumentObserver(self._observer)
        self.form.destroyed.connect(self._observer.stop)

    def getStandardButtons(self):
        return QtGui.QDialogButtonBox.Ok | QtGui.QDialogButtonBox.Cancel

    def _say(self, sentence: str) -> None:
        """Show a sentence; empty: none."""
        self.problem.setText(sentence)
        self.problem.setVisible(bool(sentence))

    def _refuse(self, sentence: str) -> bool:
        """What OK answers where something is wrong: the panel stays open."""
        self._say(sentence)
        QtGui.QApplication.beep()
        return False

    def _preview_by(self, preview: Any) -> None:
        """Let a preview live as long as the panel: who closes it without OK or Cancel deletes the widget, and the preview goes along."""
        self._preview = preview
        if preview is not None:
            self.form.destroyed.connect(preview.close)

    def _object(self, name: str):
        """An object of the panel's document; None where it is gone."""
        document = App.listDocuments().get(self.document)
        return None if document is None else document.getObject(name)

    def reject(self) -> bool:
        """Cancel: the document was never touched."""
        return self._leave()

    def _leave(self) -> bool:
        self.close()
        Gui.Control.closeDialog()
        for follow in followers:
            follow()
        return True

    def close(self) -> None:
        """Take the preview out of the view."""
        self._observer.stop()
        if self._preview is not None:
            self._preview.close()
            self._preview = None


class _Closing:
    """Closes a panel when its document is closed: the host leaves it open over another one."""

    def __init__(self, panel: TaskPanel):
        self._panel: TaskPanel | None = panel

    def slotDeletedDocument(self, document) -> None:
        if self._panel is not None and document.Name == self._panel.document:
            # Not in the middle of what the host does.
            QtCore.QTimer.singleShot(0, self._panel.reject)
            self.stop()

    def stop(self, *_ignored) -> None:
        """Look no more."""
        if self._panel is not None:
            self._panel = None
            App.removeDocumentObserver(self)
