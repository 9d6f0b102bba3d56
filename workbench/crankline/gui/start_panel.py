"""The panel that begins a car: what a builder knows before anything is drawn. OK makes it in the active document, or in a new one."""
from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import FreeCAD as App
import FreeCADGui as Gui

from .. import preferences
from ..features import make, read
from ..features.start import FIRST, Start, car_of
from ..features.transaction import transaction
from . import camera, views
from .messages import show_status
from .record_form import FormError, RecordForm
from .task_panel import TaskPanel, may_open


def show(begun: Callable[[], object]) -> bool:
    """Open the panel; ``begun`` is called once there is a car, and shows its list of sections. False, with a sentence, where another one is
    open. Without a document, or beside another car, it begins a document: 1.1 shows no task panel where none is open."""
    if not may_open():
        return False
    document = App.ActiveDocument
    fresh = document is None or bool(read.layouts(document))
    panel = StartPanel(App.newDocument("Car") if fresh else document, fresh, begun)
    Gui.Control.showDialog(panel)
    panel.fields.focus()
    return True


class StartPanel(TaskPanel):
    """Task panel with the form of a car that is begun; ``form`` is its widget."""

    def __init__(self, document, fresh: bool, begun: Callable[[], object]):
        super().__init__(document, "CranklineStartPanel", "Start Car", "CranklineStartProblem")
        self._fresh, self._begun = fresh, begun
        prefers = preferences.held()
        self.fields = RecordForm(Start, replace(FIRST, units=prefers.units, rule_sets=prefers.rule_sets), prefers.units)
        self.column.addWidget(self.problem)
        self.column.addWidget(self.fields)
        self.column.addStretch(1)

    def accept(self) -> bool:
        """OK: make the car as one undo step, show it and its list of sections. What is wrong keeps the panel open."""
        try:
            self._make()
        except FormError:
            return self._refuse("")   # told beside its field
        except ValueError as error:
            return self._refuse(str(error))
        self.close()
        Gui.Control.closeDialog()
        return True

    def _make(self) -> None:
        car = car_of(self.fields.value())
        document = App.listDocuments().get(self.document)
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
        self._begun()
        show_status(f"{car.car.name} begun; add what it has from the list of its sections")

    def reject(self) -> bool:
        """Cancel: nothing was made, and a document that was begun for it goes."""
        self.close()
        Gui.Control.closeDialog()
        if self._fresh and self.document in App.listDocuments():
            App.closeDocument(self.document)
        return True
