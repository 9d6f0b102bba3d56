"""The panel in which a section of a car is edited or added: a form made from its record, and a preview of the parts that it makes.

The document is not touched before OK, which is one undo step; Cancel has nothing to undo. A part that cannot be laid out as typed says so
while it is typed.
"""
from __future__ import annotations

from typing import Any

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui

from .. import model, sections
from ..features import read
from ..features.apply import apply
from ..features.base import host_placement
from ..features.edited import Place, foreseen, keys_at
from ..features.plan import described
from ..units import read_in
from .finding_marker import view_of
from .messages import show_message, show_status
from .part_preview import PartPreview
from .record_form import FormError, RecordForm

SETTLE = 150
"""ms without a keystroke before the preview is made again."""
_open: EditPanel | None = None


def show(layout, place: Place, record: Any, title: str) -> bool:
    """Open the panel for a section of a layout's car, with a record that it has or may get; False, with a sentence, where it cannot be."""
    global _open
    if Gui.Control.activeDialog():
        show_status("Another task panel is open; close it first")
        return False
    try:
        panel = EditPanel(layout, place, record, title)
    except ValueError as error:
        show_message(title, str(error))
        return False
    _open = panel
    Gui.Control.showDialog(panel)
    panel.fields.focus()
    return True


def in_error(layout) -> str:
    """What to say of parts that are in error after a change; empty where none is."""
    wrong = [obj.Label for obj in read.members(layout) if "Invalid" in obj.State]
    return f"These parts cannot be laid out now: {', '.join(wrong)}; see the tree, or Undo" if wrong else ""


class EditPanel:
    """Task panel for one section of one car; ``form`` is its widget."""

    def __init__(self, layout, place: Place, record: Any, title: str):
        self.document, self.name, self.place, self.title = layout.Document.Name, layout.Name, place, title
        self._car = read.car(layout)
        self._built: dict[str, tuple[str, Any]] = {}
        self.form = QtGui.QWidget()
        self.form.setObjectName("CranklineEditPanel")
        self.form.setWindowTitle(title)
        column = QtGui.QVBoxLayout(self.form)
        column.setContentsMargins(4, 4, 4, 4)
        self.problem = QtGui.QLabel()
        self.problem.setObjectName("CranklineEditProblem")
        self.problem.setWordWrap(True)
        self.problem.setTextInteractionFlags(QtCore.Qt.TextSelectableByMouse)
        font = self.problem.font()
        font.setBold(True)
        self.problem.setFont(font)
        self.fields = RecordForm(sections.section_of(place.path).record, record, "mm" if self._car.car.units == "mm" else "in")
        column.addWidget(self.problem)
        column.addWidget(self.fields)
        column.addStretch(1)
        view = view_of(layout.Document)
        root = next((part for part in read.containers(layout) if part.Key == "root"), None)
        self._preview = None if view is None else PartPreview(view, root.getGlobalPlacement() if root is not None else App.Placement())
        self._soon = QtCore.QTimer(self.form)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self._look)
        self.fields.changed.connect(lambda: self._soon.start(SETTLE))
        if self._preview is not None:
            self.form.destroyed.connect(self._preview.close)
        self._look()

    def wanted(self) -> model.Car:
        """The car as the fields have it; ValueError with a sentence."""
        return sections.put(self._car, self.place.path, self.fields.value(), self.place.item)

    def _look(self) -> None:
        """Tell what is wrong with what is typed, and show the parts that it makes."""
        layout, shapes = self._layout(), []
        if layout is None:
            return
        try:
            with read_in(self._car.car.units):
                shapes = self._shapes(layout, self.wanted())
            self._say("")
        except FormError:
            self._say("")   # told beside its field
        except ValueError as error:
            self._say(str(error))
        if self._preview is not None:
            self._preview.draw(shapes)

    def _shapes(self, layout, car: model.Car) -> list[Any]:
        scene = foreseen(layout, car)
        parts, found = described(car, scene), []
        for key in keys_at(self.place, car, scene):
            part = parts[key]
            spec = part.spec(scene)
            mark = part.feature.digest(spec)
            if self._built.get(key, ("", None))[0] != mark:
                self._built[key] = mark, part.feature.geometry.build(spec)
            shape = self._built[key][1].copy()
            shape.Placement = host_placement(part.frame(scene)).multiply(shape.Placement)
            found.append(shape)
        return found

    def _say(self, sentence: str) -> None:
        self.problem.setText(sentence)
        self.problem.setVisible(bool(sentence))

    def getStandardButtons(self):
        return QtGui.QDialogButtonBox.Ok | QtGui.QDialogButtonBox.Cancel

    def accept(self) -> bool:
        """OK: bring the document to the car with this section, close. What is wrong keeps the panel open with its sentence."""
        layout = self._layout()
        if layout is None:
            return self._leave()
        try:
            apply(layout, self.wanted(), title=self.title)
        except FormError:
            QtGui.QApplication.beep()
            return False
        except ValueError as error:
            self._say(str(error))
            QtGui.QApplication.beep()
            return False
        show_status(in_error(layout) or f"{self.title}: done")
        return self._leave()

    def reject(self) -> bool:
        """Cancel: the document was never touched."""
        return self._leave()

    def close(self) -> None:
        """Take the preview out of the view."""
        self._soon.stop()
        if self._preview is not None:
            self._preview.close()
            self._preview = None

    def _layout(self):
        document = App.listDocuments().get(self.document)
        return None if document is None else document.getObject(self.name)

    def _leave(self) -> bool:
        global _open
        _open = None
        self.close()
        Gui.Control.closeDialog()
        return True
