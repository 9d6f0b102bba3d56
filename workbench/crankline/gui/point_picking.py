"""The three points of a real engine's or transmission's solid, picked on a picture of it: they may be typed as well.

The solid is shown in its file's own coordinates, where no document has it: a picture of it, with its corners and the centers of its round
edges as dots to click.
"""
from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from PySide import QtCore, QtGui

from .. import model
from ..record import entries
from ..units import decimal, to
from . import palette
from .dock_widgets import choice_box, push_button
from .messages import attempt, show_message

POINTS = {"origin": "Origin", "forward": "Forward", "left": "Left"}
"""Field of the record to what it is called, in the order in which they are picked."""
VIEWS = {"front-left": "Front left", "front-right": "Front right", "rear-left": "Rear left", "rear-right": "Rear right", "left": "Left",
         "right": "Right", "top": "Top"}
SIZE = (680, 440)
NEAR = 9.0
"""Pixels between a click and the point that it means."""
SAME = 2.0
"""Pixels within which points lie behind each other."""


def pick_button(form) -> Any:
    """A button below the form of a solid that asks for its points and fills them in."""
    return push_button("&Pick Points…", f"{form.name}_pick".removeprefix("Crankline"),
                       "Shows the solid of the file, to click its three points", lambda: attempt("Pick Points", lambda: _pick(form)))


def _pick(form) -> None:
    from ..geometry import solid_file
    name = form.given("file")
    if not name:
        show_message("Pick Points", "File: nothing was given; type the name of the file first.")
        return
    held = {field: point for field, point in form.as_far_as_given(POINTS).items() if point is not None}
    dialog = PointDialog(form, solid_file.as_filed(name, form.given("mesh_unit")), held, form.system)
    if dialog.exec_() == QtGui.QDialog.Accepted:
        form.fill(dialog.points())


class PointDialog(QtGui.QDialog):
    """A solid with the dots to click. held: the points that are there; ``points`` has them as they are picked."""

    def __init__(self, parent, shape: Any, held: Mapping[str, model.Point], system: str):
        super().__init__(parent)
        from ..geometry import solid_file
        self.setObjectName("CranklinePickPoints")
        self.setWindowTitle("Pick Points")
        self._system, self._held = system, dict(held)
        self._labels: dict[str, Any] = {}
        self._buttons: dict[str, Any] = {}
        self.picture = SolidPicture(shape, solid_file.points_on(shape))
        view = choice_box("CranklinePickView", "Where the solid is seen from", [(text, name) for name, text in VIEWS.items()])
        how = QtGui.QLabel("Click a corner or the center of a round edge. Another click in the same place takes the one behind it.")
        how.setWordWrap(True)
        grid = QtGui.QGridLayout()
        for row, (field, text) in enumerate(POINTS.items()):
            button, label = QtGui.QRadioButton(text), QtGui.QLabel()
            button.setObjectName(f"CranklinePick_{field}")
            button.setToolTip(entries(model.Solid)[field].doc)
            label.setObjectName(f"CranklinePicked_{field}")
            grid.addWidget(button, row, 0)
            grid.addWidget(label, row, 1)
            self._buttons[field], self._labels[field] = button, label
        grid.setColumnStretch(1, 1)
        self.buttons = QtGui.QDialogButtonBox(QtGui.QDialogButtonBox.Ok | QtGui.QDialogButtonBox.Cancel)
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        column = QtGui.QVBoxLayout(self)
        for widget in (view, self.picture, how):
            column.addWidget(widget)
        column.addLayout(grid)
        column.addWidget(self.buttons)
        view.currentIndexChanged.connect(lambda *_: self.picture.look(view.itemData(view.currentIndex())))
        self.picture.picked.connect(self._take)
        self.picture.look(next(iter(VIEWS)))
        self._choose(next((field for field in POINTS if field not in self._held), "origin"))
        self._show()

    def points(self) -> dict[str, model.Point]:
        """Field to the point that is picked for it, of those that have one."""
        return dict(self._held)

    def _choose(self, field: str) -> None:
        self._buttons[field].setChecked(True)

    def _take(self, point) -> None:
        """A point was clicked: it is that of the field in hand, and the next one without a point comes in hand."""
        field = next(name for name, button in self._buttons.items() if button.isChecked())
        again = self._held.get(field)
        self._held[field] = model.Point(**{axis: float(value) for axis, value in zip("xyz", point)})
        self._show()
        if again is None:
            self._choose(next((name for name in POINTS if name not in self._held), field))

    def _show(self) -> None:
        for field, label in self._labels.items():
            point = self._held.get(field)
            label.setText("not picked yet" if point is None else ", ".join(
                f"{axis.upper()} {decimal(to(getattr(point, axis), 'length', self._system), 3)} {self._system}" for axis in "xyz"))
        self.picture.mark({text: self._held[field] for field, text in POINTS.items() if field in self._held})
        self.buttons.button(QtGui.QDialogButtonBox.Ok).setEnabled(len(self._held) == len(POINTS))


