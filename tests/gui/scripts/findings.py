"""Checks the example car by the command and uses the findings dock: rows, details, selection, growing old."""
import os
import sys

sys.path.insert(0, os.path.dirname(os.path.abspath(sys.argv[0])))
import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui
from steps import QTest, widget

Gui.activateWorkbench("CranklineWorkbench")
Gui.runCommand("Crankline_ExampleCar")
pump(0.5)
doc = App.ActiveDocument
undo = list(doc.UndoNames)
Gui.runCommand("Crankline_CheckCar")
pump(0.3)
dock = widget("CranklineFindings", QtGui.QDockWidget)
report({"summary": dock.summary.text(), "undo": list(doc.UndoNames) == undo, "columns": [
        dock.table.horizontalHeaderItem(i).text() for i in range(dock.table.columnCount())]})
layout = doc.getObject("Layout")
layout.Pitch = 3.0          # more than common practice
doc.recompute()
pump(0.2)
old = dock.summary.text()
Gui.runCommand("Crankline_CheckCar")
pump(0.3)


def rows():
    table = dock.table
    return [[table.item(r, c).text() for c in range(table.columnCount())] for r in range(table.rowCount())]


looks = rows()
number = next(i for i, row in enumerate(looks) if row[3] == doc.getObject("Engine").Label and row[4] == "3.00 deg")
item = dock.table.visualItemRect(dock.table.item(number, 2)).center()
QTest.mouseClick(dock.table.viewport(), QtCore.Qt.LeftButton, QtCore.Qt.NoModifier, item)
pump(0.3)
screenshot("findings.png")
report({"old": old, "row": looks[number], "states": sorted({row[0] for row in looks}), "details": dock.details.toPlainText(),
        "selected": [obj.Name for obj in Gui.Selection.getSelection(doc.Name)], "summary": dock.summary.text()})
dock.filter.setCurrentIndex(dock.filter.count() - 1)
pump(0.2)
screenshot("findings_all.png")
everything = rows()
report({"all": len(everything), "passed": sum(row[0] == "passed" for row in everything), "findings": len(dock.findings),
        "empty cells": sum(not cell for row in everything for cell in (row[0], row[1], row[2], row[7]))})
# A dead layout is an error finding and a sentence, not a traceback.
layout.AxleToBlock = "9 in"
doc.recompute()
pump(0.1)
Gui.runCommand("Crankline_CheckCar")
pump(0.3)
dock.filter.setCurrentIndex(0)
report({"dead": [row[:2] for row in rows()][:1], "not evaluated": any(row[0] == "not evaluated" for row in rows())})
App.closeDocument(doc.Name)
pump(0.2)
report({"closed": [dock.summary.text(), dock.table.rowCount()]})
