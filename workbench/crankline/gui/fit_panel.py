"""As-built fit: readings of the real car in a form, where the powertrain then is, what passes there, what to move.

The fit follows as the readings are typed, and the powertrain is drawn where it is. OK keeps the placement as built in the document, beside
the one as designed, and shows either; one undo step.
"""
from __future__ import annotations

import os
from dataclasses import dataclass, replace
from html import escape
from pathlib import Path
from typing import Any

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui

from .. import model, outputs
from ..as_built import fitted, moves, readings, report, verdicts
from ..document_files import OutputError
from ..features import read
from ..features.apply import apply
from ..features.edited import foreseen
from ..mechanics import scene as scenes
from ..record import choice, sparse, text
from ..replacing import replacing
from ..snapshot import Snapshot
from ..units import read_in
from . import fit_form
from .dock_widgets import BesidePanel, push_button, put_beside
from .finding_marker import view_of
from .messages import show_message, show_status
from .preview import Preview
from .record_form import FormError, RecordForm
from .task_panel import TaskPanel, in_error, may_open
from .translation import translate

TITLE = "As-Built Fit"
SETTLE = 150
"""ms without a keystroke before the fit is made again."""
WIDTH = 440
"""Pixels of the dock."""
BEGIN = "Type what was measured: the fit follows. The tip of each field says which box of the set-up sheet it is."
_typed: dict[str, readings.Readings] = {}
"""Name of a document to the readings that were typed for it last."""


@dataclass(frozen=True)
class About:
    """What stands beside the readings."""
    shown: str = choice("which placement is shown and checked", "as_designed", "as_built", required=True)
    heights_from: str = choice("what heights are measured from, and what the level is zeroed on", "track", "rail", "plate", required=True)
    measured: str = text("day of the measuring, YYYY-MM-DD", form="date")
    measured_by: str = text("who measured")


def show(layout) -> bool:
    """Open the panel for a layout; False, with a sentence, where it cannot be."""
    if not may_open():
        return False
    try:
        panel = FitPanel(layout)
    except ValueError as error:
        show_message(TITLE, str(error))
        return False
    Gui.Control.showDialog(panel)
    panel.dock.form.focus()
    return True