class SolidPicture(QtGui.QWidget):
    """A shaded picture of a shape with dots on it; ``picked`` hands out the point (x, y, z) of a dot that is clicked."""

    picked = QtCore.Signal(object)

    def __init__(self, shape: Any, points: Any):
        super().__init__()
        from ..sheets import picture
        self.setObjectName("CranklinePickPicture")
        self.setFixedSize(*SIZE)
        self.setCursor(QtCore.Qt.CrossCursor)
        self._points = points
        self._body = picture.body_of(shape, (0.62, 0.66, 0.70), (0.15, 0.15, 0.17))
        self._marks: Mapping[str, model.Point] = {}
        self._last: tuple[float, float, int] | None = None

    def look(self, view: str) -> None:
        """See the shape from one of the views."""
        from ..sheets import shaded
        image = shaded.render([self._body], *SIZE, view)
        height, width, _three = image.shape
        self._image = QtGui.QImage(image.tobytes(), width, height, 3 * width, QtGui.QImage.Format_RGB888).copy()
        self._frame = shaded.framing([self._body.points], *SIZE, view)
        self._dots = self._frame.placed(self._points)
        self._last = None
        self.update()

    def mark(self, marks: Mapping[str, model.Point]) -> None:
        """Name points in the picture."""
        self._marks = marks
        self.update()

    def dot(self, point) -> tuple[float, float]:
        """Where a point (x, y, z) is in the picture, pixels."""
        import numpy as np
        x, y, _depth = self._frame.placed(np.array([point], float))[0]
        return float(x), float(y)

    def paintEvent(self, _event) -> None:
        painter = QtGui.QPainter(self)
        painter.drawImage(0, 0, self._image)
        painter.setRenderHint(QtGui.QPainter.Antialiasing)
        paint = QtGui.QColor.fromRgbF(*palette.preview_shaft())
        painter.setPen(QtGui.QPen(paint, 1.0))
        for x, y, _depth in self._dots:
            painter.drawEllipse(QtCore.QPointF(x, y), 2.5, 2.5)
        painter.setPen(QtGui.QPen(QtCore.Qt.black, 1.0))
        painter.setBrush(QtGui.QColor.fromRgbF(*palette.preview_powertrain()))
        for text, point in self._marks.items():
            x, y = self.dot((point.x, point.y, point.z))
            painter.drawEllipse(QtCore.QPointF(x, y), 5.0, 5.0)
            painter.drawText(QtCore.QPointF(x + 8.0, y - 6.0), text)
        painter.end()

    def mousePressEvent(self, event) -> None:
        """The dot nearest to the click; of those behind each other the nearest to the eye first, then the next at each further click."""
        x, y = float(event.pos().x()), float(event.pos().y())
        away = [((dot[0] - x) ** 2 + (dot[1] - y) ** 2) ** 0.5 for dot in self._dots]
        if not away or min(away) > NEAR:
            return
        nearest = self._dots[away.index(min(away))]
        stack = sorted((n for n, dot in enumerate(self._dots) if abs(dot[0] - nearest[0]) < SAME and abs(dot[1] - nearest[1]) < SAME),
                       key=lambda n: -self._dots[n][2])
        turn = 0
        if self._last is not None and abs(self._last[0] - x) < SAME and abs(self._last[1] - y) < SAME:
            turn = (self._last[2] + 1) % len(stack)
        self._last = x, y, turn
        self.picked.emit(tuple(self._points[stack[turn]]))
