"""Places a powertrain by clicks and keys in the chart of the placement window; the car's document is the argument."""
import sys

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui
from steps import SOON, QTest, changed, field, figures, kept, press, preview_nodes, rule_states, state, type_into, widget
from window import pump, report, screenshot, wait_for

from crankline.features import read
from crankline.units import INCH

OK, CANCEL = QtGui.QDialogButtonBox.Ok, QtGui.QDialogButtonBox.Cancel
window = Gui.getMainWindow()
window.showNormal()
window.resize(1366, 768)
Gui.activateWorkbench("CranklineWorkbench")
App.openDocument(sys.argv[1])
pump(0.5)
doc = App.ActiveDocument
layout = read.only_layout(doc)
before, undos = state(doc), doc.UndoCount
for item in window.findChildren(QtGui.QDockWidget, "Python console"):
    item.hide()
Gui.ActiveDocument.ActiveView.viewIsometric()
Gui.SendMsgToActiveView("ViewFit")


def opened():
    Gui.runCommand("Crankline_PlacementWindow")
    found = widget("CranklineChart")
    wait_for(lambda: found._picture is not None, SOON)
    return found


def click(x, z):
    """A click in the chart where a placement is, in."""
    QTest.mouseClick(chart, QtCore.Qt.LeftButton, QtCore.Qt.NoModifier, chart.where(0, x, z))
    settled()


def settled():
    """Wait until the page tells of the placement that is typed."""
    pump(0.4)


def typed():
    return [field(name).text() for name in ("axle_to_block", "crank_height")]


def page():
    return widget("CranklineChartTold", QtGui.QTextBrowser).toPlainText()


chart = opened()
pump(0.5)
screenshot("placement_window.png")
report({"focus": QtGui.QApplication.focusWidget().objectName(), "at": typed(), "page": page(),
        "dock": widget("CranklinePlacementChart", QtGui.QDockWidget).windowTitle(), "width": window.width()})
first = figures()
click(82.02, 9.77)
screenshot("placement_window_clicked.png")
report({"clicked": typed(), "page": page(), "moved": figures()["mid_plate_front"] != first["mid_plate_front"],
        "preview": preview_nodes(doc), "rules": len(rule_states()), "changed": changed(doc, before), "undo": doc.UndoCount - undos})
QTest.keyClick(chart, QtCore.Qt.Key_Right)
QTest.keyClick(chart, QtCore.Qt.Key_Up)
QTest.keyClick(chart, QtCore.Qt.Key_Up)
report({"stepped": typed()})
QTest.mouseClick(widget("CranklineChart_more"), QtCore.Qt.LeftButton)
type_into(widget("CranklineChart_axle_to_block_from", QtGui.QLineEdit), "90 in")
pump(0.5)
empty = page()
type_into(widget("CranklineChart_axle_to_block_from", QtGui.QLineEdit), "79 in")
pump(0.5)
report({"no size": empty, "again": chart.where(0, 79.0, 9.0) is not None})
press(CANCEL)
pump(0.2)
report({"changed": changed(doc, before), "undo": doc.UndoCount - undos, "preview": preview_nodes(doc),
        "docks": len([one for one in window.findChildren(QtGui.QDockWidget, "CranklinePlacementChart") if one.isVisible()])})

# The best placement, placed; the mode of the pitch makes another chart.
chart = opened()
mode = widget("Crankline_pitch_mode", QtGui.QComboBox)
mode.setCurrentIndex(mode.findData("parallel"))
pump(0.5)
QTest.mouseClick(widget("CranklineBestPlacement", QtGui.QPushButton), QtCore.Qt.LeftButton)
settled()
best, told = typed(), page()
chart.grab().save(kept("placement_chart.png"))
press(OK)
pump(0.3)
report({"best": best, "page": told, "stored": [layout.AxleToBlock.Value / INCH, layout.CrankHeight.Value / INCH, layout.PitchMode],
        "undo": doc.UndoNames[:doc.UndoCount - undos], "open": bool(Gui.Control.activeDialog()), "preview": preview_nodes(doc)})
doc.undo()
doc.recompute()
report({"undone": changed(doc, before)})

# A document that is closed takes chart and panel along.
chart = opened()
App.closeDocument(doc.Name)
wait_for(lambda: not Gui.Control.activeDialog(), SOON)
report({"open": bool(Gui.Control.activeDialog()),
        "docks": len([one for one in window.findChildren(QtGui.QDockWidget, "CranklinePlacementChart") if one.isVisible()])})
