"""What can be done about a finding, as the menu of its row: its remedies, its parts, its waiver, its words."""
from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from PySide import QtGui

from ..checks.finding import Finding
from ..features import read
from ..features.apply import apply
from . import editing
from . import finding_words as words
from .check_run import CheckRun
from .messages import attempt, show_status
from .task_panel import in_error

PARTS = 4
"""Parts of a finding that the menu offers for editing."""


def menu(parent: Any, layout: Any, finding: Any, run: CheckRun | None, again: Callable[[], None] | None,
         more: tuple[QtGui.QPushButton, ...]) -> QtGui.QMenu:
    """The menu of a row, empty where it is of no finding. again: checks the car again, None where it is no longer what was checked; more:
    buttons of the dock that are in the menu too, as far as they are enabled."""
    made = QtGui.QMenu(parent)
    if layout is None or run is None or not isinstance(finding, Finding):
        return made
    if again is not None:
        for given in finding.remedies:
            _add(made, f"Do it: {given['words']}", partial(_do, layout, run, finding, given, again))
    made.addSeparator()
    labels = {obj.Key: obj for obj in read.members(layout)}
    for key in [key for key in finding.subjects if key in labels][:PARTS]:
        _add(made, f"Edit {labels[key].Label}…", partial(editing.edit_object, labels[key]))
    made.addSeparator()
    for button in more:
        if button.isEnabled():
            made.addAction(button.text()).triggered.connect(button.click)
    names = [labels[key].Label if key in labels else key for key in finding.subjects]
    _add(made, "Copy as Text", lambda: QtGui.QApplication.clipboard().setText(words.details(finding, names, run.system)))
    return made


def _add(made: QtGui.QMenu, text: str, action: Callable[[], object]) -> None:
    made.addAction(text.replace("&", "&&")).triggered.connect(lambda *_: attempt(text, action))


def _do(layout: Any, run: CheckRun, finding: Finding, given: dict[str, Any], again: Callable[[], None]) -> None:
    """Do a remedy as one undo step, and check the car again."""
    text = given["words"]
    apply(layout, run.car_with(finding, given), title=text[:1].upper() + text[1:])
    show_status(in_error(layout) or f"Done: {text}; checking again")
    again()
