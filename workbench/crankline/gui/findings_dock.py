"""The findings: a dock with one row a finding, which shows where it is. It stays open while the car is edited.

Severity and state are words; nothing hangs on color. A row shows its parts (hidden ones too, as long as it is looked at) and marks
its points in the 3-D view; a part that is selected marks its rows. When the car is no longer what was checked, every row says that
it is stale. A check goes on in the background: numbers are there at once, shapes follow, then what clears the findings; an edit of the
car ends it. A waiver is written into the document as one undo step and judged at once; nothing is measured for that.
"""
from __future__ import annotations

from functools import partial

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui

from ..checks import waivers
from ..checks.finding import Finding, State
from ..features import read, shown_marks
from ..features.base import car_units
from ..measure.host_measurer import HostMeasurer
from ..measure.kept import Kept
from ..progress import Progress
from . import actions, editing, finding_page, findings_kept, findings_menu, findings_watch, waiving
from . import finding_words as words
from . import findings_table as tables
from .background import Background
from .check_run import CheckRun
from .dock_widgets import put_below
from .finding_place import FindingPlace
from .findings_bar import FILTERS, FindingsBar, tall
from .findings_table import UNUSED
from .messages import attempt, show_message, show_status

_EMPTY = "No car checked yet"
_dock: FindingsDock | None = None
_kept = Kept()
"""What was measured in this window, by what the shapes are: from check to check."""


def dock() -> FindingsDock:
    """The one findings dock of the window, made at first use; it is not shown before there is something to show."""
    global _dock
    if _dock is None:
        window = Gui.getMainWindow()
        _dock = FindingsDock(window)
        put_below(window, _dock)
        _dock.hide()
        findings_watch.watch(_dock)
    return _dock


def toggle() -> None:
    """Bring the dock to the front, or hide it where it is there already."""
    shown = dock()
    if shown.isVisible():
        shown.hide()
    else:
        shown.show()
        shown.raise_()


