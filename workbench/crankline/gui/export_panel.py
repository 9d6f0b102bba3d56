"""The panel in which a car is exported: what, where to, and who made the drawings, which is kept in the car.

It writes through ``outputs.export``, as the command line does. What would show a part in error is not written, and a sentence names it.
"""
from __future__ import annotations

import os
from collections.abc import Generator
from pathlib import Path
from typing import Any

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui

from .. import checks, compat, model, outputs, preferences, remedies, reports, sections
from ..document_files import OutputError
from ..features import read
from ..features.apply import apply
from ..progress import Progress
from ..sheets import SheetError, editable_page
from .actions import fit_snapshot, formulas
from .dock_widgets import choice_box
from .editing import first_title_block
from .messages import show_message, show_status
from .record_form import FormError, RecordForm
from .task_panel import TaskPanel, may_open
from .translation import translate

OFFERED = tuple(name for name in outputs.PRODUCTS if name != "document" and not outputs.PRODUCTS[name].readings)
"""A copy of the document is what the host's Save As makes."""
PAGE = "page"
"""The page in the document, among the names of what was chosen."""
_folders: dict[str, str] = {}
"""Name of a document to the folder that its car was last exported to."""


def show(layout) -> bool:
    """Open the panel for a layout's car; False, with a sentence, where it cannot be."""
    if not may_open():
        return False
    try:
        panel = ExportPanel(layout)
    except ValueError as error:
        show_message(translate("Crankline", "Export"), str(error))
        return False
    Gui.Control.showDialog(panel)
    panel.boxes[OFFERED[0]].setFocus()
    return True


