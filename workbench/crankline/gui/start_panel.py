"""The panel that begins a car: what a builder knows before anything is drawn. OK makes it in the active document, or in a new one."""
from __future__ import annotations

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtGui

from ..features import make, read
from ..features.start import FIRST, Start, car_of
from ..features.transaction import transaction
from . import camera, car_dock, views
from .messages import show_status
from .record_form import FormError, RecordForm


def show() -> bool:
    """Open the panel; False, with a sentence, where another one is open. Without a document, or beside another car, it begins a document:
    1.1 shows no task panel where none is open."""
    if Gui.Control.activeDialog():
        show_status("Another task panel is open; close it first")
        return False
    document = App.ActiveDocument
    fresh = document is None or bool(read.layouts(document))
    panel = StartPanel(App.newDocument("Car") if fresh else document, fresh)
    Gui.Control.showDialog(panel)
    panel.fields.focus()
    return True


class StartPanel:
    """Task panel with the form of a car that is begun; ``form`` is its widget."""

    def __init__(self, document, fresh: bool):
        self._document, self._fresh = document.Name, fresh
        self.form = QtGui.QWidget()
        self.form.setObjectName("CranklineStartPanel")
        self.form.setWindowTitle("Start Car")
        column = QtGui.QVBoxLayout(self.form)
        column.setContentsMargins(4, 4, 4, 4)
        self.problem = QtGui.QLabel()
        self.problem.setObjectName("CranklineStartProblem")
        self.problem.setWordWrap(True)
        font = self.problem.font()
        font.setBold(True)
        self.problem.setFont(font)
        self.problem.hide()
        self.fields = RecordForm(Start, FIRST, "in")
        column.addWidget(self.problem)
        column.addWidget(self.fields)
        column.addStretch(1)

    def getStandardButtons(self):
        return QtGui.QDialogButtonBox.Ok | QtGui.QDialogButtonBox.Cancel

    def accept(self) -> bool:
        """OK: make the car as one undo step, show it and its list of sections. What is wrong keeps the panel open."""
        try:
            self._make()
        except FormError:
            QtGui.QApplication.beep()
            return False
        except ValueError as error:
            self.problem.setText(str(error))
            self.problem.show()
            QtGui.QApplication.beep()
            return False
        Gui.Control.closeDialog()
        return True

    def _make(self) -> None:
        car = car_of(self.fields.value())
        document = App.listDocuments().get(self._document)
        if document is None:
            raise ValueError("The document in which the car was to be begun was closed; cancel, and begin again")
        with transaction(document, "Start Car"):
            layout = make.add_car(document, car)
            document.recompute()
            views.paint_sketches(layout)
        if self._fresh:
            document.Label = car.car.name
        camera.isometric(Gui.getDocument(document.Name).ActiveView,
                         [obj for obj in read.members(layout) if obj.TypeId == "Part::FeaturePython"])
        car_dock.show()
        show_status(f"{car.car.name} begun; add what it has from the list of its sections")

    def reject(self) -> bool:
        """Cancel: nothing was made, and a document that was begun for it goes."""
        Gui.Control.closeDialog()
        if self._fresh and self._document in App.listDocuments():
            App.closeDocument(self._document)
        return True
