"""Asks for what a waiver needs: why, who decides, and until when."""
from __future__ import annotations

import datetime

import FreeCAD as App
from PySide import QtGui

from .. import model
from ..checks import waivers
from ..checks.finding import Finding

_PREFERENCES = "User parameter:BaseApp/Preferences/Mod/Crankline"


def ask(parent, finding: Finding, about: str, event_date: datetime.date, before: dict | None = None) -> model.Waiver | None:
    """The waiver that the user gives a finding; None where he cancels. about: what it is about, for people; before: the waiver that
    it takes the place of."""
    dialog = WaiverDialog(parent, finding, about, event_date, before)
    return dialog.waiver if dialog.exec_() == QtGui.QDialog.Accepted else None


class WaiverDialog(QtGui.QDialog):
    """Reason, author and expiry; OK closes it only with a waiver that holds."""

    def __init__(self, parent, finding: Finding, about: str, event_date: datetime.date, before: dict | None):
        super().__init__(parent)
        self.setObjectName("CranklineWaiver")
        self.setWindowTitle("Renew Waiver" if before else "Waive Finding")
        self.waiver: model.Waiver | None = None
        self._finding, self._event_date = finding, event_date
        before = before or {}
        told = QtGui.QLabel(about)
        told.setWordWrap(True)
        self.reason = QtGui.QPlainTextEdit(before.get("reason", ""))
        self.reason.setTabChangesFocus(True)
        self.reason.setPlaceholderText("Why this is acceptable")
        self.author = QtGui.QLineEdit(App.ParamGet(_PREFERENCES).GetString("Author", before.get("author", "")))
        self.author.setPlaceholderText("Name of who approves it")
        self.expires = QtGui.QLineEdit()
        self.expires.setPlaceholderText("YYYY-MM-DD, or blank for no expiration")
        self.problem = QtGui.QLabel()
        self.problem.setWordWrap(True)
        form = QtGui.QFormLayout()
        for name, field in (("Reason", self.reason), ("Approved by", self.author), ("Expires", self.expires)):
            field.setObjectName(f"CranklineWaiver{name.title().replace(' ', '')}")
            field.setAccessibleName(name)
            form.addRow(f"&{name}", field)
        self.problem.setObjectName("CranklineWaiverProblem")
        note = QtGui.QLabel("A waiver holds for these parts and for the value measured now. It is void when the margin worsens, "
                            "a different dimension governs, the edition of the rule set changes, or it expires.")
        note.setWordWrap(True)
        buttons = QtGui.QDialogButtonBox(QtGui.QDialogButtonBox.Ok | QtGui.QDialogButtonBox.Cancel)
        buttons.button(QtGui.QDialogButtonBox.Ok).setText("&Renew" if before else "&Waive")
        buttons.accepted.connect(self._accept)
        buttons.rejected.connect(self.reject)
        column = QtGui.QVBoxLayout(self)
        column.addWidget(told)
        column.addLayout(form)
        for widget in (note, self.problem, buttons):
            column.addWidget(widget)
        self.resize(460, 320)
        self.reason.setFocus()

    def _accept(self) -> None:
        try:
            self.waiver = waivers.new_waiver(self._finding, self.reason.toPlainText(), self.author.text(), datetime.date.today(),
                                        self.expires.text(), self._event_date)
        except waivers.WaiverError as error:
            self.problem.setText(str(error))
            return
        App.ParamGet(_PREFERENCES).SetString("Author", self.waiver.author)
        self.accept()
