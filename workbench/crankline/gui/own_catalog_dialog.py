"""The shop's own catalog, seen and edited in the window: rows that begin like ones that are there, kept in the shop's folder."""
from __future__ import annotations

import datetime
from typing import Any

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui

from .. import catalog, preferences
from ..carfile import catalog_row
from ..catalog import shop, sizes
from ..record import sparse
from ..source import SourceError
from . import own_catalog
from .dock_widgets import push_button
from .messages import agreed, attempt, problem_label
from .record_form import RecordForm

LABELS = {"engines": "Engines", "transmissions": "Transmissions", "sections": "Tubes"}
FIGURES = ("source", "basis", "date", "note")
"""What a row says about itself; it is asked for before its figures."""


def show() -> None:
    """Open the shop's own catalog."""
    CatalogDialog(Gui.getMainWindow()).exec_()


class CatalogDialog(QtGui.QDialog):
    """Rows of a table, ours and the shop's own, with their main sizes; own rows are added, edited and removed."""

    def __init__(self, parent):
        super().__init__(parent)
        self.setObjectName("CranklineOwnCatalog")
        self.setWindowTitle("Your Own Catalog")
        self._folder = QtGui.QLabel()
        self._folder.setObjectName("CranklineOwnCatalogFolder")
        self._folder.setWordWrap(True)
        self.table = QtGui.QComboBox()
        self.table.setObjectName("CranklineOwnCatalogTable")
        for table in shop.KEPT:
            self.table.addItem(LABELS[table], table)
        self.rows = QtGui.QTreeWidget()
        self.rows.setObjectName("CranklineOwnCatalogRows")
        self.rows.setHeaderLabels(["Row", "Whose", "Main sizes"])
        self.rows.setRootIsDecorated(False)
        self.choose = push_button("&Folder…", "OwnCatalogChoose", "Chooses the folder in which your own catalog is kept", self._choose)
        self.new = push_button("&New like this…", "OwnCatalogNew", "Adds a row of your own that begins with these figures", self._new)
        self.edit = push_button("&Edit…", "OwnCatalogEdit", "Edits this row of your own", self._edit)
        self.remove = push_button("&Remove…", "OwnCatalogRemove", "Takes this row out of your own catalog", self._remove)
        close = QtGui.QDialogButtonBox(QtGui.QDialogButtonBox.Close)
        close.rejected.connect(self.reject)
        top, line, column = QtGui.QHBoxLayout(), QtGui.QHBoxLayout(), QtGui.QVBoxLayout(self)
        top.addWidget(self._folder, 1)
        top.addWidget(self.choose)
        for button in (self.new, self.edit, self.remove):
            line.addWidget(button)
        line.addStretch(1)
        line.addWidget(close)
        column.addLayout(top)
        column.addWidget(self.table)
        column.addWidget(self.rows, 1)
        column.addLayout(line)
        self.table.currentIndexChanged.connect(lambda *_: self.fill())
        self.rows.itemSelectionChanged.connect(self._enable)
        self.rows.itemActivated.connect(lambda *_: self._edit() if self.edit.isEnabled() else self._new())
        self.resize(820, 480)
        self.fill()

    def fill(self, chosen: str = "") -> None:
        """Show the rows of the table as they are now."""
        folder, table = own_catalog.folder(), self._table()
        self._folder.setText(f"Your own rows are kept in {folder}" if folder else "No folder is chosen for your own catalog yet")
        self.rows.clear()
        for name in catalog.names(table):
            own = catalog.of_shop(table, name) is not None
            item = QtGui.QTreeWidgetItem([name, "yours" if own else "Crankline's", sizes.line(table, name, preferences.held().units)])
            item.setToolTip(2, sizes.origin(table, name))
            self.rows.addTopLevelItem(item)
            if name == chosen:
                self.rows.setCurrentItem(item)
        for number in range(2):
            self.rows.resizeColumnToContents(number)
        self._enable()

    def _table(self) -> str:
        return shop.KEPT[self.table.currentIndex()]

    def _name(self) -> str:
        item = self.rows.currentItem()
        return item.text(0) if item is not None else ""

    def _enable(self) -> None:
        name, table = self._name(), self._table()
        own = bool(name) and own_catalog.holds(table, name)
        self.new.setEnabled(bool(name))
        self.edit.setEnabled(own)
        self.remove.setEnabled(own)

    def _choose(self) -> bool:
        """Ask for the folder, and keep it among the preferences; whether there is one now."""
        found = QtGui.QFileDialog.getExistingDirectory(self, "Folder for Your Own Catalog", own_catalog.folder())
        if found:
            App.ParamGet(preferences.PATH).SetString("UserCatalog", found)
            own_catalog.take()
            self.fill()
        return bool(own_catalog.folder())

    def _new(self) -> None:
        if self._name() and (own_catalog.folder() or self._choose()):
            self._open("")

    def _edit(self) -> None:
        self._open(self._name())

    def _open(self, replaces: str) -> None:
        dialog = RowDialog(self, self._table(), self._name(), replaces)
        if dialog.exec_() == QtGui.QDialog.Accepted:
            self.fill(dialog.name.text().strip())

    def _remove(self) -> None:
        table, name = self._table(), self._name()
        if agreed("Remove Row", f"Remove {name} from your own catalog?", "Cars that use it keep its figures."):
            attempt("Remove Row", lambda: catalog_row.remove(own_catalog.folder(), table, name))
            own_catalog.take()
            self.fill()