class FindingsDock(QtGui.QDockWidget):
    """Table of findings beside the details of the row that is selected; ``filled`` is emitted when what it shows has changed."""
    filled = QtCore.Signal()

    def __init__(self, parent=None):
        super().__init__("Findings", parent)
        self.setObjectName("CranklineFindings")
        self.document = self.layout_name = ""
        self.findings: tuple[Finding, ...] = ()
        self.unused: tuple[waivers.Unused, ...] = ()
        self._system = "in"
        self._run: CheckRun | None = None
        self._kept_mark = ""
        self._when = ""   # of findings that were kept in the document; what is checked now needs no date
        self._shown_known: tuple = ()   # what of the run is in the table
        self._background = Background(self, self._stepped, self._ended)
        self._labels: dict[str, str] = {}
        self._marks: dict[str, object] = {}
        self._changed: tuple[str, ...] | None = None   # labels of what has changed since the check; None: nothing has
        self._soon = {}
        for name, action in (("age", self._compare_age), ("waivers", self._apply_waivers), ("selection", self._mark_selected),
                             ("kept", self._show_kept)):
            self._soon[name] = QtCore.QTimer(self)
            self._soon[name].setSingleShot(True)
            self._soon[name].timeout.connect(action)
        self._build()

    def _build(self) -> None:
        body = QtGui.QWidget()
        column = QtGui.QVBoxLayout(body)
        column.setContentsMargins(4, 4, 4, 4)
        self.bar = FindingsBar(_EMPTY, {"check": self._check, "waive": self._waive, "remove": self._remove, "look": self._look,
                                                  "cancel": self._cancel})
        for name in ("summary", "filter", "severity", "check", "waive", "remove", "look", "progress", "cancel"):
            setattr(self, name, getattr(self.bar, name))
        column.addWidget(self.bar)
        self.table = tables.FindingsTable()
        self._place = FindingPlace(self.table)
        self.details = QtGui.QTextBrowser()
        self.details.setObjectName("CranklineDetails")
        self.details.setAccessibleName("Details of the finding")
        self.details.setPlaceholderText("Select a finding to see what it is about")
        self.details.setOpenLinks(False)
        self.details.anchorClicked.connect(self._follow)
        self._split = QtGui.QSplitter(QtCore.Qt.Horizontal)
        self._split.addWidget(self.table)
        self._split.addWidget(self.details)
        self._split.setSizes([1000, 400])
        column.addWidget(self._split, 1)
        self.dockLocationChanged.connect(lambda area: self.arrange(tall(area)))
        self.setWidget(body)
        for choice in (self.filter, self.severity):
            choice.currentIndexChanged.connect(lambda *_: self._fill())
        self.table.itemSelectionChanged.connect(self._selected)
        self.table.setContextMenuPolicy(QtCore.Qt.CustomContextMenu)
        self.table.customContextMenuRequested.connect(lambda at: self.menu().exec_(self.table.viewport().mapToGlobal(at)))
        self.table.itemActivated.connect(lambda *_: self._show())   # a double click, or Enter
        self.table.copied.connect(lambda: self._copy(self.table.current))
        self.visibilityChanged.connect(self._seen)
        self._enable(None)
        self.bar.show_progress(None)

    def arrange(self, tall_: bool) -> None:
        """Lay the dock out: the details below the table in a tall one, else beside it."""
        self.bar.arrange(tall_)
        self._split.setOrientation(QtCore.Qt.Vertical if tall_ else QtCore.Qt.Horizontal)

    # --- what is shown ------------------------------------------------------------------------------------------------

    def start(self, layout, run: CheckRun) -> None:
        """Begin a check of a layout's car and bring the dock to the front. What follows from numbers is shown at once."""
        self._background.stop()
        self.leave()
        self.document, self.layout_name = layout.Document.Name, layout.Name
        self._labels = {obj.Key: obj.Label for obj in read.members(layout)}
        self._run, self._system = run, run.system
        self._marks, self._changed, self._when = findings_watch.marks(layout), None, ""
        work = run.steps()
        step = next(work, None)
        while step is not None and not run.numbers_done:
            step = next(work, None)
        self._background.start(work)
        self.bar.show_progress(step)
        self._apply_waivers()
        self.show()
        self.raise_()
        self.come_back()

    def clear(self) -> None:
        """Forget the findings: their document was closed."""
        self._background.stop()
        self.bar.show_progress(None)
        self.document, self.findings, self.unused, self._run, self._changed, self._when = "", (), (), None, None, ""
        self._place.forget()
        self._fill()

    def row(self, finding_id: str) -> int:
        """Row of a finding, -1 where the filter hides it."""
        return self.table.number(finding_id)

    # --- in the background --------------------------------------------------------------------------------------------

    @property
    def busy(self) -> bool:
        """Whether a check or a search for remedies is going on."""
        return self._background.busy

    def _stepped(self, step: Progress) -> None:
        self.bar.show_progress(step)
        if self._run is not None and self._run.known != self._shown_known:
            self._apply_waivers()

    def _ended(self, trouble: str) -> None:
        if self._run is not None and trouble:
            self._run.cancel()
        self.bar.show_progress(None)
        self._apply_waivers()
        if trouble:
            show_message("Check Car", trouble)

    def _cancel(self) -> None:
        """Stop what is going on; what it did not reach is told as not evaluated, or as not looked for."""
        if not self.busy:
            return
        self._background.stop()
        if self._run is not None:
            self._run.cancel()
        self._ended("")

    def _look(self) -> None:
        """Look for remedies of the current finding, to the end."""
        current = self.table.current
        if self._run is None or not isinstance(current, Finding) or not self._run.ask(current.id):
            return
        if not self.busy:
            self._background.start(self._run.search_steps())
        self._enable(current)

    @property
    def stale(self) -> bool:
        """Whether the car is no longer what was checked."""
        return self._changed is not None

    def soon(self, what: str) -> None:
        """Look at the age, the waivers or the selection again once the host is done with what it is doing."""
        if self.document or what == "kept":
            self._soon[what].start(0)

    @property
    def _known(self) -> bool:
        """Whether a car was checked, now or when its document was saved."""
        return self._run is not None or bool(self._when)

    def _names(self, subjects) -> list[str]:
        return [self._labels.get(key, key) for key in subjects or ()]

    def _fill(self) -> None:
        """Fill the table with what the filters let through."""
        states, severities = self.filter.currentData(), self.severity.currentData()
        rows = [tables.of_finding(finding, self._names(finding.subjects), self._system, self.stale) for finding in self.findings
                if finding.state in states and finding.severity in severities]
        if UNUSED in states:
            rows += [tables.of_unused(number, unused, self._names(unused.waiver.subjects)) for number, unused in enumerate(self.unused)]
        self.table.fill(rows, self.stale)
        current = self.table.current
        if current is None:
            self.leave()
        self._describe(current)
        self._count()
        self.soon("selection")
        self.filled.emit()

    def _count(self) -> None:
        """Numbers in the filter and in the summary."""
        for number, (label, states) in enumerate(FILTERS):
            count = sum(finding.state in states for finding in self.findings) + (len(self.unused) if UNUSED in states else 0)
            self.filter.setItemText(number, f"{label} ({count})" if self._known else label)
        document = App.listDocuments().get(self.document)
        told = _EMPTY
        if document is not None and self._known:
            told = words.summary(document.Label, self.findings, len(self.unused), self._when, self.stale)
        self.summary.setText(told)
        self.summary.setToolTip(told)
        for widget in (self.summary, self.check):
            font = widget.font()
            font.setBold(self.stale)
            widget.setFont(font)

    def _describe(self, current) -> None:
        self._enable(current)
        if isinstance(current, Finding):
            self.details.setHtml(finding_page.page(current, self._labels, self._system, self._changed,
                                                   self._run is not None and not self.stale))
        elif current is not None:
            self.details.setPlainText(words.unused(current.waiver.rule, current.why, waivers.as_json(current.waiver)))
        else:
            self.details.clear()

    def _follow(self, url) -> None:
        """Do what was clicked in the details."""
        (what, _colon, name), layout, current = url.toString().partition(":"), self._layout(), self.table.current
        if layout is None or not isinstance(current, Finding):
            return
        if what == "edit":
            attempt("Edit", lambda: editing.edit_object(next(obj for obj in read.members(layout) if obj.Key == name)))
        elif self._run is not None and not self.stale:
            given, run = current.remedies[int(name)], self._run
            attempt("Do it", lambda: findings_menu.do(layout, run, current, given, self._check))

    def _show(self) -> None:
        Gui.SendMsgToActiveView("ViewSelection")

    def _copy(self, current) -> None:
        """The words of a row, to be pasted elsewhere."""
        if isinstance(current, Finding):
            told = words.details(current, self._names(current.subjects), self._system, self._changed, self._labels)
            QtGui.QApplication.clipboard().setText(told)

    def _enable(self, current) -> None:
        """The buttons that mean something for a row."""
        finding = current if isinstance(current, Finding) else None
        void = finding is not None and finding.state == State.WAIVER_VOID and finding.waivable
        self.check.setEnabled(bool(self.document))
        self.look.setEnabled(finding is not None and self._run is not None and self._run.checked and not self.stale
                             and self._run.may_look(finding))
        self.waive.setText("Renew Wa&iver…" if void else "Wa&ive…")
        self.waive.setEnabled(finding is not None and finding.unresolved and self._run is not None)
        self.remove.setEnabled(isinstance(current, waivers.Unused) or (finding is not None and finding.waiver is not None))

    # --- age ----------------------------------------------------------------------------------------------------------

    def _compare_age(self) -> None:
        """See whether the car is still what was checked; an undo can make it so again."""
        layout = self._layout()
        if layout is None:
            self.clear()
            return
        now = findings_watch.marks(layout)
        if self._when and self._marks != now:
            # Of what was saved a digest is known; what is not recomputed since it was opened is as it was.
            self._marks = now if findings_watch.mark(now) == self._kept_mark else {}
        changed = [name for name in sorted({*now, *self._marks}) if now.get(name) != self._marks.get(name)]
        found = tuple(self._names(name for name in changed if name)) if changed else None
        if found != self._changed:
            self._changed = found
            self._cancel()     # what it measures is no longer the car
            self.leave()
            self._fill()
            self.come_back()

    def keep(self) -> None:
        """Put the findings into their document, which is about to be saved; what is not checked to its end is not kept."""
        layout = self._layout()
        if layout is not None and self._run is not None and self._run.checked:
            findings_kept.put(layout, self.findings, self._marks)

    def _seen(self, on: bool) -> None:
        if on:
            self.come_back()
            self.soon("kept")
        else:
            self.leave()

    def _show_kept(self) -> None:
        """Show what the active document keeps of its last check, unless another check is shown."""
        if self.document or not self.isVisible() or App.ActiveDocument is None:
            return
        layout = next(iter(read.layouts(App.ActiveDocument)), None)
        kept = findings_kept.get(layout) if layout is not None else None
        if layout is None or kept is None:
            return
        self.document, self.layout_name, self._when = layout.Document.Name, layout.Name, kept.when
        self._labels = {obj.Key: obj.Label for obj in read.members(layout)}
        self._system, self.findings, self._kept_mark = "mm" if car_units(layout) == "mm" else "in", kept.findings, kept.mark
        self._compare_age()
        self._fill()

    def _check(self) -> None:
        layout = self._layout()
        if layout is not None:
            attempt("Check Car", lambda: check_car(layout))

    # --- waivers ------------------------------------------------------------------------------------------------------

    def _apply_waivers(self) -> None:
        """Apply the waivers that stand in the document to what was measured."""
        layout, run = self._layout(), self._run
        if layout is None or run is None:
            return
        try:
            held = actions.waivers_of(layout)
        except ValueError as error:
            show_status(str(error))
            held = ()
        findings, unused = waivers.apply(run.findings(), held, run.event_date, run.today)
        self._shown_known = run.known
        if run.marks and not self.stale:
            shown_marks.show(layout, run.marks)
        # A waiver whose finding no step has reached yet is not unused.
        self.findings, self.unused = tuple(sorted(run.with_remedies(findings), key=words.rank)), tuple(unused) if run.checked else ()
        self._fill()

    def _waive(self) -> None:
        """Ask for a waiver of the current finding and write it."""
        finding, layout = self.table.current, self._layout()
        if layout is None or self._run is None or not isinstance(finding, Finding):
            return
        if waiving.waive(self, layout, finding, self._names(finding.subjects), self.findings, self._system, self._run.event_date,
                         self.stale):
            self._apply_waivers()

    def _remove(self) -> None:
        """Take the waiver of the current row out of the document."""
        current, layout = self.table.current, self._layout()
        if current is not None and layout is not None:
            attempt("Remove Waiver", lambda: actions.remove_waiver(layout, current))
            self._apply_waivers()

    def menu(self) -> QtGui.QMenu:
        """What can be done about the finding of the current row."""
        return findings_menu.menu(self, self._layout(), self.table.current, self._run, None if self.stale else self._check,
                                  (self.look, self.waive, self.remove), self._show, partial(self._copy, self.table.current))

    # --- the place of a finding ---------------------------------------------------------------------------------------

    def _layout(self):
        document = App.listDocuments().get(self.document)
        layout = document.getObject(self.layout_name) if document is not None else None
        return layout if getattr(layout, "Kind", "") == "layout" else None

    def _selected(self) -> None:
        """Select, show and mark what the row that was just selected is about."""
        self.leave()
        current, layout = self.table.current, self._layout()
        self._describe(current)
        if layout is None or not isinstance(current, Finding):
            return
        self._place.select(layout, current, self._system, not self.stale, self.isVisible())

    def come_back(self) -> None:
        """Show and mark the place of the selected row, unless that is done already."""
        current, layout = self.table.current, self._layout()
        if layout is not None and isinstance(current, Finding) and self.isVisible():
            self._place.show(layout, current, self._system, not self.stale)

    def leave(self) -> None:
        """Take the marks out of the view and hide again what was hidden."""
        self._place.hide()

    def _mark_selected(self) -> None:
        layout = self._layout()
        if layout is not None:
            self._place.mark_rows(layout)


def check_car(layout):
    """Recompute, check, show the findings as they come."""
    dock().start(layout, CheckRun(actions.recomputed_snapshot(layout), measurer=HostMeasurer(_kept)))
