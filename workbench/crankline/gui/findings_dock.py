"""The findings: a dock with one row a finding, which selects what it is about. It stays open while the car is edited.

Severity and state are words; nothing hangs on colour. When the document is recomputed afterwards, the dock says that its
findings are older than the document.
"""
from __future__ import annotations

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui

from ..checks.findings import NOT_APPLICABLE, NOT_EVALUATED, OPEN, PASSED, SEVERITIES, WAIVER_VOID, WAIVED
from ..features import read

COLUMNS = ("State", "Severity", "Rule", "Part", "Measured", "Limit", "Margin", "Basis")
_ORDER = (OPEN, WAIVER_VOID, NOT_EVALUATED, WAIVED, PASSED, NOT_APPLICABLE)
_FILTERS = (("What needs a look", (OPEN, WAIVER_VOID, NOT_EVALUATED)), ("Waived", (WAIVED, WAIVER_VOID)),
            ("Passed", (PASSED,)), ("All", _ORDER))
_dock: FindingsDock | None = None


def dock() -> FindingsDock:
    """The one findings dock of the window, made at first use."""
    global _dock
    if _dock is None:
        window = Gui.getMainWindow()
        _dock = FindingsDock(window)
        below = QtCore.Qt.BottomDockWidgetArea
        window.addDockWidget(below, _dock)
        for other in window.findChildren(QtGui.QDockWidget):
            if other is not _dock and other.isVisible() and window.dockWidgetArea(other) == below:
                window.tabifyDockWidget(other, _dock)   # the whole width, instead of half of it beside the console
                break
        App.addDocumentObserver(_Watcher(_dock))
    return _dock


class FindingsDock(QtGui.QDockWidget):
    """Table of findings above the details of the row that is selected."""

    def __init__(self, parent=None):
        super().__init__("Findings", parent)
        self.setObjectName("CranklineFindings")
        self.document = self.layout_name = ""
        self.findings: tuple = ()
        self._labels: dict[str, str] = {}
        self._filling = False
        body = QtGui.QWidget()
        column = QtGui.QVBoxLayout(body)
        column.setContentsMargins(4, 4, 4, 4)
        line = QtGui.QHBoxLayout()
        self.summary = QtGui.QLabel("No car was checked yet")
        self.summary.setObjectName("CranklineSummary")
        self.filter = QtGui.QComboBox()
        self.filter.setObjectName("CranklineFilter")
        self.filter.setAccessibleName("Findings shown")
        for label, states in _FILTERS:
            self.filter.addItem(label, states)
        line.addWidget(self.summary, 1)
        line.addWidget(self.filter)
        column.addLayout(line)
        self.table = QtGui.QTableWidget(0, len(COLUMNS))
        self.table.setObjectName("CranklineFindingsTable")
        self.table.setAccessibleName("Findings")
        self.table.setHorizontalHeaderLabels(COLUMNS)
        self.table.setSelectionBehavior(QtGui.QAbstractItemView.SelectRows)
        self.table.setSelectionMode(QtGui.QAbstractItemView.SingleSelection)
        self.table.setEditTriggers(QtGui.QAbstractItemView.NoEditTriggers)
        self.table.verticalHeader().setVisible(False)
        self.table.setWordWrap(False)
        self.details = QtGui.QTextBrowser()
        self.details.setObjectName("CranklineDetails")
        self.details.setAccessibleName("Details of the finding")
        self.details.setPlaceholderText("Select a finding to see what it is about")
        split = QtGui.QSplitter(QtCore.Qt.Horizontal)
        split.addWidget(self.table)
        split.addWidget(self.details)
        split.setSizes([1000, 400])
        column.addWidget(split, 1)
        self.setWidget(body)
        self.filter.currentIndexChanged.connect(lambda *_: self._fill())
        self.table.itemSelectionChanged.connect(self._selected)
        self.table.itemDoubleClicked.connect(lambda *_: Gui.SendMsgToActiveView("ViewSelection"))

    def show_outcome(self, layout, outcome) -> None:
        """Fill the dock from an outcome of ``checks.run`` on a layout's car and bring it to the front."""
        self.document, self.layout_name = layout.Document.Name, layout.Name
        self._labels = {obj.Key: obj.Label for obj in read.members(layout)}
        self.findings = tuple(sorted(outcome.findings, key=_rank))
        self._counts = _counts(self.findings)
        self.summary.setText(f"{layout.Document.Label}: {self._counts}")
        self._fill()
        self.show()
        self.raise_()

    def mark_old(self) -> None:
        """Say that the document has changed since it was checked."""
        if self.findings:
            self.summary.setText(f"Older than the document, check again: {self._counts}")

    def clear(self) -> None:
        """Forget the findings: their document was closed."""
        self.document, self.findings = "", ()
        self._fill()
        self.summary.setText("No car was checked yet")

    def row(self, finding_id: str) -> int:
        """Row of a finding, -1 where the filter hides it."""
        for row in range(self.table.rowCount()):
            if self.table.item(row, 0).data(QtCore.Qt.UserRole) == finding_id:
                return row
        return -1

    def _fill(self) -> None:
        states = self.filter.currentData()
        rows = [finding for finding in self.findings if finding.state in states]
        self._filling = True
        try:
            self.table.clearContents()
            self.table.setRowCount(len(rows))
            for number, finding in enumerate(rows):
                for column, text in enumerate(self._cells(finding)):
                    item = QtGui.QTableWidgetItem(text)
                    item.setToolTip(text)
                    if column in (4, 5, 6):
                        item.setTextAlignment(QtCore.Qt.AlignRight | QtCore.Qt.AlignVCenter)
                    self.table.setItem(number, column, item)
                self.table.item(number, 0).setData(QtCore.Qt.UserRole, finding.id)
            self.table.resizeColumnsToContents()
            for column, widest in ((2, 340), (3, 220), (7, 320)):
                self.table.setColumnWidth(column, min(self.table.columnWidth(column), widest))
        finally:
            self._filling = False
        self.details.clear()

    def _cells(self, finding) -> tuple[str, ...]:
        return (finding.state.replace("-", " "), finding.severity, title(finding),
                ", ".join(self._labels.get(key, key) for key in finding.subjects), number(finding.measured, finding.unit),
                limit(finding), number(finding.margin, finding.unit, sign=True), basis(finding.basis))

    def _selected(self) -> None:
        rows = self.table.selectionModel().selectedRows()
        if self._filling or not rows:
            return
        wanted = self.table.item(rows[0].row(), 0).data(QtCore.Qt.UserRole)
        finding = next(item for item in self.findings if item.id == wanted)
        self.details.setPlainText(details(finding, [self._labels.get(key, key) for key in finding.subjects]))
        document = App.listDocuments().get(self.document)
        layout = document.getObject(self.layout_name) if document is not None else None
        if layout is None:
            return
        Gui.Selection.clearSelection()
        for obj in read.members(layout):
            if obj.Key in finding.subjects:
                Gui.Selection.addSelection(document.Name, obj.Name)


