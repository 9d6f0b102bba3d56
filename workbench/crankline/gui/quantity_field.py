"""A line for one quantity or number. What is typed goes through ``units`` and never through the host's parser, whose versions
read ``82+1/2 in`` and ``2,5 in`` differently.

The value is kept as it was typed: it is not rounded to what the line shows, and a line that was not edited gives back
exactly what was put into it.
"""
from __future__ import annotations

import math

from PySide import QtCore, QtGui

from .. import preferences, units
from ..units import INCH

STEPS = {("length", "in"): INCH / 16.0, ("length", "mm"): 1.0, ("angle", "in"): units.of(0.1, "angle", "deg"),
         ("angle", "mm"): units.of(0.1, "angle", "deg")}
"""What an arrow key adds, by kind and the car's units; ten times as much with Shift is left to typing."""

FINEST = 64
"""Denominator of the finest fraction of an inch that is written."""


def unit_of(kind: str, system: str) -> str:
    """The unit in which a kind of quantity is shown in a car of ``system`` (``in`` or ``mm``); empty for plain numbers."""
    return units.write(0.0, kind, system).partition(" ")[2] if kind in units.UNITS else ""


def read(text: str, kind: str, unit: str) -> float:
    """The value of a typed text in inside units; a number without a unit is in ``unit``, the one that stands beside the line.

    QuantityError, one sentence, for a comma, another unit, or what is no number.
    """
    if kind not in units.UNITS:
        value = units.number(text)
        if kind == "count" and value != int(value):
            raise units.QuantityError(f"{text.strip()} is not a whole number; write one without a point")
        return value
    try:
        return units.parse(text, kind)
    except units.QuantityError:
        if not text.strip() or text.strip()[-1] not in "0123456789.":
            raise
    return units.parse(f"{text} {unit}", kind)


class QuantityField(QtGui.QLineEdit):
    """A line for a quantity (inside units), a plain number (``ratio``) or a whole one (``count``), with inclusive limits.

    ``may_be_blank``: an empty line is no mistake; its value is None. ``changed`` is emitted at every edit of the text; ``problem`` is the
    sentence that says why the text gives no value, empty where it does.
    """

    changed = QtCore.Signal()

    def __init__(self, name: str, label: str, kind: str, system: str, low: float, high: float, parent=None, may_be_blank: bool = False):
        super().__init__(parent)
        self.may_be_blank = may_be_blank
        self.setObjectName(name)
        self.setAccessibleName(label)
        self.label, self.kind, self.system, self.low, self.high = label, kind, system, low, high
        self.unit = unit_of(kind, system)
        self._fractions = preferences.held().fractions
        self.problem = ""
        self._value: float | None = None
        self._text = ""
        self.textEdited.connect(self._edited)
        self.editingFinished.connect(self._finished)

    def set_value(self, value: float | None) -> None:
        """Show a value to a millionth of its unit and remember it exactly; None empties the line."""
        self._value, self._text, self.problem = value, "" if value is None else self.shown(value), ""
        self.setText(self._text)

    def shown(self, value: float) -> str:
        """A value as the line writes it: inches as a fraction where the user prefers that and it is exact."""
        if self.unit == "in" and self._fractions:
            text = units.inches(value, FINEST)
            if abs(units.parse(text, "length") - value) < 1e-7:
                return text
        number = units.to(value, self.kind, self.unit) if self.unit else value
        return f"{units.decimal(number, 6)} {self.unit}".rstrip()

    def limits(self) -> tuple[str, str]:
        """Least and most that the line takes, in its unit and in round numbers that are within."""
        return self._round(self.low, math.ceil), self._round(self.high, math.floor)

    def _round(self, value: float, within) -> str:
        number = units.to(value, self.kind, self.unit) if self.unit else value
        if not math.isfinite(number) or abs(number) < 0.01:
            return self.shown(value)
        return f"{units.decimal(within(round(number * 1000.0, 6)) / 1000.0, 3)} {self.unit}".rstrip()

    def value(self) -> float | None:
        """The value in inside units; None where the text gives none: ``problem`` says why, and is empty where the line may be blank."""
        self._read()
        return None if self.problem else self._value

    def _read(self) -> None:
        text = self.text()
        if text == self._text:
            self.problem = ""
            return
        if self.may_be_blank and not text.strip():
            self._value, self._text, self.problem = None, text, ""
            return
        try:
            value = read(text, self.kind, self.unit)
        except units.QuantityError as error:
            self.problem = f"{self.label}: {error}."
            return
        if not self.low <= value <= self.high:
            low, high = self.limits()
            self.problem = f"{self.label}: {' '.join(text.split())} was found; allowed is {low} to {high}."
            return
        self._value, self._text, self.problem = value, text, ""

    def _edited(self, _text: str) -> None:
        self._read()
        self.changed.emit()

    def _finished(self) -> None:
        """A number typed without a unit gets the one in which it was read."""
        self._read()
        text = self.text().strip()
        if self.unit and not self.problem and text and text[-1] in "0123456789.":
            self._text = f"{text} {self.unit}"
            self.setText(self._text)

    def keyPressEvent(self, event) -> None:
        """Arrow up and down move the value by a step."""
        sign = {QtCore.Qt.Key_Up: 1.0, QtCore.Qt.Key_Down: -1.0}.get(event.key())
        if sign is None or self.isReadOnly():
            super().keyPressEvent(event)
            return
        value = self.value()
        step = STEPS.get((self.kind, self.system), 1.0 if self.kind == "count" else None)
        if value is not None and step is not None:
            moved = units.rounded(value + sign * step)
            if self.low <= moved <= self.high:
                self.set_value(moved)
                self.changed.emit()
