"""Waives, renews and removes from the findings dock; what stands in the document, in its undo stack and in a car file."""
import os
import sys

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui
from steps import QTest, answer_dialog, checked, click_row, message, rows, widget
from window import pump, report, screenshot

from crankline import carfile
from crankline.features import read
from crankline.gui import actions

Gui.activateWorkbench("CranklineWorkbench")
App.openDocument(sys.argv[1])
pump(0.5)
doc = App.ActiveDocument
layout, car = doc.getObject("Layout"), next(obj for obj in doc.Objects if getattr(obj, "Kind", "") == "car")
car.Sets = ["practice", "containment"]
doc.getObject("Enclosure").OuterDiameter = 4.5 * 25.4


def check(pitch):
    layout.Pitch = pitch
    doc.recompute()
    Gui.runCommand("Crankline_CheckCar")
    checked(widget("CranklineFindings", QtGui.QDockWidget), pump, search=False)


def choose(words):
    """Click the row with these words as its rule; its texts."""
    found = next((i for i, row in enumerate(rows(dock.table)) if words in row[2]), None)
    assert found is not None, rows(dock.table)
    click_row(dock.table, found)
    pump(0.1)
    return rows(dock.table)[dock.table.selectionModel().selectedRows()[0].row()]


def show(index):
    dock.filter.setCurrentIndex([dock.filter.itemText(i).split(" (")[0] for i in range(dock.filter.count())].index(index))


check(3.0)
dock = widget("CranklineFindings", QtGui.QDockWidget)
choose("U-joints pass")
refused = message(lambda: QTest.mouseClick(dock.waive, QtCore.Qt.LeftButton))
show("All")
choose("Crank pitch")
undo = doc.UndoCount
said = answer_dialog(lambda: QTest.mouseClick(dock.waive, QtCore.Qt.LeftButton),
                     [{"Reason": "short", "Approved by": " "}, {"Reason": "agreed with the builder"},
                      {"Approved by": "C. Maker", "Expires": "next year"}, {"Expires": "2001-01-01"}, {"Expires": ""}], screenshot)
row = choose("Crank pitch")
report({"refused": refused, "said": said, "row": row[0], "undo": doc.UndoCount - undo, "name": doc.UndoNames[0],
        "touched": "Touched" in car.State, "summary": dock.summary.text(), "details": dock.details.toPlainText(),
        "remove": dock.remove.isEnabled(), "waive": dock.waive.isEnabled()})
screenshot("waived.png")
doc.undo()
pump(0.2)
undone = choose("Crank pitch")[0]
doc.redo()
pump(0.2)
report({"undone": undone, "redone": choose("Crank pitch")[0], "stale": dock.stale})

path = os.path.join(App.getTempPath(), "waived.yaml")
carfile.save(read.car(layout), path)
held = carfile.read(path).rules.waivers
report({"file": [[w.rule, list(w.subjects), w.reason, w.author, w.expires, w.edition, w.measured] for w in held]})

check(3.5)
show("All")
void = choose("Crank pitch")
found = {"void": void[0], "why": dock.details.toPlainText(), "button": dock.waive.text().replace("&", "")}
screenshot("waiver_void.png")
answer_dialog(lambda: QTest.mouseClick(dock.waive, QtCore.Qt.LeftButton), [{}])
found |= {"renewed": choose("Crank pitch")[0], "held": len(actions.waivers_of(layout)), "measured": actions.waivers_of(layout)[0].measured,
          "name": doc.UndoNames[0]}
report(found)

check(2.0)
show("Waivers")
pump(0.1)
unused = choose("PRA-PITCH")
found = {"unused": unused, "told": dock.details.toPlainText(), "summary": dock.summary.text()}
screenshot("unused.png")
QTest.mouseClick(dock.remove, QtCore.Qt.LeftButton)
pump(0.2)
report(found | {"left": dock.table.rowCount(), "held": len(actions.waivers_of(layout)), "name": doc.UndoNames[0]})
