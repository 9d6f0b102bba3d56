"""The panel in which a section of a car is edited or added: a form made from its record, and a preview of the parts that it makes.

The document is not touched before OK, which is one undo step; Cancel has nothing to undo. A part that cannot be laid out as typed says so
while it is typed.
"""
from __future__ import annotations

from typing import Any

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore

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
from .task_panel import TaskPanel, in_error, may_open

SETTLE = 150
"""ms without a keystroke before the preview is made again."""


def show(layout, place: Place, record: Any, title: str) -> bool:
    """Open the panel for a section of a layout's car, with a record that it has or may get; False, with a sentence, where it cannot be."""
    if not may_open():
        return False
    try:
        panel = EditPanel(layout, place, record, title)
    except ValueError as error:
        show_message(title, str(error))
        return False
    Gui.Control.showDialog(panel)
    panel.fields.focus()
    return True


class EditPanel(TaskPanel):
    """Task panel for one section of one car; ``form`` is its widget."""

    def __init__(self, layout, place: Place, record: Any, title: str):
        super().__init__(layout.Document, "CranklineEditPanel", title, "CranklineEditProblem")
        self.name, self.place, self.title = layout.Name, place, title
        self._car = read.car(layout)
        self._built: dict[str, tuple[str, Any]] = {}
        self.fields = RecordForm(sections.section_of(place.path).record, record, "mm" if self._car.car.units == "mm" else "in")
        self.column.addWidget(self.problem)
        self.column.addWidget(self.fields)
        self.column.addStretch(1)
        view = view_of(layout.Document)
        root = next((part for part in read.containers(layout) if part.Key == "root"), None)
        place_of_root = root.getGlobalPlacement() if root is not None else App.Placement()
        self._preview_by(None if view is None else PartPreview(view, place_of_root))
        self._soon = QtCore.QTimer(self.form)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self._look)
        self.fields.changed.connect(lambda: self._soon.start(SETTLE))
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

    def accept(self) -> bool:
        """OK: bring the document to the car with this section, close. What is wrong keeps the panel open with its sentence."""
        layout = self._layout()
        if layout is None:
            return self._leave()
        try:
            apply(layout, self.wanted(), title=self.title)
        except FormError:
            return self._refuse("")   # told beside its field
        except ValueError as error:
            return self._refuse(str(error))
        show_status(in_error(layout) or f"{self.title}: done")
        return self._leave()

    def reject(self) -> bool:
        """Cancel: the document was never touched."""
        return self._leave()

    def close(self) -> None:
        self._soon.stop()
        super().close()

    def _layout(self):
        return self._object(self.name)

    def _leave(self) -> bool:
        self.close()
        Gui.Control.closeDialog()
        return True
