"""The table of the findings dock: one row a finding or unused waiver, sorted by what a column stands for."""
from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from PySide import QtCore, QtGui

from ..checks.finding import Finding
from ..checks.waivers import Unused
from ..rules.rule import SEVERITIES
from . import finding_words as words

COLUMNS = ("State", "Severity", "Rule", "Part", "Measured", "Limit", "Margin", "Basis")
UNUSED = "unused waiver"
"""What stands for the state in the row of a waiver that waives nothing."""

_NUMBERS = (4, 5, 6)
_WIDEST = ((2, 340), (3, 220), (7, 320))
_ID = QtCore.Qt.UserRole


@dataclass(frozen=True)
class Row:
    """One row: what it is called, what it stands for, its texts, what each column is sorted by, and the parts it is about."""
    name: str
    held: Finding | Unused
    cells: tuple[str, ...]
    order: tuple
    subjects: tuple[str, ...]


def of_finding(finding: Finding, labels: Sequence[str], system: str, stale: bool) -> Row:
    """The row of a finding, in the units of its car (system)."""
    cells = words.cells(finding, labels, system, stale)
    limit = finding.limit[0] if isinstance(finding.limit, tuple) else finding.limit
    numbers = [math.inf if value is None else float(value) for value in (finding.measured, limit, finding.margin)]
    return Row(finding.id, finding, cells, (words.rank(finding), finding.severity.rank, *cells[2:4], *numbers, cells[7]),
               finding.subjects)


def of_unused(number: int, unused: Unused, labels: Sequence[str]) -> Row:
    """The row of a waiver that waives nothing."""
    waiver = unused.waiver
    cells = (UNUSED, "", waiver.rule, "; ".join(labels), "", "", "", unused.why)
    rank = (len(words.ORDER), 0, waiver.rule, tuple(waiver.subjects or ()), str(number))
    return Row(f"waiver {number}", unused, cells, (rank, len(SEVERITIES), *cells[2:4], math.inf, math.inf, math.inf, cells[7]),
               tuple(waiver.subjects or ()))


class _Item(QtGui.QTableWidgetItem):
    """A cell that is sorted by what it stands for, not by its text."""

    def __init__(self, text: str, order: Any):
        super().__init__(text)
        self.order = order
        self.setToolTip(text)

    def __lt__(self, other) -> bool:
        return self.order < other.order


class FindingsTable(QtGui.QTableWidget):
    """The table. Rows are known by name, because sorting moves them; ``copied`` is emitted where the user copies the current one."""

    copied = QtCore.Signal()

    def __init__(self):
        super().__init__(0, len(COLUMNS))
        self.setObjectName("CranklineFindingsTable")
        self.setAccessibleName("Findings")
        self.setHorizontalHeaderLabels(COLUMNS)
        self.setSelectionBehavior(QtGui.QAbstractItemView.SelectRows)
        self.setSelectionMode(QtGui.QAbstractItemView.SingleSelection)
        self.setEditTriggers(QtGui.QAbstractItemView.NoEditTriggers)
        self.setTabKeyNavigation(False)   # Tab leads on to the details
        self.verticalHeader().setVisible(False)
        self.setWordWrap(False)
        self.horizontalHeader().setSortIndicator(0, QtCore.Qt.AscendingOrder)
        self._rows: dict[str, Row] = {}

    def fill(self, rows: Iterable[Row], stale: bool) -> None:
        """Show these rows, in slanted type where they are stale; the selected one stays selected if it is among them."""
        kept, self._rows = self.current_name, {row.name: row for row in rows}
        blocked = self.blockSignals(True)
        try:
            self.setSortingEnabled(False)
            self.clearContents()
            self.setRowCount(len(self._rows))
            for number, row in enumerate(self._rows.values()):
                for column, text in enumerate(row.cells):
                    item = _Item(text, row.order[column])
                    if column in _NUMBERS:
                        item.setTextAlignment(QtCore.Qt.AlignRight | QtCore.Qt.AlignVCenter)
                    font = item.font()
                    font.setItalic(stale)
                    item.setFont(font)
                    self.setItem(number, column, item)
                self.item(number, 0).setData(_ID, row.name)
            self.setSortingEnabled(True)
            self.resizeColumnsToContents()
            widest = dict(_WIDEST)
            for column in range(self.columnCount()):
                # Room for bold type, in which rows are marked.
                self.setColumnWidth(column, min(round(1.12 * self.columnWidth(column)) + 4, widest.get(column, 10000)))
            number = self.number(kept)
            if number >= 0:
                self.selectRow(number)
            else:
                self.clearSelection()
        finally:
            self.blockSignals(blocked)

    def event(self, event) -> bool:
        """The copy key is ours here; the host's own Copy asks which objects to copy."""
        if event.type() == QtCore.QEvent.ShortcutOverride and event.matches(QtGui.QKeySequence.Copy):
            event.accept()
            return True
        return bool(super().event(event))

    def keyPressEvent(self, event) -> None:
        """The copy key of the machine copies the whole row in words, not one cell."""
        if event.matches(QtGui.QKeySequence.Copy):
            self.copied.emit()
            event.accept()
        else:
            super().keyPressEvent(event)

    def number(self, name: str) -> int:
        """Where a row stands, -1 where it is not shown."""
        return next((number for number in range(self.rowCount()) if self.item(number, 0).data(_ID) == name), -1)

    @property
    def current_name(self) -> str:
        """Name of the selected row; empty where none is."""
        chosen = self.selectionModel().selectedRows()
        return self.item(chosen[0].row(), 0).data(_ID) if chosen else ""

    @property
    def current(self) -> Finding | Unused | None:
        """What the selected row stands for."""
        row = self._rows.get(self.current_name)
        return None if row is None else row.held

    def mark(self, keys: set[str]) -> int:
        """Put the rows about these parts in bold on the color of marked text, and bring the first into sight; how many there are."""
        color = self.palette().color(QtGui.QPalette.Highlight)
        color.setAlpha(60)
        found = []
        for number in range(self.rowCount()):
            on = bool(keys.intersection(self._rows[self.item(number, 0).data(_ID)].subjects))
            if on:
                found.append(number)
            for column in range(self.columnCount()):
                item = self.item(number, column)
                font = item.font()
                if font.bold() != on:
                    font.setBold(on)
                    item.setFont(font)
                    item.setBackground(QtGui.QBrush(color) if on else QtGui.QBrush())
        if found:
            self.scrollToItem(self.item(found[0], 0))
        return len(found)
