"""What a form shows of the catalog beside its fields: stock sizes to pick, the main sizes of a row, and what departs from it."""
from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from PySide import QtCore, QtGui

from .. import catalog
from ..catalog.used import called, departing
from ..record import entries
from ..units import same


def preview_label(name: str) -> QtGui.QLabel:
    """A small line of sizes below a field."""
    label = QtGui.QLabel()
    label.setObjectName(name)
    label.setWordWrap(True)
    font = label.font()
    font.setItalic(True)
    label.setFont(font)
    return label


class StockSizes(QtGui.QComboBox):
    """The rows of a table whose sizes fill some fields of a record at once; it shows the row that the fields are like, if there is one.

    ``fields``: those of the record that a row has; ``picked`` hands out their values.
    """

    picked = QtCore.Signal(object)

    def __init__(self, name: str, table: str, kind: type):
        super().__init__()
        self.setObjectName(name)
        self.setAccessibleName("Stock size")
        self.setToolTip("Sizes in the catalog and in your own; the fields below take what you pick")
        self.setMinimumContentsLength(8)
        self.setSizeAdjustPolicy(QtGui.QComboBox.AdjustToMinimumContentsLengthWithIcon)
        record = catalog.TABLES[table]
        self.fields = tuple(field for field in entries(record) if field in entries(kind) and field not in entries(catalog.Row))
        rows = {row: catalog.row(table, row) for row in catalog.names(table)}
        self._rows = [{field: getattr(one, field) for field in self.fields} for one in rows.values()]
        self.addItem("another size")
        self.addItems([row if row in catalog.ours(table) else f"{row} (your own)" for row in rows])
        self.activated.connect(lambda number: self.picked.emit(self._rows[number - 1]) if number else None)

    def follow(self, given: Mapping[str, Any]) -> None:
        """Show the row whose sizes these are."""
        like = next((number for number, row in enumerate(self._rows, 1)
                     if all(given[field] is not None and same(given[field], row[field]) for field in self.fields)), 0)
        self.setCurrentIndex(like)


class Departures(QtGui.QLabel):
    """Tells what departs from the row that a record names; hidden where nothing does."""

    def __init__(self, name: str):
        super().__init__()
        self.setObjectName(name)
        self.setWordWrap(True)
        font = self.font()
        font.setBold(True)
        self.setFont(font)
        self.hide()

    def show_of(self, record: Any) -> None:
        """Show it of a record, as far as its fields give one."""
        told = called(record) if departing(record) else ""
        self.setText(f"{told}. Pick the row again to take its figures." if told else "")
        self.setVisible(bool(told))
