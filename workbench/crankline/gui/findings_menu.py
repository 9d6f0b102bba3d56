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
from .check_run import CheckRun
from .finding_page import parts
from .messages import attempt, show_status
from .task_panel import in_error


def menu(parent: Any, layout: Any, finding: Any, run: CheckRun | None, again: Callable[[], None] | None,
         more: tuple[QtGui.QPushButton, ...], show: Callable[[], object], copy: Callable[[], object]) -> QtGui.QMenu:
    """The menu of a row, empty where it is of no finding. again: checks the car again, None where it is no longer what was checked; more:
    buttons of the dock that are in the menu too, as far as they are enabled; show: brings its place into the view; copy: its words."""
    made = QtGui.QMenu(parent)
    if layout is None or not isinstance(finding, Finding):
        return made
    if again is not None and run is not None:
        for given in finding.remedies:
            _add(made, f"Do it: {given['words']}", partial(do, layout, run, finding, given, again))
    made.addSeparator()
    labels = {obj.Key: obj for obj in read.members(layout)}
    for key in parts(finding, labels):
        _add(made, f"Edit {labels[key].Label}…", partial(editing.edit_object, labels[key]))
    made.addSeparator()
    for button in more:
        if button.isEnabled():
            made.addAction(button.text()).triggered.connect(button.click)
    _add(made, "Show", show)
    _add(made, "Copy as Text", copy)
    return made


def _add(made: QtGui.QMenu, text: str, action: Callable[[], object]) -> None:
    made.addAction(text.replace("&", "&&")).triggered.connect(lambda *_: attempt(text, action))


def do(layout: Any, run: CheckRun, finding: Finding, given: dict[str, Any], again: Callable[[], None]) -> None:
    """Do a remedy as one undo step, and check the car again."""
    text = given["words"]
    apply(layout, run.car_with(finding, given), title=text[:1].upper() + text[1:])
    show_status(in_error(layout) or f"Done: {text}; checking again")
    again()
