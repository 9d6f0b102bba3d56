"""Types and opens readings of the real car in the panel As-Built Fit; the car's document, the folder of the demo readings and a folder to
write to are the arguments."""
import os
import sys

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui
from steps import QTest, changed, field, figures, kept, press, preview_nodes, state, type_into, widget
from window import pump, report, screenshot

from crankline.features import read
from crankline.gui import fit_panel

OK, CANCEL = QtGui.QDialogButtonBox.Ok, QtGui.QDialogButtonBox.Cancel
window = Gui.getMainWindow()
window.showNormal()
window.resize(1366, 768)
Gui.activateWorkbench("CranklineWorkbench")
App.openDocument(sys.argv[1])
pump(0.5)
doc = App.ActiveDocument
layout = read.only_layout(doc)
for item in window.findChildren(QtGui.QDockWidget, "Python console"):
    item.hide()
Gui.ActiveDocument.ActiveView.viewIsometric()
Gui.SendMsgToActiveView("ViewFit")
before, undos = state(doc), doc.UndoCount
answers = []
QtGui.QFileDialog.getOpenFileName = staticmethod(lambda *_: (answers.pop(0), ""))
QtGui.QFileDialog.getSaveFileName = staticmethod(lambda *_: (answers.pop(0), ""))
QtGui.QFileDialog.getExistingDirectory = staticmethod(lambda *_: sys.argv[3])


def opened():
    Gui.runCommand("Crankline_AsBuiltFit")
    return widget("CranklineFitPanel")


def button(name):
    QTest.mouseClick(widget(f"Crankline{name}", QtGui.QPushButton), QtCore.Qt.LeftButton)
    pump(0.4)


def page():
    return widget("CranklineFitTold", QtGui.QTextBrowser).toPlainText()


def said():
    found = [one.text() for one in window.findChildren(QtGui.QLabel, "CranklineFitProblem") if one.isVisible()]
    return [*found, *(one.text() for one in window.findChildren(QtGui.QLabel, "CranklineFitSummary") if one.isVisible())]


def line(name):
    return widget(f"CranklineReading_{name}", QtGui.QLineEdit)


def file(name):
    answers[:] = [os.path.join(sys.argv[2], name)]
    button("OpenReadings")


# Too few readings: they are fitted, what they do not say is named, OK refuses. Cancel leaves nothing.
opened()
begun = said()
type_into(line("axle_to_rear_face_of_block_at_its_base"), "83 3/4 in")
type_into(line("crank_pitch_rear_high"), "2.4 deg")
pump(0.4)
few = [said(), preview_nodes(doc)]
press(OK)
pump(0.1)
report({"begun": begun, "few": few, "refused": said()[0], "open": bool(Gui.Control.activeDialog())})
type_into(line("crank_pitch_rear_high"), "2,4 deg")
press(OK)
pump(0.1)
report({"wrong": widget("CranklineReading_crank_pitch_rear_high_problem", QtGui.QLabel).text()})
press(CANCEL)
pump(0.2)
report({"changed": changed(doc, before), "undo": doc.UndoCount - undos, "preview": preview_nodes(doc),
        "docks": len([one for one in window.findChildren(QtGui.QDockWidget, "CranklineReadings") if one.isVisible()])})

# A file with a reading from the wrong face, then a good one: fit, findings and moves; what is saved is what was read.
opened()
file("wrong_face.yaml")
wrong = page()
file("good.yaml")
screenshot("as_built_fit.png")
shown = widget("CranklineFit_shown", QtGui.QComboBox).currentData()
button("FindingsAndMoves")
screenshot("as_built_judged.png")
found = page()
answers[:] = [os.path.join(sys.argv[3], "readings.yaml")]
button("SaveReadings")
button("WriteAsBuilt")
report({"written": sorted(os.listdir(sys.argv[3])), "changed": changed(doc, before), "wrong face": wrong,
        "page": found, "shown": shown, "said": said(),
        "preview": preview_nodes(doc)})
press(OK)
pump(0.3)
place = read.car(layout).placement
report({"undo": list(doc.UndoNames)[:doc.UndoCount - undos], "shown": place.shown, "as built": [
    place.as_built.axle_to_block, place.as_built.crank_height, place.as_built.pitch], "designed": place.axle_to_block,
    "errors": [obj.Label for obj in read.members(layout) if "Invalid" in obj.State], "open": bool(Gui.Control.activeDialog()),
    "crank": layout.CrankRear.z})

# Place Powertrain is about the numbers as designed, and says so.
Gui.runCommand("Crankline_PlacePowertrain")
note, first = widget("CranklinePlaceNote", QtGui.QLabel).text(), figures()["mid_plate_front"]
type_into(field("axle_to_block"), "82.5 in")
pump(0.3)
report({"note": note, "first": first, "typed": figures()["mid_plate_front"]})
press(CANCEL)
pump(0.2)

# The placement as designed again, without touching the readings; then back by undo.
opened()
again = line("axle_to_rear_face_of_block_at_its_base").text()
choice = widget("CranklineFit_shown", QtGui.QComboBox)
choice.setCurrentIndex(choice.findData("as_designed"))
choice.activated.emit(choice.currentIndex())
pump(0.3)
widget("CranklineReadings", QtGui.QDockWidget).grab().save(kept("as_built_readings.png"))
press(OK)
pump(0.3)
report({"again": again, "shown": read.car(layout).placement.shown or "as_designed", "kept": read.car(layout).placement.as_built is not None,
        "crank": layout.CrankRear.z, "typed": len(fit_panel._typed)})
for _ in range(doc.UndoCount - undos):
    doc.undo()
doc.recompute()
report({"undone": changed(doc, before)})
