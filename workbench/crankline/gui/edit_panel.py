"""The panel in which a section of a car is edited or added: a form made from its record, and a preview of the parts that it makes.

The document is not touched before OK, which is one undo step; Cancel has nothing to undo. A part that cannot be laid out as typed says so
while it is typed.
"""
from __future__ import annotations

from collections.abc import Callable
from typing import Any

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui

from .. import model, sections
from ..features import read
from ..features.apply import apply
from ..features.base import host_placement
from ..features.edited import Place, foreseen, keys_at, place_of
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
    return open_panel(lambda: EditPanel(layout, place, record, title), title)


def open_panel(make: Callable[[], EditPanel], title: str) -> bool:
    """Open the panel that ``make`` makes, the cursor in its first field; False, with a sentence, where another one is open or it raises a
    ValueError."""
    if not may_open():
        return False
    try:
        panel = make()
    except ValueError as error:
        show_message(title, str(error))
        return False
    Gui.Control.showDialog(panel)
    panel.fields.focus()
    QtCore.QTimer.singleShot(0, panel.focus)   # 1.1 shows it some rounds of its loop later
    return True


class EditPanel(TaskPanel):
    """Task panel for one section of one car; ``form`` is its widget."""

    def __init__(self, layout, place: Place, record: Any, title: str, name: str = "CranklineEdit"):
        super().__init__(layout.Document, f"{name}Panel", title, f"{name}Problem")
        self.name, self.place, self.title = layout.Name, place, title
        self._car = read.car(layout)
        self._built: dict[str, tuple[str, Any]] = {}
        self.system = "mm" if self._car.car.units == "mm" else "in"
        self.fields = RecordForm(sections.section_of(place.path).record, record, self.system)
        self._formulas(layout)
        self.column.addWidget(self.problem)
        self.column.addWidget(self.fields)
        self._below(layout)
        self.column.addStretch(1)
        view = view_of(layout.Document)
        root = next((part for part in read.containers(layout) if part.Key == "root"), None)
        place_of_root = root.getGlobalPlacement() if root is not None else App.Placement()
        self._preview_by(None if view is None else self._drawn(view, place_of_root))
        self._soon = QtCore.QTimer(self.form)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self._look)
        self.fields.changed.connect(self._edited)
        self._look()

    def _below(self, layout) -> None:
        """Widgets below the fields."""

    def _drawn(self, view, root) -> Any:
        """What shows in a view what is typed."""
        return PartPreview(view, root)

    def _edited(self) -> None:
        self._soon.start(SETTLE)

    def focus(self) -> None:
        """Put the cursor into the first field, as long as the user has put it nowhere else."""
        try:
            now = QtGui.QApplication.focusWidget()
            if now is None or not self.form.isAncestorOf(now):
                self.fields.focus()
        except RuntimeError:   # closed meanwhile
            pass

    def _formulas(self, layout) -> None:
        """What a formula sets would be overwritten by the next recompute: it is shown, not edited."""
        for obj in read.members(layout):
            bound = {path.lstrip("."): formula for path, formula in getattr(obj, "ExpressionEngine", ())}
            if not bound or place_of(obj.Kind, obj.Key, self._car) != self.place:
                continue
            for row in obj.Proxy.rows():
                if row.name in bound and len(row.path) == 1 and self.fields.has(row.path[0]):
                    self.fields.lock(row.path[0], f"Set by the formula {bound[row.name]}; take the formula out to type here")

    def record(self) -> Any:
        """What the fields say; FormError tells what is wrong with one."""
        return self.fields.value()

    def wanted(self) -> model.Car:
        """The car as the fields have it; ValueError with a sentence."""
        return sections.put(self._car, self.place.path, self.record(), self.place.item)

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
            with read_in(self._car.car.units):
                asked = self.wanted()
                if asked != self._car:
                    self._check(layout, asked)
                    apply(layout, asked, title=self.title)
        except FormError:
            return self._refuse("")   # told beside its field
        except ValueError as error:
            return self._refuse(str(error))
        show_status(in_error(layout) or f"{self.title}: done")
        return self._leave()

    def _check(self, layout, car: model.Car) -> None:
        """Refuse, by a ValueError, what the document must not become."""

    def close(self) -> None:
        self._soon.stop()
        super().close()

    def _layout(self):
        return self._object(self.name)