class RowDialog(QtGui.QDialog):
    """The form of one row; OK closes it only once the row is written. ``like``: the row that it begins with; ``replaces``: the row of the
    shop's own that it takes the place of, empty for a new one."""

    def __init__(self, parent, table: str, like: str, replaces: str):
        super().__init__(parent)
        self.setObjectName("CranklineOwnRow")
        self.setWindowTitle(f"Edit {replaces}" if replaces else f"New Row like {like}")
        self._row_table, self._replaces = table, replaces
        record: Any = catalog.row(table, like)
        about: Any = catalog.about(table, like) if replaces else sparse(
            catalog.Row, source=None, basis="measured", date=datetime.date.today().isoformat())
        system = preferences.held().units
        self.name = QtGui.QLineEdit(replaces)
        self.name.setObjectName("CranklineOwnRowName")
        self.name.setPlaceholderText(f"not {like}")
        self.about = RecordForm(catalog.Row, about, system, "CranklineRow")
        self.figures = RecordForm(type(record), record, system, "CranklineFigures", aside=(*FIGURES, "use"))
        self.problem = problem_label("CranklineOwnRowProblem")
        inside, scroll = QtGui.QWidget(), QtGui.QScrollArea()
        form, below = QtGui.QFormLayout(), QtGui.QVBoxLayout(inside)
        form.addRow("&Name", self.name)
        for widget in (self.about, self.figures):
            below.addWidget(widget)
        below.addStretch(1)
        scroll.setWidget(inside)
        scroll.setWidgetResizable(True)
        scroll.setHorizontalScrollBarPolicy(QtCore.Qt.ScrollBarAlwaysOff)
        buttons = QtGui.QDialogButtonBox(QtGui.QDialogButtonBox.Ok | QtGui.QDialogButtonBox.Cancel)
        buttons.accepted.connect(self._accept)
        buttons.rejected.connect(self.reject)
        column = QtGui.QVBoxLayout(self)
        column.addLayout(form)
        for widget in (self.problem, scroll, buttons):
            column.addWidget(widget)
        self.resize(520, 640)
        self.name.setFocus()

    def _accept(self) -> None:
        """Write the row; what is wrong is told, and the form stays open."""
        try:
            about, record = self.about.value(), self.figures.value()
            if isinstance(record, catalog.Row):
                record = type(record)(**{**vars(record), **vars(about)})
            catalog_row.save(own_catalog.folder(), self._row_table, self.name.text(), record, about, preferences.held().units,
                             self._replaces or None)
        except ValueError as error:
            # Which file it is the user knows; a long path would only push the rest out of sight.
            self.problem.setText(f"{error.path}: {error.problem}" if isinstance(error, SourceError) and error.path
                                 else error.problem if isinstance(error, SourceError) else str(error))
            self.problem.show()
            return
        own_catalog.take()
        self.accept()
