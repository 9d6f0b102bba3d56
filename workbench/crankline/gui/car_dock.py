"""The car as a list: its sections in the order of work, what is there and what is not yet. The place from which everything is begun, added
and edited."""
from __future__ import annotations

from collections import Counter
from typing import Any

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui

from .. import model, sections
from ..catalog.used import called, departing
from ..checks.finding import Finding
from ..features import read
from ..features.edited import Place, place_of
from . import editing, findings_dock, start_panel, task_panel
from .dock_widgets import push_button
from .messages import attempt

ORDER = sections.order_of_work()
BEGIN = "No car in this document yet: press Add… to begin one, or open a car file"
WAITING, OPTIONAL = "Not there yet", "None"
"""States of what is absent: of what every finished car has, and of what a car may do without."""
_dock: CarDock | None = None


def toggle() -> None:
    """Bring the list to the front, or hide it where it is there already."""
    if _dock is not None and _dock.isVisible():
        _dock.hide()
    else:
        show()


def show() -> None:
    """Bring the list to the front; made at first use."""
    global _dock
    if _dock is None:
        _dock = CarDock(Gui.getMainWindow(), findings_dock.dock())
        Gui.getMainWindow().addDockWidget(QtCore.Qt.RightDockWidgetArea, _dock)
        App.addDocumentObserver(_dock)
        task_panel.followers.append(_dock.refresh)
    _dock.show()
    _dock.raise_()
    _dock.refresh()


