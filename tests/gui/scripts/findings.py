"""Checks a car (its document is the argument) by the command and uses the findings dock: rows, details, selection, marks in the view,
growing stale."""
import os
import sys

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui
from steps import QTest, checked, click_row, nodes, rows, section_states, widget
from window import pump, report, screenshot


def told_by_all(dock):
    """The details of every row."""
    found = []
    for number in range(dock.table.rowCount()):
        dock.table.selectRow(number)
        found.append(dock.details.toPlainText())
    return found


Gui.activateWorkbench("CranklineWorkbench")
App.openDocument(sys.argv[1])
pump(0.5)
doc = App.ActiveDocument
# Only quick rules.
next(obj for obj in doc.Objects if getattr(obj, "Kind", "") == "car").Sets = ["practice", "containment"]
doc.recompute()
undo = list(doc.UndoNames)
Gui.runCommand("Crankline_CheckCar")
pump(0.3)
dock = widget("CranklineFindings", QtGui.QDockWidget)
checked(dock, pump)
plate = doc.getObject("MidPlate")
report({"summary": dock.summary.text(), "undo": list(doc.UndoNames) == undo, "mark": [plate.Mark, plate.Label2], "columns": [
        dock.table.horizontalHeaderItem(i).text() for i in range(dock.table.columnCount())]})
dock.filter.setCurrentIndex(dock.filter.count() - 1)
everything = rows(dock.table)
report({"all": len(everything), "passed": sum(row[0] == "passed" for row in everything), "findings": len(dock.findings),
        "empty cells": sum(not cell for row in everything for cell in (row[0], row[1], row[2], row[7]))})
dock.table.sortByColumn(6, QtCore.Qt.AscendingOrder)
margins = [float(row[6].split()[0]) for row in rows(dock.table) if row[6] and row[6].split()[-1] == "in"]
signs = [row[6].startswith("-") for row in rows(dock.table) if row[6]]
dock.table.sortByColumn(0, QtCore.Qt.AscendingOrder)
report({"sorted": signs == sorted(signs, reverse=True) and len(margins) > 5,
        "back": [row[0] for row in rows(dock.table)] == [row[0] for row in everything]})

# Two faults: more pitch than common practice, and an enclosure that the joint does not pass.
layout = doc.getObject("Layout")
doc.openTransaction("Faults")
layout.Pitch = 3.0
doc.getObject("Enclosure").OuterDiameter = 4.5 * 25.4
doc.recompute()
doc.commitTransaction()
pump(0.2)
dock.filter.setCurrentIndex(dock.filter.count() - 1)
old = {"summary": dock.summary.text(), "states": sorted({row[0].rpartition(",")[2].strip() for row in rows(dock.table)}),
       "slanted": all(dock.table.item(r, c).font().italic() for r in range(3) for c in range(8)), "bold": dock.check.font().bold()}
screenshot("findings_stale.png")
doc.undo()
doc.recompute()
pump(0.2)
report({"old": old, "undone": dock.summary.text(), "slanted": dock.table.item(0, 0).font().italic(), "fresh": rows(dock.table)[0][0]})
# A check after an undo leaves what can be redone.
QTest.mouseClick(dock.check, QtCore.Qt.LeftButton)
QTest.mouseClick(dock.cancel, QtCore.Qt.LeftButton)
pump(0.2)
redo = doc.RedoCount
doc.redo()
doc.recompute()
pump(0.2)
again = dock.summary.text()
before = doc.UndoCount
QTest.mouseClick(dock.check, QtCore.Qt.LeftButton)
checked(dock, pump)
dock.filter.setCurrentIndex(0)
report({"redo": redo, "again": again, "checked": dock.summary.text(), "undo": doc.UndoCount - before})

# The list of the car's sections says which of them have findings.
Gui.runCommand("Crankline_Car")
pump(0.4)
states = section_states()
report({"sections": {name: states[name] for name in ("Engine", "Enclosure", "Rear tire")},
        "fits": Gui.getMainWindow().width() <= QtGui.QApplication.primaryScreen().size().width(),
        "narrow": Gui.getMainWindow().minimumSizeHint().width()})
screenshot("car_findings.png")
Gui.runCommand("Crankline_Car")
pump(0.2)

# A row shows its part, which was hidden with what holds it, and marks its place.
engine, holder = doc.getObject("Engine"), doc.getObject("Powertrain")
doc.saveAs(os.path.join(App.getTempPath(), "findings.FCStd"))
engine.ViewObject.Visibility = holder.ViewObject.Visibility = False
gui, old_host = Gui.getDocument(doc.Name), App.Version()[:2] == ["0", "20"]
if not old_host:
    gui.Modified = False    # read-only on 0.20
number = next(i for i, row in enumerate(rows(dock.table)) if row[3] == engine.Label and row[4] == "3.00 deg")
row = rows(dock.table)[number]
before = doc.UndoCount
click_row(dock.table, number)
pump(0.3)
screenshot("findings.png")
report({"row": row, "states": sorted({row[0] for row in rows(dock.table)}), "details": dock.details.toPlainText(),
        "selected": [obj.Name for obj in Gui.Selection.getSelection(doc.Name)], "marks": nodes(doc, "CranklineFinding"),
        "shown": [engine.ViewObject.Visibility, holder.ViewObject.Visibility],
        "modified": gui.Modified and not old_host, "undo": doc.UndoCount - before})
loop_row = next(i for i, row in enumerate(rows(dock.table)) if "nclosure" in row[3])
click_row(dock.table, loop_row)
pump(0.2)
report({"hidden again": [engine.ViewObject.Visibility, holder.ViewObject.Visibility], "marks": nodes(doc, "CranklineFinding"),
        "refused": dock.details.toPlainText().count("protective part")})
