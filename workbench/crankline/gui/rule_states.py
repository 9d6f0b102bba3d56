"""Rules with their states as a short list: a mark of its own shape and a word for each state, so that nothing hangs on color."""
from __future__ import annotations

from collections.abc import Iterable

from PySide import QtCore, QtGui

from ..checks.finding import Finding, State
from . import finding_words as words

MARKS = {State.OPEN: "✗", State.NOT_EVALUATED: "?", State.PASSED: "✓"}
LINES = 12
"""Lines that are in sight; the rest is scrolled to."""


class RuleStates(QtGui.QListWidget):
    """A rule a row: its state, what was measured and what is required, and below that what it is about. A panel is narrow."""

    def __init__(self, parent=None):
        super().__init__(parent)
        self.setObjectName("CranklineRuleStates")
        self.setAccessibleName("Rules that the placement decides")
        self.setSelectionMode(QtGui.QAbstractItemView.NoSelection)
        self.setFocusPolicy(QtCore.Qt.NoFocus)   # the Tab key stays among the fields
        self.setWordWrap(True)
        self.setHorizontalScrollBarPolicy(QtCore.Qt.ScrollBarAlwaysOff)
        self.setMinimumHeight(LINES * self.fontMetrics().height())

    def show_findings(self, findings: Iterable[Finding], system: str) -> None:
        """Show findings in their order, in the units of a car (``in`` or ``mm``)."""
        findings = tuple(findings)
        while self.count() > len(findings):
            self.takeItem(self.count() - 1)
        while self.count() < len(findings):
            self.addItem("")
        for number, one in enumerate(findings):
            item, text = self.item(number), _told(one, system)
            if item.text() != text:   # a row that is as it was is not laid out again
                item.setText(text)
                item.setToolTip(words.details(one, (), system))
                font = item.font()
                font.setBold(one.state == State.OPEN)
                item.setFont(font)

    def clear_findings(self) -> None:
        """Show none."""
        self.clear()


def _told(one: Finding, system: str) -> str:
    state = words.state(one).capitalize() + (f", {one.severity}" if one.state == State.OPEN else "")
    said = words.measured(one, system, margin=False) or one.reason
    return f"{MARKS[one.state]} {state}: {said}\n    {words.title(one)}"
