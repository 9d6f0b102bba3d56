"""The placement panel: the three numbers, what follows from them and the rules that they decide as they are typed, a preview with handles.

The document is not touched before OK, which is one undo step; Cancel has nothing to undo.
"""
from __future__ import annotations

from dataclasses import replace
from typing import Any

from PySide import QtCore, QtGui

from .. import model
from ..checks.placement_rules import MEASURED, PlacementRules
from ..features import read
from ..features.base import host_placement
from ..features.edited import Place, foreseen
from ..mechanics.scene import Scene
from ..snapshot import PartView
from ..units import read_in
from . import readout
from .edit_panel import SETTLE, EditPanel, open_panel
from .handles import Handles
from .preview import Preview
from .record_form import FormError
from .rule_states import RuleStates

TITLE = "Place Powertrain"
AS_BUILT = "The car is shown as built. These are its numbers as designed; As-Built Fit shows either."


def show(layout) -> bool:
    """Open the panel for a layout; False (with a sentence) where it cannot be placed or another panel is open."""
    return open_panel(lambda: PlacePanel(layout), TITLE)


class PlacePanel(EditPanel):
    """Task panel for the placement of one layout; ``form`` is its widget."""

    def __init__(self, layout, title: str = TITLE):
        layout.Proxy.inputs(layout)   # refuses what cannot be placed at all
        super().__init__(layout, Place("placement"), layout.Proxy.read(layout, absent=True), title, "CranklinePlace")

    def _below(self, layout) -> None:
        from ..measure.host_measurer import HostMeasurer
        if self._car.placement.shown == "as_built":
            note = QtGui.QLabel(AS_BUILT)
            note.setObjectName("CranklinePlaceNote")
            note.setWordWrap(True)
            self.column.insertWidget(0, note)
        group = QtGui.QGroupBox("At static ride height")
        self._readout = QtGui.QFormLayout(group)
        self._readout.setContentsMargins(6, 6, 6, 6)
        self._values: dict[str, QtGui.QLabel] = {}
        self._states = RuleStates()
        self.column.addWidget(group)
        self.column.addWidget(self._states)
        self._rules = PlacementRules(self._car, HostMeasurer())
        self._shown: tuple[model.Car, Scene] | None = None
        self._solved = 0.0
        self._parts = tuple(read.views(layout, MEASURED))

    def _drawn(self, view, root) -> Preview:
        return Preview(view, root, Handles(view, root, self.system, self._number, self._drag))

    def _number(self, field: str) -> float | None:
        """A number of the placement; None where it is not for dragging: solved, set by a formula, or wrong as it is typed."""
        widget = self.fields.widget(field)
        return None if widget.isReadOnly() or not widget.isEnabled() else widget.value()

    def _drag(self, field: str, value: float) -> None:
        widget = self.fields.widget(field)
        if widget.low <= value <= widget.high:
            widget.set_value(value)
            self._edited()

    def record(self) -> model.Placement:
        """What the fields say; where the pitch is solved none is given."""
        if self.fields.given("pitch_mode") == "fixed":
            return self.fields.value()
        before, record = self._car.placement, replace(self.fields.value(), pitch=_ABSENT)
        return before if record == replace(before, pitch=_ABSENT) else record

    def _edited(self) -> None:
        self._follow()
        self._soon.start(SETTLE)   # rules take longer than a keystroke may

    def _look(self) -> None:
        self._follow()
        self._judge()

    def _judge(self) -> None:
        """Tell the rules of what is typed."""
        if self._shown is not None:
            car, scene = self._shown
            self._states.show_findings(self._rules.findings(car, scene, self._moved(scene)), self.system)

    def _follow(self) -> None:
        """Show the placement that is typed: figures and preview."""
        layout, self._shown = self._layout(), None
        if layout is None:
            return
        solved = self.fields.given("pitch_mode") != "fixed"
        pitch = self.fields.widget("pitch")
        if solved:
            pitch.set_value(None)   # whatever was typed into it
        elif not pitch.isEnabled():
            pitch.set_value(self._solved)   # from there the user goes on
        pitch.setEnabled(not solved)
        try:
            with read_in(self.system):
                car = _as_designed(self.wanted())
                scene = foreseen(layout, car)
        except FormError:
            self._nothing("")   # told beside its field
            return
        except ValueError as error:
            self._nothing(str(error))
            return
        self._say("")
        self._solved = scene.pitch
        if solved:
            pitch.set_value(scene.pitch)
        self._tell(scene)
        if self._preview is not None:
            self._preview.update(scene)
        self._shown = car, scene

    def _nothing(self, sentence: str) -> None:
        """There is no such placement: nothing is shown of it."""
        self._say(sentence)
        for label in self._values.values():
            label.setText("–")
        self._states.clear_findings()
        if self._preview is not None:
            self._preview.hide()

    def _tell(self, scene: Scene) -> None:
        for reading in readout.readings(scene):
            if reading.name not in self._values:
                label = QtGui.QLabel()
                label.setObjectName(f"Crankline_figure_{reading.name}")
                label.setAlignment(QtCore.Qt.AlignRight)
                label.setTextInteractionFlags(QtCore.Qt.TextSelectableByMouse)
                label.setToolTip(reading.meaning)
                self._readout.addRow(reading.label, label)
                self._values[reading.name] = label
            self._values[reading.name].setText(reading.text(self.system))

    def _moved(self, scene: Scene) -> list[PartView]:
        """The parts whose shapes the rules measure, where the placement has them."""
        place, found = host_placement(scene.engine_frame), []
        for part in self._parts:
            shape = part.shape.copy()
            shape.Placement = place
            found.append(replace(part, shape=shape))
        return found

    def _say(self, sentence: str) -> None:
        # Messages of the mechanics name the car file's fields.
        for name in ("axle_to_block", "crank_height", "pitch", "lateral"):
            sentence = sentence.replace(f"placement.{name}", name.replace("_", " ").capitalize())
        super()._say(sentence)

    def _check(self, layout, car: model.Car) -> None:
        foreseen(layout, _as_designed(car))
        foreseen(layout, car)


def _as_designed(car: model.Car) -> model.Car:
    """The car where it is designed to be, whatever is shown."""
    return replace(car, placement=replace(car.placement, as_built=_ABSENT, shown=_ABSENT))


_ABSENT: Any = None
"""A model leaves out what is not given."""
