"""The head of the findings dock: what was found in one line, what is shown of it, and what can be done. In a tall dock beside the view it
is two columns, in a low one below it a row."""
from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from PySide import QtCore, QtGui

from ..checks.finding import State
from ..progress import Progress
from ..rules.rule import SEVERITIES
from .dock_widgets import choice_box, push_button
from .finding_words import ORDER
from .findings_table import UNUSED

FILTERS = (("Needs attention", (State.OPEN, State.WAIVER_VOID, State.NOT_EVALUATED)), ("Open", (State.OPEN, State.WAIVER_VOID)),
            ("Not evaluated", (State.NOT_EVALUATED,)),
            ("Waivers", (State.WAIVED, State.WAIVER_VOID, UNUSED)), ("Passed", (State.PASSED,)),
            ("Not applicable", (State.NOT_APPLICABLE,)),
            ("All", (*ORDER, UNUSED)))
"""What is shown: label, and the states that it lets through."""
_SEVERITIES = [("Every severity", SEVERITIES)] + [(f"{word.capitalize()} and worse" if number else f"{word.capitalize()} only",
                                                   SEVERITIES[:number + 1]) for number, word in enumerate(SEVERITIES[:-1])]


class FindingsBar(QtGui.QWidget):
    """Summary, filters, progress and buttons. empty: summary of nothing; actions: name of a button to what it does."""

    def __init__(self, empty: str, actions: Mapping[str, Callable[[], object]]):
        super().__init__()
        self.summary = QtGui.QLabel(empty)
        self.summary.setObjectName("CranklineSummary")
        self.summary.setSizePolicy(QtGui.QSizePolicy.Ignored, QtGui.QSizePolicy.Preferred)   # a long line must not widen the window
        self.filter = choice_box("CranklineFilter", "States shown", FILTERS)
        self.severity = choice_box("CranklineSeverity", "Severities shown", _SEVERITIES)
        self.check = push_button("Check A&gain", "CheckAgain", "Recomputes the document and checks this car again", actions["check"])
        self.waive = push_button("", "Waive", "Records in the document that this finding is acceptable, and why", actions["waive"])
        self.remove = push_button("Remove Waive&r", "RemoveWaiver", "Removes the waiver of this row from the document", actions["remove"])
        self.look = push_button("Look for &Remedies", "LookForRemedies", "Looks for the dimensions that clear this finding, to the end",
                                actions["look"])
        self.progress = QtGui.QProgressBar()
        self.progress.setObjectName("CranklineProgress")
        self.progress.setAccessibleName("Progress of the check")
        self.progress.setRange(0, 100)     # each new value draws the bar at once
        self.cancel = push_button("&Cancel", "Cancel", "Stops the check or the search for remedies", actions["cancel"])
        self._grid = QtGui.QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self.arrange(tall=False)

    def show_progress(self, step: Progress | None) -> None:
        """Show how far the work is; None where none is going on."""
        for widget in (self.progress, self.cancel):
            widget.setVisible(step is not None)
        if step is not None:
            self.progress.setValue(round(step.share * 100))
            self.progress.setFormat(f"{step.about[:1].upper()}{step.about[1:60]}, %p%")
            self.progress.setToolTip(step.about)

    def arrange(self, tall: bool) -> None:
        """Lay it out for a tall dock or for a low one; the Tab key goes through it in the same order."""
        order = (self.filter, self.severity, self.check, self.look, self.waive, self.remove)
        self.summary.setWordWrap(tall)
        if not tall:
            for column, widget in enumerate((self.summary, self.progress, self.cancel, *order)):
                self._grid.addWidget(widget, 0, column)
            self._grid.setColumnStretch(0, 1)
            return
        self._grid.addWidget(self.summary, 0, 0, 1, 2)
        for number, widget in enumerate((*order, self.progress, self.cancel)):
            self._grid.addWidget(widget, 1 + number // 2, number % 2)
        self._grid.setColumnStretch(0, 0)


def tall(area: Any) -> bool:
    """Whether a dock in an area of the window is taller than wide."""
    return area in (QtCore.Qt.LeftDockWidgetArea, QtCore.Qt.RightDockWidgetArea)