class FitPanel(TaskPanel):
    """Task panel of one layout's car, with a dock that holds the readings as long as it is open."""

    def __init__(self, layout):
        super().__init__(layout.Document, "CranklineFitPanel", TITLE, "CranklineFitProblem")
        self.name, self._car = layout.Name, read.car(layout)
        self.system = "mm" if self._car.car.units == "mm" else "in"
        with read_in(self.system):
            self._designed, self._scene = fitted.designed(self._car, foreseen(layout, self._car))
            self._form = fit_form.of(self._designed, self._scene, _typed.get(self.document))
        self.found: fitted.Fitted | None = None
        self._outcome: tuple[readings.Readings, report.Outcome] | None = None      # of the readings that were judged last
        place = self._car.placement
        base = self._form.base
        self._decided = place.as_built is not None      # which is shown, by the user or by the document
        self.about = RecordForm(About, sparse(About, shown=place.shown or "as_designed", heights_from="track", measured=base.measured,
                                              measured_by=base.measured_by), self.system, "CranklineFit")
        self.told = QtGui.QLabel()
        self.told.setObjectName("CranklineFitSummary")
        self.told.setWordWrap(True)
        buttons = (push_button("&Open Readings…", "OpenReadings", "Reads a readings file into the form", self._open),
                   push_button("&Save Readings…", "SaveReadings", "Writes the readings to a file, which fit reads too", self._save),
                   push_button("&Findings and Moves", "FindingsAndMoves", "What passes surely where the powertrain is, what is undecided, "
                               "and what to move", self._judge),
                   push_button("&Write Sheet…", "WriteAsBuilt", "Writes the as-built sheet with readings, fit, moves and sign-off to a "
                               "folder, and the fit as data", self._write))
        for widget in (self.problem, self.about, self.told, *buttons):
            self.column.addWidget(widget)
        self.column.addStretch(1)
        self._soon: Any = QtCore.QTimer(self.form)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self._fit)
        view = view_of(layout.Document)
        root = next((part for part in read.containers(layout) if part.Key == "root"), None)
        self._preview_by(None if view is None else Preview(view, root.getGlobalPlacement() if root is not None else App.Placement()))
        self.dock = FitDock(Gui.getMainWindow(), self._form, self.system)
        self.dock.form.changed.connect(self._edited)
        self.about.changed.connect(self._edited)
        self.about.widget("shown").activated.connect(lambda _number: setattr(self, "_decided", True))
        self.form.destroyed.connect(self.dock.leave)
        self.dock.show()
        put_beside(Gui.getMainWindow(), self.dock, WIDTH)
        self.dock.raise_()
        self._fit()

    # --- the fit ------------------------------------------------------------------------------------------------------

    def _edited(self) -> None:
        self._soon.start(SETTLE)

    def _readings(self) -> readings.Readings:
        """What the form says; FormError for a field that is wrong, told beside it."""
        about = self.about.value()
        return self._form.readings(self.dock.form.value(), about.heights_from, measured=about.measured, measured_by=about.measured_by,
                                   car=self._car.car.name)

    def _fit(self) -> None:
        """Fit what is typed, tell and show it."""
        self.found = None
        try:
            record = self._readings()
        except FormError:
            return
        self._say("")
        if record.readings:
            try:
                with read_in(self.system):
                    self.found = fitted.of(self._designed, record, readings.of_record(record, self._designed, self._scene))
                    built = scenes.of(self.found.as_built)
            except ValueError as error:
                self.found = None
                self._say(str(error))
        if self.found is None:
            self.told.setText(BEGIN if not record.readings else "")
            self.dock.tell("")
            if self._preview is not None:
                self._preview.hide()
            return
        if self.found.determined and not self._decided:
            self._decided = True
            self.about.fill({"shown": "as_built"})
        self.told.setText("✓ The readings say where the powertrain is" if self.found.determined else
                          f"? Not determined: {', '.join(self.found.lost)}")
        with read_in(self.system):
            self.dock.tell(_page(self.found))
        if self._preview is not None:
            self._preview.update(built)

    def _judge(self) -> report.Outcome | None:
        """Tell what passes there, and what to move; all that the fit told, None where it told nothing."""
        self._fit()
        found = self.found
        if found is None:
            self._refuse(self.problem.text() or "Type readings first; there is nothing to check yet.")
            return None
        QtGui.QApplication.setOverrideCursor(QtGui.QCursor(QtCore.Qt.WaitCursor))
        try:
            with read_in(self.system):
                record = self._readings()
                if self._outcome is None or self._outcome[0] != record:
                    self._outcome = record, report.Outcome(found, verdicts.of(found), moves.correct(found), found.wanted,
                                                           scenes.of(found.as_built))
                outcome = self._outcome[1]
                self.dock.tell(_page(found, outcome))
            return outcome
        except ValueError as error:
            self._refuse(str(error))
            return None
        finally:
            QtGui.QApplication.restoreOverrideCursor()

    def _write(self) -> None:
        """Write the as-built sheet to a folder."""
        outcome = self._judge()
        folder = QtGui.QFileDialog.getExistingDirectory(Gui.getMainWindow(), TITLE, "") if outcome is not None else ""
        if outcome is None or not folder:
            return
        shot = Snapshot(outcome.fitted.as_built, outcome.as_built, ())
        try:
            written = outputs.export(outputs.Job(None, shot, fitted=outcome), outputs.FITTED, Path(folder))
        except (ValueError, OSError, OutputError) as error:
            self._refuse(" ".join(str(error).split()))
            return
        show_status(f"{', '.join(written.files)} written to {folder}")
        self._say("\n".join(written.missing))

    # --- files --------------------------------------------------------------------------------------------------------

    def _open(self) -> None:
        answer = QtGui.QFileDialog.getOpenFileName(Gui.getMainWindow(), TITLE, "", translate("Crankline", "Readings (*.yaml *.yml)"))
        path = answer[0] if isinstance(answer, tuple) else answer
        if not path:
            return
        try:
            with read_in(self.system):
                record, _measured = readings.read(path, self._designed, self._scene)
                self._form = fit_form.of(self._designed, self._scene, record)
        except (ValueError, OSError) as error:
            self._refuse(" ".join(str(error).split()))
            return
        self.dock.fill(self._form, self.system, self._edited)
        self.about.fill({"measured": record.measured, "measured_by": record.measured_by})

    def _save(self) -> None:
        try:
            record = self._readings()
        except FormError:
            self._refuse("")
            return
        answer = QtGui.QFileDialog.getSaveFileName(Gui.getMainWindow(), TITLE, "readings.yaml",
                                                   translate("Crankline", "Readings (*.yaml *.yml)"))
        path = answer[0] if isinstance(answer, tuple) else answer
        if not path:
            return
        try:
            with replacing(os.path.abspath(path)) as temporary:
                temporary.write_text(self._form.text(record, self._car), encoding="utf-8")
        except OSError as error:
            self._refuse(f"{path}: it cannot be written ({error.strerror}); choose another folder.")
            return
        show_status(f"Readings written to {path}")

    # --- OK -----------------------------------------------------------------------------------------------------------

    def accept(self) -> bool:
        """OK: keep the placement as built, show the one that is chosen; one undo step. What is wrong keeps the panel open."""
        layout = self._object(self.name)
        if layout is None:
            return self._leave()
        try:
            about, record = self.about.value(), self._readings()
        except FormError:
            return self._refuse("")   # told beside its field
        self._fit()
        place = self._car.placement
        if record.readings:
            if self.found is None:
                return self._refuse(self.problem.text())
            if not self.found.determined:
                return self._refuse(f"The readings do not say where the powertrain is: {', '.join(self.found.lost)}. Read also: "
                                    f"{'; '.join(self.found.asked) or 'more points'}.")
            place = replace(place, as_built=self.found.record)
        if about.shown == "as_built" and place.as_built is None:
            return self._refuse("There is no placement as built yet; type readings, or choose As designed.")
        if about.shown != (place.shown or "as_designed"):
            place = replace(place, shown=about.shown)
        try:
            with read_in(self.system):
                car: model.Car = replace(self._car, placement=place)
                if car != self._car:
                    foreseen(layout, car)
                    apply(layout, car, title=TITLE)
        except ValueError as error:
            return self._refuse(str(error))
        _typed[self.document] = record
        show_status(in_error(layout) or f"Shown {about.shown.replace('_', ' ')}; Check Car tells what is measured on shapes")
        return self._leave()

    def close(self) -> None:
        self._soon.stop()
        self.dock.leave()
        super().close()


