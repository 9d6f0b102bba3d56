"""Begins a car in an empty window by command, keys and clicks, adds parts from the list of its sections, and hands back what it made."""
import os
import sys

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui
from steps import QTest, choose_section, field, press, section_states, type_into, widget
from window import pump, report, screenshot

from crankline import carfile
from crankline.features import read

OK, CANCEL = QtGui.QDialogButtonBox.Ok, QtGui.QDialogButtonBox.Cancel
Gui.activateWorkbench("CranklineWorkbench")
pump(0.5)


def pick(name, text):
    combo = widget(f"Crankline_{name}", QtGui.QComboBox)
    combo.setFocus()
    number = combo.findText(text)
    assert number >= 0, [combo.itemText(n) for n in range(combo.count())]
    combo.setCurrentIndex(number)


def add(label=None):
    if label is not None:
        choose_section(label)
    QTest.mouseClick(widget("CranklineSectionAdd", QtGui.QPushButton), QtCore.Qt.LeftButton)
    pump(0.2)
    title = widget("CranklineEditPanel").windowTitle()
    press(OK)
    pump(0.3)
    assert not Gui.Control.activeDialog(), widget("CranklineEditProblem", QtGui.QLabel).text()
    return title


report({"enabled": [name for name in Gui.listCommands() if name.startswith("Crankline_") and Gui.Command.get(name).isActive()]})
Gui.runCommand("Crankline_StartCar")
press(CANCEL)
pump(0.3)
report({"canceled": len(App.listDocuments()), "open": bool(Gui.Control.activeDialog())})
# The list of sections begins a car too.
Gui.runCommand("Crankline_Car")
pump(0.3)
listed = section_states()
screenshot("start_car_list.png")
QTest.mouseClick(widget("CranklineSectionAdd", QtGui.QPushButton), QtCore.Qt.LeftButton)
pump(0.3)
report({"empty": listed, "title": widget("CranklineStartPanel").windowTitle()})
press(OK)
pump(0.1)
report({"open": bool(Gui.Control.activeDialog()), "missing": widget("Crankline_name_problem", QtGui.QLabel).text(),
        "documents": len(App.listDocuments())})
for name, text in (("name", "By hand"), ("wheelbase", "110 in"), ("tire_radius", "16"), ("rail_half_spacing", "13 1/4 in"),
                   ("rail_height", "4.4"), ("pinion_joint_x", "10.5 in"), ("pinion_joint_z", "13 1/8 in"), ("axle_ratio", "4.10"),
                   ("axle_to_block", "83 1/2 in"), ("crank_height", "10 in")):
    type_into(field(name), text)
pick("body", "Full")
pick("engine", "demo_tall_deck_aluminium")
pick("transmission", "demo_two_speed")
screenshot("start_car.png")
press(OK)
pump(0.5)
report({"open": bool(Gui.Control.activeDialog()), "documents": len(App.listDocuments())})
doc = App.ActiveDocument
layout = read.only_layout(doc)
report({"undo": list(doc.UndoNames), "errors": [obj.Label for obj in read.members(layout) if "Invalid" in obj.State],
        "constrained": [sketch.solve() for sketch in (layout.Chassis.SideSketch, layout.Chassis.PlanSketch)]})
screenshot("start_car_begun.png")
begun = section_states()
led = []
while (chosen := widget("CranklineCarSections", QtGui.QTreeWidget).currentItem().text(0)) not in led:
    led.append(chosen)
    if chosen == "Rear end":
        QTest.mouseClick(widget("CranklineSectionEdit", QtGui.QPushButton), QtCore.Qt.LeftButton)
        pump(0.2)
        widget("Crankline_suspension", QtGui.QGroupBox).setChecked(True)
        pick("suspension_kind", "Rigid")
        press(OK)
        pump(0.3)
    else:
        add()
report({"begun": begun, "led": led, "summary": widget("CranklineCarSummary", QtGui.QLabel).text()})
titles = [add(label) for label in ("Front plate", "Cross member", "Loop", "Loop, another")]
report({"added": titles, "undo": list(doc.UndoNames)[:len(titles)],
        "errors": [(obj.Label, obj.getStatusString()) for obj in read.members(layout) if "Invalid" in obj.State]})
Gui.ActiveDocument.ActiveView.viewIsometric()
Gui.SendMsgToActiveView("ViewFit")
screenshot("start_car_whole.png")
path = os.path.join(sys.argv[1], "by_hand.yaml")
carfile.save(read.car(layout), path)
report({"parts": {obj.Key: [obj.ShapeDigest, list(obj.Placement.Matrix.A)] for obj in read.members(layout) if hasattr(obj, "ShapeDigest")}})
