"""The placement panel: three numbers, a live read-out, a live preview. The document is not touched before OK.

OK writes what was changed and recomputes inside one transaction, which is one undo step. Cancel has nothing to undo.
"""
from __future__ import annotations

from dataclasses import replace
from typing import Any

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui

from .. import model
from ..features import read
from ..features.apply import apply
from ..mechanics.scene import SceneError, build
from ..record import Described, entries, filled
from . import readout
from .messages import show_message, show_status
from .preview import Preview
from .quantity_field import QuantityField
from .task_panel import TaskPanel, in_error, may_open

MODES = (("fixed", "Fixed", "The angle is given"),
         ("parallel", "Parallel", "Output axis parallel to the pinion axis"),
         ("in_line", "In line", "Output axis through the center of the rear joint, in side view"),
         ("balanced", "Balanced", "Front and rear joint angle equal in size, in side view"))
STATIONS = (("block_rear", "Block rear", "Rear face of the block"), ("block_middle", "Block middle", "Middle of the block"),
            ("block_front", "Block front", "Front face of the block"))
_LABELS = {"axle_to_block": "Axle to block", "crank_height": "Crank height", "pitch": "Pitch", "lateral": "Lateral"}
_open: PlacePanel | None = None


def show(layout) -> bool:
    """Open the panel for a layout; False (with a sentence) where it cannot be placed or another panel is open."""
    global _open
    if not may_open():
        return False
    try:
        panel = PlacePanel(layout)
    except ValueError as error:
        show_message("Place Powertrain", str(error))
        return False
    _open = panel
    Gui.Control.showDialog(panel)
    return True


def hide() -> None:
    """Close the panel, if it is open, and take its preview out of the view."""
    global _open
    panel, _open = _open, None
    if panel is not None:
        panel.close()
        Gui.Control.closeDialog()