def _page(found: fitted.Fitted, outcome: report.Outcome | None = None) -> str:
    """What came of the readings, as HTML: where the powertrain is, what is missing or wrong, then moves and findings."""
    rows = [("", "Designed", "As built", "Off", "Within")]
    rows += [(report.FREEDOM_WORDS[one.name], report.size(one.wanted, one.quantity), report.size(one.found, one.quantity),
              report.size(one.found - one.wanted, one.quantity), report.within(one)) for one in found.freedoms]
    table = "".join("<tr>" + "".join(f"<td>{escape(cell)}&nbsp;</td>" for cell in row) + "</tr>" for row in rows)
    told = outcome or report.Outcome(found, (), None, found.wanted, found.wanted)
    lines = report.text(told)[1 + len(found.freedoms):]
    placed, said = f"<table>{table}</table>", "".join(f"<p>{escape(line.strip())}</p>" for line in lines)
    return placed + said if outcome is None else said + placed      # what was asked for comes first


class FitDock(BesidePanel):
    """The form of the readings, and what came of them."""

    def __init__(self, parent, form: fit_form.Form, system: str):
        super().__init__(parent, TITLE, "CranklineReadings")
        self._scroll = QtGui.QScrollArea()
        self._scroll.setWidgetResizable(True)
        self._told = QtGui.QTextBrowser()
        self._told.setObjectName("CranklineFitTold")
        self._told.setAccessibleName("What came of the readings")
        self.hold(self._scroll, self._told, sizes=(330, 270))
        self.form: Any = None
        self.fill(form, system)

    def fill(self, form: fit_form.Form, system: str, changed: Any = None) -> None:
        """Show another form."""
        self.form = RecordForm(form.kind, form.shown(), system, "CranklineReading")
        self._scroll.setWidget(self.form)
        if changed is not None:
            self.form.changed.connect(changed)

    def tell(self, html: str) -> None:
        """Show what came of the readings."""
        self._told.setHtml(html)