class ExportPanel(TaskPanel):
    """Task panel with what can be exported of one car; ``form`` is its widget."""

    def __init__(self, layout):
        super().__init__(layout.Document, "CranklineExportPanel", translate("Crankline", "Export"), "CranklineExportProblem")
        self.name = layout.Name
        car = read.car(layout)
        self.column.addWidget(self.problem)
        self.boxes = {name: self._box(name, outputs.PRODUCTS[name].label, outputs.PRODUCTS[name].doc) for name in OFFERED}
        self.boxes[PAGE] = self._box(PAGE, translate("Crankline", "Page to edit (TechDraw)"), translate(
            "Crankline", "A page with the side view in the document, which you edit and dimension yourself"))
        chosen = preferences.exported() or ("sheets", "flats", "html")
        for name, box in self.boxes.items():
            box.setChecked(name in chosen)
        self._form_line()
        self._folder_line()
        group = QtGui.QGroupBox(translate("Crankline", "Title block"))
        inside = QtGui.QVBoxLayout(group)
        inside.setContentsMargins(6, 4, 6, 4)
        self.fields = RecordForm(model.TitleBlock, car.title_block or first_title_block(), "in", "CranklineTitle")
        inside.addWidget(self.fields)
        self.column.addWidget(group)
        self.progress = QtGui.QProgressBar()
        self.progress.setObjectName("CranklineExportProgress")
        self.progress.hide()
        self.column.addWidget(self.progress)
        self.column.addStretch(1)

    def _box(self, name: str, label: str, doc: str):
        box = QtGui.QCheckBox(label)
        box.setObjectName(f"CranklineExport_{name}")
        box.setToolTip(doc)
        self.column.addWidget(box)
        return box

    def _form_line(self) -> None:
        """What sheets are written as; their size is in the title block, because it is kept in the car."""
        line, label = QtGui.QHBoxLayout(), QtGui.QLabel(translate("Crankline", "Sheets as"))
        told = translate("Crankline", "PDF: one file for all pages; SVG and PNG: a file for each page. The size is in the title block")
        self.sheets_as = choice_box("CranklineExportForm", label.text(), [(form.upper(), form) for form in outputs.FORMS])
        self.sheets_as.setToolTip(told)
        self.sheets_as.setCurrentIndex(max(0, self.sheets_as.findData(preferences.exported_form())))
        label.setBuddy(self.sheets_as)
        line.addWidget(label)
        line.addWidget(self.sheets_as, 1)
        self.column.addLayout(line)

    def _folder_line(self) -> None:
        line = QtGui.QHBoxLayout()
        label = QtGui.QLabel(translate("Crankline", "Folder"))
        self.folder = QtGui.QLineEdit(_folders.get(self.document) or _beside(App.getDocument(self.document)))
        self.folder.setObjectName("CranklineExportFolder")
        self.folder.setToolTip(translate("Crankline", "Where the files go; it is made if it is not there"))
        label.setBuddy(self.folder)
        browse = QtGui.QToolButton()
        browse.setObjectName("CranklineExportBrowse")
        browse.setText("…")
        browse.setAccessibleName(translate("Crankline", "Choose the folder"))
        browse.clicked.connect(self._browse)
        for widget in (label, self.folder, browse):
            line.addWidget(widget)
        self.column.addLayout(line)

    def modifyStandardButtons(self, box) -> None:
        """The host asks: OK does what the panel is called."""
        box.button(QtGui.QDialogButtonBox.Ok).setText(translate("Crankline", "Export"))

    def _browse(self) -> None:
        found = QtGui.QFileDialog.getExistingDirectory(Gui.getMainWindow(), translate("Crankline", "Folder for the Export"),
                                                       self.folder.text())
        if found:
            self.folder.setText(found)

    def accept(self) -> bool:
        """OK: keep the title block, write, close. What is not written is told, and the panel stays open."""
        layout = self._object(self.name)
        if layout is None:
            return self._leave()
        names = tuple(name for name, box in self.boxes.items() if box.isChecked())
        folder = self.folder.text().strip()
        if not names:
            return self._refuse(translate("Crankline", "Nothing is chosen; check what is to be exported."))
        if not folder and names != (PAGE,):
            return self._refuse(translate("Crankline", "The folder is missing; choose one."))
        QtGui.QApplication.setOverrideCursor(QtGui.QCursor(QtCore.Qt.WaitCursor))
        try:
            self._keep(layout, self.fields.value())
            told = self._export(layout, tuple(name for name in names if name != PAGE), folder)
            if PAGE in names:
                told += self._page(layout)
        except FormError:
            return self._refuse("")   # told beside its field
        except (ValueError, OSError, OutputError) as error:
            return self._refuse(" ".join(str(error).split()))
        finally:
            self.progress.hide()
            QtGui.QApplication.restoreOverrideCursor()
        preferences.remember_exported(names, self.sheets_as.currentData())
        return self._refuse("\n".join(told)) if told else self._leave()

    def _keep(self, layout, title_block: model.TitleBlock) -> None:
        """Put the title block into the car where it is another one; one undo step."""
        car = read.car(layout)
        if title_block != (car.title_block or model.TitleBlock()):
            apply(layout, sections.put(car, "title_block", title_block), title=translate("Crankline", "Title Block"))

    def _export(self, layout, names: tuple[str, ...], folder: str) -> list[str]:
        """Write; a sentence on each product that is missing."""
        if not names:
            return []
        shot = fit_snapshot(layout)
        outcome, report = None, {}
        asked = [outputs.PRODUCTS[name] for name in names]
        if any(one.checked for one in asked):
            check = checks.Check(shot)
            self._drive(check.steps())
            outcome = check.outcome()
            if any(one.checked and not one.shapes for one in asked):
                outcome = self._drive(remedies.steps(outcome, shot, remedies.EFFORT, None))
                report = reports.report(outcome, shot, compat.host())
        job = outputs.Job(layout, shot, outcome, report, form=self.sheets_as.currentData(),
                          records=tuple(filter(None, (preferences.held().records,))))
        written = outputs.export(job, names, Path(folder))
        _folders[self.document] = folder
        show_status(_told(written, folder))
        if "car_file" in names and (held := formulas(layout)):
            show_message(translate("Crankline", "Export"), translate(
                "Crankline", "car.yaml was written with the values that these formulas give; the formulas themselves are not written"),
                "\n".join(held), warning=False)
        return list(written.missing)

    def _page(self, layout) -> list[str]:
        """Make the page in the document; a sentence where there is none."""
        try:
            page = editable_page.make(layout, fit_snapshot(layout))
        except SheetError as error:
            return [str(error)]
        show_status(f"{page.Label} {translate('Crankline', 'added to the document')}")
        return []

    def _drive(self, steps: Generator[Progress, None, Any]) -> Any:
        """Run steps to their end with the bar; what they return. No click gets through meanwhile."""
        self.progress.setRange(0, 100)
        self.progress.show()
        while True:
            try:
                step = next(steps)
            except StopIteration as end:
                return end.value
            self.progress.setValue(round(100 * step.share))
            QtGui.QApplication.processEvents(QtCore.QEventLoop.ExcludeUserInputEvents)


def _beside(document) -> str:
    """A folder beside a saved document; empty for one that was not saved yet."""
    stem, _ = os.path.splitext(document.FileName)
    return f"{stem} export" if stem else ""


def _told(written: outputs.Written, folder: str) -> str:
    told = f"{translate('Crankline', 'Files written')}: {len(written.files)}, {translate('Crankline', 'to')} {folder}"
    if not written.removed:
        return told
    return f"{told}; {translate('Crankline', 'removed, because an earlier export wrote it')}: {', '.join(written.removed)}"