class CarDock(QtGui.QDockWidget):
    """Sections of the active document's car with their states; it follows the document, and the findings that are shown."""

    def __init__(self, parent, findings):
        super().__init__("Car", parent)
        self._findings = findings
        findings.filled.connect(self._later)
        self.setObjectName("CranklineCar")
        self._places: list[tuple[Place, bool]] = []
        self._shown: Any = None
        self._lacked: tuple[str, ...] = ()
        self._soon = QtCore.QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self.refresh)
        body = QtGui.QWidget()
        column = QtGui.QVBoxLayout(body)
        column.setContentsMargins(4, 4, 4, 4)
        self.summary = QtGui.QLabel()
        self.summary.setObjectName("CranklineCarSummary")
        self.summary.setWordWrap(True)
        self.table = QtGui.QTreeWidget()
        self.table.setObjectName("CranklineCarSections")
        self.table.setAccessibleName("Sections of the car")
        self.table.setHeaderLabels(["Section", "State"])
        self.table.setRootIsDecorated(False)
        self.table.setUniformRowHeights(True)
        self.table.header().setStretchLastSection(False)
        self.table.header().setSectionResizeMode(0, QtGui.QHeaderView.Stretch)
        self.table.header().setSectionResizeMode(1, QtGui.QHeaderView.ResizeToContents)
        line = QtGui.QHBoxLayout()
        self.add = self._button("&Add…", "Add", "Adds this section to the car", self._add)
        self.edit = self._button("&Edit…", "Edit", "Edits this section", editing.edit)
        self.copy = self._button("&Duplicate", "Duplicate", "Adds another one like it", editing.duplicate)
        self.remove = self._button("&Remove…", "Remove", "Takes this section out of the car", editing.remove)
        for button in (self.add, self.edit, self.copy, self.remove):
            line.addWidget(button)
        for widget in (self.summary, self.table):
            column.addWidget(widget)
        column.addLayout(line)
        self.setWidget(body)
        self.table.itemSelectionChanged.connect(self._enable)
        self.table.itemActivated.connect(lambda *_: self._activated())
        self.visibilityChanged.connect(lambda on: self._soon.start(0) if on else None)

    def _button(self, text: str, name: str, tip: str, action):
        return push_button(text, f"Section{name}", tip, lambda: self._do(name, action))

    # --- what is shown ------------------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show the car of the active document as it is now. Rows of what stays are only told anew: one of them may just be clicked."""
        if not self.isVisible():
            return
        layout, chosen = self._layout(), self._chosen()
        self._places = []
        car = self._car(layout)
        if car is not None:
            self._fill(layout, car)
        elif layout is None:
            for path in ORDER:
                self._row(Place(path), editing.label_of(path), WAITING if self._always(path) else OPTIONAL, False)
        places = [place for place, _there in self._places]
        while self.table.topLevelItemCount() > len(places):
            self.table.takeTopLevelItem(self.table.topLevelItemCount() - 1)
        # Who has chosen nothing, or has just added what was needed, is shown what comes next.
        lacking = sections.lacking(car) if car is not None else ()
        kept = chosen is not None and layout == self._shown and len(lacking) >= len(self._lacked) and chosen[0] in places
        after = self._next(car)
        wanted = chosen[0] if chosen is not None and (kept or after is None) else after
        self._shown, self._lacked = layout, lacking
        self.table.setCurrentItem(self.table.topLevelItem(places.index(wanted)) if wanted in places else None)
        self._enable()

    @staticmethod
    def _always(path: str) -> bool:
        """Whether every finished car has a section."""
        section = sections.section_of(path)
        return section.needed or path in (*sections.FINISHED, editing.SKETCHES)

    @staticmethod
    def _next(car: model.Car | None) -> Place | None:
        """The first section, in the order of work, that a finished car has and this one has not."""
        if car is None:
            return Place(ORDER[0])
        lacking = [sections.holding(path) for path in sections.lacking(car)]
        return next((Place(path) for path in ORDER if path in lacking), None)

    def _fill(self, layout, car: model.Car) -> None:
        """The rows: every section that there is or might be, and every item of a list."""
        wrong: dict[Place, str] = {}
        of_key: dict[str, Place] = {}
        for obj in read.members(layout):
            place = place_of(obj.Kind, obj.Key, car)
            if place is not None:
                of_key[obj.Key] = place
                if "Invalid" in obj.State:
                    wrong.setdefault(place, obj.getStatusString())
        told = Counter(place for finding in self._open(layout) for place in {of_key[key] for key in finding.subjects if key in of_key})
        # What is edited with a section that is there.
        lacks = {sections.holding(path): f"No {editing.label_of(path).lower()} yet" for path in sections.lacking(car)}
        for path in ORDER:
            section = sections.section_of(path)
            items = len(sections.items(car, path)) if section.many else 0
            held = [Place(path, number) for number in range(items)] if section.many else \
                [Place(path)] if path == editing.SKETCHES or sections.get(car, path) is not None else []
            for place in held:
                record = sections.get(car, path)
                departs = called(record) if path in ("engine", "transmission") and departing(record) else ""
                state = f"Error: {wrong[place]}" if place in wrong else f"{told[place]} finding{'s' if told[place] > 1 else ''}" \
                    if told[place] else "Not as in the catalog" if departs else lacks.get(path, "There")
                self._row(place, editing.title_of(place, car), state, True, departs)
            if section.many or not held:
                label = editing.label_of(path)
                self._row(Place(path, items if section.many else None), f"{label}, another" if items else label,
                          "" if items else WAITING if self._always(path) else OPTIONAL, False)
        lacking = [editing.label_of(path) for path in sorted(sections.lacking(car), key=lambda path: ORDER.index(sections.holding(path)))]
        told_next = f"next is {lacking[0]}; {len(lacking)} needed sections are not there yet" if len(lacking) > 1 else \
            f"next is {lacking[0]}, the last needed section" if lacking else "every section that a finished car needs is there"
        errors = f"; {len(wrong)} in error" if wrong else ""
        self.summary.setText(f"{car.car.name}: {told_next}{errors}")

    def _open(self, layout) -> list[Finding]:
        """What stands against the car as it is now, as far as it was checked; nothing where it has changed since."""
        found = self._findings
        fresh = found.document == layout.Document.Name and found.layout_name == layout.Name and not found.stale
        return [finding for finding in found.findings if finding.unresolved] if fresh else []

    def _row(self, place: Place, label: str, state: str, there: bool, more: str = "") -> None:
        """A row; ``more``: what the tip of its state adds."""
        row = self.table.topLevelItem(len(self._places))
        if row is None:
            row = QtGui.QTreeWidgetItem()
            self.table.addTopLevelItem(row)
        row.setText(0, label)
        row.setText(1, state)
        row.setToolTip(0, sections.section_of(place.path).doc)
        row.setToolTip(1, f"{state}: {more}" if more else state)
        font = row.font(0)
        font.setItalic(not there)
        row.setFont(0, font)
        self._places.append((place, there))

    def _car(self, layout) -> model.Car | None:
        if layout is None:
            self.summary.setText(BEGIN)
            return None
        try:
            return read.car(layout)
        except ValueError as error:
            self.summary.setText(str(error))
            return None

    def _layout(self):
        document = App.ActiveDocument
        found = read.layouts(document) if document is not None else []
        return found[0] if found and getattr(found[0], "Proxy", None) is not None else None

    def _chosen(self) -> tuple[Place, bool] | None:
        number = self.table.indexOfTopLevelItem(self.table.currentItem()) if self.table.currentItem() is not None else -1
        return self._places[number] if 0 <= number < len(self._places) else None

    def _enable(self) -> None:
        chosen = self._chosen()
        there = chosen is not None and chosen[1]
        section = sections.section_of(chosen[0].path) if chosen is not None else None
        many = section is not None and section.many
        self.add.setEnabled(chosen is not None and (many or not there))
        self.edit.setEnabled(there)
        self.copy.setEnabled(there and many)
        removable = section is not None and not section.needed and section.path != editing.SKETCHES
        self.remove.setEnabled(there and (many or removable))

    # --- what is done -------------------------------------------------------------------------------------------------

    def _do(self, title: str, action) -> None:
        chosen, layout = self._chosen(), self._layout()
        if chosen is not None and layout is None and title == "Add":
            attempt(title, lambda: start_panel.show(show))    # the same list begins a car
        elif chosen is not None and layout is not None:
            attempt(title, lambda: action(layout, chosen[0]))
            self._soon.start(0)

    def _activated(self) -> None:
        """What a double click or Enter on a row does."""
        if (chosen := self._chosen()) is not None:
            self._do(*(("Edit", editing.edit) if chosen[1] else ("Add", self._add)))

    def _add(self, layout, place: Place) -> None:
        editing.add(layout, place.path)

    # --- the document's side: the host calls these --------------------------------------------------------------------

    def slotChangedObject(self, _obj, _name: str) -> None:
        self._later()

    def slotCreatedObject(self, _obj) -> None:
        self._later()

    def slotDeletedObject(self, _obj) -> None:
        self._later()

    def slotActivateDocument(self, _document) -> None:
        self._later()

    def slotDeletedDocument(self, _document) -> None:
        self._later()

    def _later(self) -> None:
        if self.isVisible() and not self._soon.isActive():
            self._soon.start(100)