class _Watcher:
    """Document observer: findings grow old with a recompute and go with their document."""

    def __init__(self, watched: FindingsDock):
        self._watched = watched

    def slotRecomputedDocument(self, document) -> None:
        if document.Name == self._watched.document:
            self._watched.mark_old()

    def slotUndoDocument(self, document) -> None:
        self.slotRecomputedDocument(document)

    def slotRedoDocument(self, document) -> None:
        self.slotRecomputedDocument(document)

    def slotDeletedDocument(self, document) -> None:
        if document.Name == self._watched.document:
            self._watched.clear()


def _rank(finding) -> tuple:
    return _ORDER.index(finding.state), SEVERITIES.index(finding.severity), finding.rule, finding.subjects


def _counts(findings) -> str:
    still = [finding for finding in findings if finding.unresolved]
    words = [f"{sum(finding.severity == severity for finding in still)} {severity}" for severity in SEVERITIES]
    missing = sum(finding.state == NOT_EVALUATED for finding in findings)
    passed = sum(finding.state == PASSED for finding in findings)
    return f"open: {', '.join(words)}; not evaluated: {missing}; passed: {passed}"


_PLACES = {"in": 3, "mm": 2, "deg": 2, "rpm": 0}


def number(value: float | None, unit: str, sign: bool = False) -> str:
    """A number with its unit for people: thousandths of an inch, hundredths of a degree; with more places where it
    would read as nothing. Empty for None."""
    if value is None:
        return ""
    plus = "+" if sign else ""
    places = _PLACES.get(unit)
    text = f"{value:{plus}.4g}" if places is None else f"{value:{plus}.{places}f}"
    if value and not float(text):
        text = f"{value:{plus}.2g}"
    return f"{text} {unit}".strip()


def limit(finding) -> str:
    """The limit as it is compared: ``<= 10 in``, ``1.9 to 2.2 deg``."""
    if finding.limit is None:
        return ""
    if isinstance(finding.limit, tuple):
        return f"{number(finding.limit[0], finding.unit).removesuffix(finding.unit).strip()} to {number(finding.limit[1], finding.unit)}"
    return f"{finding.comparison} {number(finding.limit, finding.unit)}".strip()


def basis(given: dict) -> str:
    """Where a rule comes from, in one line, with how it is known (seen, memory, common practice)."""
    words = ", ".join(str(given[name]) for name in ("document", "edition", "clause") if given.get(name))
    known = str(given.get("source", "")).replace("_", " ")
    return f"{words} ({known})" if known else words


def title(finding) -> str:
    """A finding's title with what tells it from its neighbours (the pose, the joint)."""
    return f"{finding.title} ({finding.discriminator})" if finding.discriminator else finding.title


def details(finding, labels: list[str]) -> str:
    """Everything about a finding in sentences."""
    lines = [title(finding), f"{finding.state.replace('-', ' ').capitalize()}, {finding.severity}. Rule {finding.rule} of "
             f"{finding.rule_set}."]
    if labels:
        lines.append(f"About: {', '.join(labels)}.")
    if finding.measured is not None:
        told = f"Measured {number(finding.measured, finding.unit)}"
        lines.append(told + (f", limit {limit(finding)}." if finding.limit is not None else "."))
    lines += [text for text in (finding.how, finding.reason) if text]
    if finding.hint:
        lines.append(f"What to do: {finding.hint}")
    lines.append(f"Basis: {basis(finding.basis)}.")
    if finding.waiver:
        lines.append("Waived: " + ", ".join(f"{key} {value}" for key, value in finding.waiver.items() if value))
    lines.append("The current rule book, the chassis inspector and a qualified welder decide; this only helps to see.")
    return "\n\n".join(lines)