class PlacePanel(TaskPanel):
    """Task panel for one layout; ``form`` is its widget."""

    def __init__(self, layout):
        super().__init__(layout.Document, "CranklinePlacePanel", "Place Powertrain", "CranklineProblem")
        self.name = layout.Name
        # (chassis, rear end, engine, transmission, placement, stack): everything but the placement stays as it is.
        self._inputs = layout.Proxy.inputs(layout)
        self._before = layout.Proxy.read(layout, absent=True)
        self._system = _system(layout)
        self._fields: dict[str, QuantityField] = {}
        self._fill(layout)
        self._preview_by(_preview(layout))
        self._update()

    # --- widgets ------------------------------------------------------------------------------------------------------

    def _fill(self, layout) -> None:
        shown = filled(self._before)
        column = self.column
        main = QtGui.QFormLayout()
        column.addLayout(main)
        self._row(main, "axle_to_block", shown, "Rear axle centerline to the rear face of the block, at the base of the block")
        self._row(main, "crank_height", shown, "Crankshaft centerline above the track")
        self.mode = _choice("CranklinePitchMode", "Pitch mode", MODES, shown.pitch_mode)
        main.addRow("Pitch mode", self.mode)
        self._row(main, "pitch", shown, "Crankshaft centerline to the ground; positive has the rear of the engine higher")
        more = QtGui.QToolButton()
        more.setObjectName("CranklineMore")
        more.setText("More")
        more.setCheckable(True)
        more.setToolButtonStyle(QtCore.Qt.ToolButtonTextBesideIcon)
        more.setArrowType(QtCore.Qt.RightArrow)
        more.setAutoRaise(True)
        column.addWidget(more)
        self._more = QtGui.QWidget()
        rest = QtGui.QFormLayout(self._more)
        rest.setContentsMargins(0, 0, 0, 0)
        self.station = _choice("CranklineHeightAt", "Crank height at", STATIONS, shown.height_at)
        rest.addRow("Crank height at", self.station)
        self._row(rest, "lateral", shown, "Crankshaft centerline left of the center plane at the rear face; negative is right")
        column.addWidget(self._more)

        def unfold(on: bool) -> None:
            self._more.setVisible(on)
            more.setArrowType(QtCore.Qt.DownArrow if on else QtCore.Qt.RightArrow)

        more.toggled.connect(unfold)
        more.setChecked(bool(shown.lateral) or shown.height_at != "block_rear")
        unfold(more.isChecked())
        column.addWidget(self.problem)
        group = QtGui.QGroupBox("At static ride height")
        self._readout = QtGui.QFormLayout(group)
        self._readout.setContentsMargins(6, 6, 6, 6)
        self._values: dict[str, QtGui.QLabel] = {}
        column.addWidget(group)
        column.addStretch(1)
        self.mode.currentIndexChanged.connect(self._update)
        self.station.currentIndexChanged.connect(self._update)
        self._formulas(layout)

    def _row(self, form, name: str, shown: model.Placement, tip: str) -> None:
        entry: Described = entries(model.Placement)[name]
        field = QuantityField(f"Crankline_{name}", _LABELS[name], entry.kind, self._system, entry.low, entry.high)
        value = getattr(shown, name)
        field.set_value(self._solved() if value is None else value)
        field.setToolTip(f"{tip} ({field.unit})")
        field.changed.connect(self._update)
        label = QtGui.QLabel(_LABELS[name])
        label.setBuddy(field)
        form.addRow(label, field)
        self._fields[name] = field

    def _solved(self) -> float:
        """The pitch as solved now, shown where none is given."""
        try:
            return build(*self._inputs).pitch
        except SceneError:
            return 0.0

    def _formulas(self, layout) -> None:
        """A number that a formula sets would be overwritten by the next recompute: it is shown, not edited."""
        rows = {row.path[0]: row.name for row in layout.Proxy.rows()}
        bound = {path.lstrip("."): formula for path, formula in layout.ExpressionEngine}
        for name, field in self._fields.items():
            formula = bound.get(rows[name])
            if formula:
                field.setReadOnly(True)
                field.setToolTip(f"Set by the formula {formula}; remove the formula in the property editor to type here")

    # --- what was typed -----------------------------------------------------------------------------------------------

    def placement(self) -> model.Placement:
        """What the fields say, absent where it was absent and was not changed; ValueError with a sentence."""
        mode, station = self.mode.currentData(), self.station.currentData()
        known = filled(self._before)
        changes: dict[str, Any] = {}
        for name, field in self._fields.items():
            if name == "pitch" and mode != "fixed":
                continue
            value = field.value()
            if value is None:
                raise ValueError(field.problem)
            if value != getattr(known, name):
                changes[name] = value
        if mode != known.pitch_mode:
            changes["pitch_mode"] = mode
            if mode != "fixed":
                changes["pitch"] = None
        if station != known.height_at:
            changes["height_at"] = station
        return replace(self._before, **changes)

    def scene(self):
        """The scene of what the fields say; ValueError with a sentence."""
        chassis, rear_end, engine, transmission, _placement, stack = self._inputs
        return build(chassis, rear_end, engine, transmission, self.placement(), stack)

    def _update(self, *_ignored) -> None:
        pitch = self._fields["pitch"]
        pitch.setEnabled(self.mode.currentData() == "fixed")
        try:
            scene = self.scene()
        except ValueError as error:
            self._say(str(error))
            for label in self._values.values():
                label.setText("–")
            if self._preview is not None:
                self._preview.hide()
            return
        self._say("")
        if not pitch.isEnabled():
            pitch.set_value(scene.pitch)
        for reading in readout.readings(scene):
            if reading.name not in self._values:
                label = QtGui.QLabel()
                label.setObjectName(f"Crankline_figure_{reading.name}")
                label.setAlignment(QtCore.Qt.AlignRight)
                label.setTextInteractionFlags(QtCore.Qt.TextSelectableByMouse)
                label.setToolTip(reading.meaning)
                self._readout.addRow(reading.label, label)
                self._values[reading.name] = label
            self._values[reading.name].setText(reading.text(self._system))
        if self._preview is not None:
            self._preview.update(scene)

    def _say(self, sentence: str) -> None:
        for name, label in _LABELS.items():   # messages of the mechanics name the car file's fields
            sentence = sentence.replace(f"placement.{name}", label)
        super()._say(sentence)

    # --- the host's side ----------------------------------------------------------------------------------------------

    def accept(self) -> bool:
        """OK: write what changed, recompute, close. A wrong number keeps the panel open with its sentence."""
        try:
            asked = self.placement()
            self.scene()
        except ValueError as error:
            return self._refuse(str(error))
        layout = self._layout()
        if layout is not None and asked != self._before:
            try:
                self._store(layout, asked)
            except ValueError as error:
                return self._refuse(str(error))
        return self._leave()

    def _store(self, layout, asked: model.Placement) -> None:
        apply(layout, replace(read.car(layout), placement=asked), title="Place powertrain")
        show_status(in_error(layout) or "Powertrain placed")

    def reject(self) -> bool:
        """Cancel: the document was never touched."""
        return self._leave()

    def _layout(self):
        return self._object(self.name)

    def _leave(self) -> bool:
        if self.document in App.listDocuments():
            Gui.getDocument(self.document).resetEdit()
        hide()
        return True


def _choice(name: str, label: str, rows, current: str):
    combo = QtGui.QComboBox()
    combo.setObjectName(name)
    combo.setAccessibleName(label)
    for number, (value, text, meaning) in enumerate(rows):
        combo.addItem(text, value)
        combo.setItemData(number, meaning, QtCore.Qt.ToolTipRole)
    combo.setCurrentIndex([row[0] for row in rows].index(current))
    combo.setMinimumContentsLength(8)
    combo.setSizeAdjustPolicy(QtGui.QComboBox.AdjustToMinimumContentsLengthWithIcon)
    return combo


def _system(layout) -> str:
    """The unit of lengths in which the car is written: ``in`` or ``mm``."""
    for obj in read.members(layout):
        if obj.Kind == "car":
            return "mm" if obj.Units == "mm" else "in"
    return "in"


def _preview(layout) -> Preview | None:
    """The preview in the document's active 3D view; None where the active view shows something else."""
    view = Gui.getDocument(layout.Document.Name).ActiveView
    if view is None or not hasattr(view, "getSceneGraph"):
        return None
    root = next((part for part in read.containers(layout) if part.Key == "root"), None)
    return Preview(view, root.getGlobalPlacement() if root is not None else App.Placement())