click_row(dock.table, number)
pump(0.2)
doc.save()
saved = [engine.ViewObject.Visibility, nodes(doc, "CranklineFinding")]
holder.ViewObject.Visibility = engine.ViewObject.Visibility = True
click_row(dock.table, loop_row)
pump(0.2)
found = {"saved": saved, "one": nodes(doc, "CranklineFinding")}
Gui.runCommand("Crankline_Findings")
pump(0.2)
found["closed"] = nodes(doc, "CranklineFinding")
Gui.runCommand("Crankline_Findings")
pump(0.2)
found["open"] = nodes(doc, "CranklineFinding")
other = App.newDocument("Other")
pump(0.3)
found["other document"] = nodes(doc, "CranklineFinding")
App.closeDocument(other.Name)
App.setActiveDocument(doc.Name)
pump(0.3)
found["back"] = nodes(doc, "CranklineFinding")
report(found)

# A part that is selected marks its rows; the table keeps its own.
Gui.Selection.clearSelection()
pump(0.2)
plain = sum(dock.table.item(r, 0).font().bold() for r in range(dock.table.rowCount()))
Gui.Selection.addSelection(doc.Name, doc.getObject("Crankline").Name, "Driveline.Enclosure.Face1")
pump(0.3)
screenshot("findings_part.png")
report({"plain": plain, "marked": [row[3] for r, row in enumerate(rows(dock.table)) if dock.table.item(r, 0).font().bold()],
        "others": sum(not dock.table.item(r, 0).font().bold() for r in range(dock.table.rowCount())),
        "with": sum("nclosure" in row[3] for row in rows(dock.table))})

# The menu of a row does what clears the finding, as one undo step, and checks again.
click_row(dock.table, next(i for i, row in enumerate(rows(dock.table)) if row[3] == engine.Label and row[4] == "3.00 deg"))
pump(0.2)
offered = dock.menu()
texts = [action.text() for action in offered.actions() if action.text()]
pitch, before = layout.Pitch.Value, doc.UndoCount
next(action for action in offered.actions() if "pitch" in action.text()).trigger()
checked(dock, pump, search=False)
done = [round(layout.Pitch.Value - pitch, 6), doc.UndoCount - before, doc.UndoNames[0]]
dock.filter.setCurrentIndex(0)
report({"menu": texts, "done": done, "left": [row[4] for row in rows(dock.table) if row[3] == engine.Label and "itch" in row[2]]})
next(action for action in offered.actions() if action.text() == "Copy as Text").trigger()
copied = QtGui.QApplication.clipboard().text()
QtGui.QApplication.clipboard().clear()
dock.table.selectRow(0)
QTest.keyClick(dock.table, QtCore.Qt.Key_C, QtCore.Qt.ControlModifier)
report({"copied": copied[:60], "keys": [word for word in ("rail_tab/", "loop/") if any(word in one for one in told_by_all(dock))],
        "row": QtGui.QApplication.clipboard().text().splitlines()[:3]})

# Beside the view of a small screen it is a tall dock, and everything is in sight.
window = Gui.getMainWindow()
window.showNormal()
window.resize(1366, 768)
window.addDockWidget(QtCore.Qt.RightDockWidgetArea, dock)
pump(0.5)
screenshot("findings_right.png")
outside = [item.objectName() for item in dock.findChildren(QtGui.QPushButton) if item.isVisible()
           and not dock.rect().contains(item.geometry().translated(item.parentWidget().mapTo(dock, QtCore.QPoint(0, 0))))]
report({"tall": [dock.minimumSizeHint().width(), window.width(), outside]})
window.addDockWidget(QtCore.Qt.BottomDockWidgetArea, dock)
pump(0.3)
screenshot("findings_1366.png")

# What was found is saved with the document, and is shown as of its date when it is opened again: fresh, until the car is changed.
while dock.busy:
    pump(0.1)
summary, count, path = dock.summary.text(), len(dock.findings), doc.FileName
doc.save()
App.closeDocument(doc.Name)
pump(0.3)
empty = dock.summary.text()
App.openDocument(path)
pump(0.8)
doc = App.ActiveDocument
layout = doc.getObject("Layout")
opened = [dock.summary.text(), len(dock.findings), dock.stale, dock.waive.isEnabled()]
dock.table.selectRow(0)
pump(0.1)
details = dock.details.toPlainText().splitlines()
layout.Lateral = 3.0
pump(0.3)
unsettled = dock.stale
layout.Lateral = 0.0
doc.recompute()
pump(0.3)
report({"kept": [summary, count, empty], "opened": opened, "details": details[:1], "unsettled": unsettled, "settled": dock.stale})
sketch = doc.getObject("SideSketch")
sketch.toggleConstruction(0)
pump(0.3)
report({"sketch": dock.stale})
doc.recompute()

# A dead layout is an error finding and a sentence, not a traceback.
layout.AxleToBlock = "9 in"
doc.recompute()
pump(0.2)
stale = nodes(doc, "CranklineFinding")
Gui.runCommand("Crankline_CheckCar")
checked(dock, pump, search=False)
dock.filter.setCurrentIndex(0)
report({"dead": [row[:2] for row in rows(dock.table)][:1], "not evaluated": any(row[0] == "not evaluated" for row in rows(dock.table)),
        "stale marks": stale})
App.closeDocument(doc.Name)
pump(0.2)
report({"closed": [dock.summary.text(), dock.table.rowCount()]})
