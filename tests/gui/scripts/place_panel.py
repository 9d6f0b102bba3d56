"""Drives the placement panel of a document (its file is the argument) with keys and clicks: double click, typing, wrong input, OK, undo,
Cancel, closing."""
import gc
import os
import sys
import time

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui
from steps import (
    SOON,
    QTest,
    changed,
    drag_on_screen,
    field,
    figures,
    nodes,
    press,
    preview_nodes,
    problem,
    rule_states,
    state,
    told,
    type_into,
    type_on_screen,
    widget,
)
from window import pump, report, screenshot, wait_for

from crankline.features.edited import foreseen
from crankline.gui import editing
from crankline.gui.place_panel import PlacePanel

OK, CANCEL = QtGui.QDialogButtonBox.Ok, QtGui.QDialogButtonBox.Cancel
Gui.activateWorkbench("CranklineWorkbench")
# All of the screen, so that what is clicked and dragged stands apart.
Gui.getMainWindow().setGeometry(QtGui.QApplication.primaryScreen().geometry())
App.openDocument(sys.argv[1])
pump(0.5)
doc = App.ActiveDocument
layout = doc.getObject("Layout")
path = os.path.join(os.environ["FREECAD_USER_HOME"], "car.FCStd")
doc.saveAs(path)
Gui.runCommand("Std_Save")


def shown_panel():
    """The placement panel that is open."""
    return next(one for one in gc.get_objects() if isinstance(one, PlacePanel) and one._preview is not None)


def handle(name):
    """Where a handle is, mm."""
    one = shown_panel()._preview._handles._all[name]
    return one._move.translation.getValue().getValue()


before, undos = state(doc), list(doc.UndoNames)


def untouched():
    return {"changed": changed(doc, before), "undo": doc.UndoNames == undos, "modified": bool(Gui.ActiveDocument.Modified),
            "touched": [obj.Label for obj in doc.Objects if "Touched" in obj.State]}


# Double click on the layout opens it; typing moves read-out and preview; Cancel leaves nothing.
report({"no panel": preview_nodes(doc), "double click": layout.ViewObject.doubleClicked() is not False})
pump(0.5)
screenshot("place_panel.png")
wait_for(lambda: QtGui.QApplication.focusWidget() is field("axle_to_block"), SOON)
opened, focus = figures(), QtGui.QApplication.focusWidget()
report({"opened": opened, "focus": [focus.objectName(), focus.selectedText()],
        "preview": preview_nodes(doc), "rules": rule_states(), "texts": {name: field(name).text() for name in
        ("axle_to_block", "crank_height", "pitch")}, "command": Gui.Command.get("Crankline_PlacePowertrain").isActive()})
type_on_screen(field("axle_to_block"), "82 1/2 in", pump)
type_into(field("crank_height"), "9+1/2 in")
type_into(field("pitch"), "1.5 deg")
pump(0.3)
screenshot("place_panel_typed.png")
report({"typed": figures(), "rules": rule_states(),
        "axle_to_block": field("axle_to_block").text(), "problem": problem(), "document": untouched()})
press(CANCEL)
pump(0.3)
report({"cancelled": untouched(), "preview": preview_nodes(doc), "panel": bool(Gui.Control.activeDialog())})

# A handle in the view moves its number by steps, seen from the left side, where no panel of 1.1 lies over the engine; Cancel leaves nothing
# of it either.
Gui.ActiveDocument.ActiveView.viewRear()
Gui.SendMsgToActiveView("ViewFit")
Gui.runCommand("Crankline_PlacePowertrain")
pump(0.5)
dragged = {}
for name, off, by in (("axle_to_block", (120, 0, 0), (-24, 0)), ("crank_height", (0, 0, 120), (0, -24)), ("pitch", (100, 0, 0), (0, 24))):
    stood, typed = handle(name), field(name).text()
    # By more than a few pixels: a button that is held without moving opens a menu of what is under the mouse on 1.1.
    drag_on_screen(doc, [one + more for one, more in zip(stood, off)], *by)
    wait_for(lambda: field(name).text() != typed and handle(name) != stood, SOON)  # noqa: B023 - waited for here and now
    dragged[name] = [field(name).text(), [round(now - before, 3) for now, before in zip(handle(name), stood)]]
screenshot("place_panel_handles.png")
report({"dragged": dragged, "document": untouched()})
press(CANCEL)
pump(0.3)
report({"handles": nodes(doc, "CranklineHandles"), "document": untouched()})

# Wrong input keeps the panel open with a sentence, whatever is pressed.
Gui.runCommand("Crankline_PlacePowertrain")
pump(0.3)
sentences = {}
for text in ("82,5 in", "82.5 deg", "abc", "", "-3 in", "nan in", "9 in"):
    type_into(field("axle_to_block"), text)
    press(OK)
    pump(0.1)
    sentences[text] = told("axle_to_block") or problem()
    assert Gui.Control.activeDialog(), text
screenshot("place_panel_wrong.png")
report({"wrong": sentences, "document": untouched(), "figures": set(figures().values()) == {"–"}})

# The right number makes the sentence go; Return in the line is OK. Millimeters are kept to the last digit.
type_into(field("axle_to_block"), "2070.123456 mm")
type_into(field("crank_height"), "10 1/8")           # without a unit: the car's, inches
type_into(field("pitch"), "1.9")
pump(0.1)
report({"healed": problem(), "foretold": figures()})
QTest.keyClick(field("pitch"), QtCore.Qt.Key_Return)
pump(0.5)
report({"placed": [layout.AxleToBlock.Value, layout.CrankHeight.Value, layout.Pitch.Value, layout.PitchMode],
        "undo": doc.UndoNames[: len(doc.UndoNames) - len(undos)], "preview": preview_nodes(doc),
        "panel": bool(Gui.Control.activeDialog()), "not valid": [obj.Label for obj in doc.Objects if not obj.isValid()],
        "touched": [obj.Label for obj in doc.Objects if "Touched" in obj.State],
        "results": [layout.FrontJointAngle.Value, layout.RearJointAngle.Value, layout.JointDistance.Value / 25.4,
                    layout.CrankFront.z / 25.4],
        "mid plate moved": doc.getObject("MidPlate").Placement.Base.x})
doc.undo()
pump(0.2)
undone = changed(doc, before)
doc.recompute()
report({"undone": undone, "recomputed": changed(doc, before)})

# A mode instead of an angle, and the fields under More.
Gui.runCommand("Crankline_PlacePowertrain")
pump(0.3)
mode = widget("Crankline_pitch_mode", QtGui.QComboBox)
shown = {}
for index in range(mode.count()):
    mode.setCurrentIndex(index)
    shown[mode.currentData()] = [field("pitch").isEnabled(), field("pitch").text(), figures()["front_joint"], figures()["rear_joint"]]
mode.setCurrentIndex([mode.itemData(index) for index in range(mode.count())].index("balanced"))
QTest.mouseClick(widget("Crankline_more"), QtCore.Qt.LeftButton)
pump(0.1)
widget("Crankline_height_at", QtGui.QComboBox).setCurrentIndex(2)
type_into(field("lateral"), "-1/2 in")
pump(0.2)
screenshot("place_panel_more.png")
press(OK)
pump(0.5)
report({"modes": shown, "stored": [layout.PitchMode, layout.HeightAt, layout.Lateral.Value, layout.CrankRear.y],
        "angles": [layout.FrontJointAngle.Value, layout.RearJointAngle.Value], "pitch unset": "Pitch" in layout.Unset})

# OK without a change is no undo step; a second panel does not open; a formula is not overwritten.
steps = doc.UndoCount
Gui.runCommand("Crankline_PlacePowertrain")
pump(0.2)
report({"second refused": editing.place_powertrain(layout), "previews": preview_nodes(doc)})
press(OK)
pump(0.2)
report({"idle OK": doc.UndoCount - steps})
layout.setExpression("CrankHeight", "250 mm + 4 mm")
doc.recompute()
editing.place_powertrain(layout)
pump(0.2)
report({"formula": [field("crank_height").isReadOnly(), field("crank_height").text(), field("crank_height").toolTip()[:18]]})

# How long an update takes: mechanics, rules and nodes, without the redraw; one keystroke with it; OK with the recompute.
line, panel = field("axle_to_block"), shown_panel()
scene, count = foreseen(layout, panel.wanted()), 25
start = time.process_time()
for _ in range(count):
    panel._preview.update(scene)
nodes_ms = (time.process_time() - start) / count * 1000
start = time.process_time()
for number in range(count):
    line.setText(f"{2070.0 + 0.01 * number} mm")
    line.textEdited.emit(line.text())
whole = (time.process_time() - start) / count * 1000
start = time.process_time()
for _ in range(count):
    panel._judge()
rules_ms = (time.process_time() - start) / count * 1000
type_into(line, "82 in")
start = time.process_time()
press(OK)
report({"ms": [round(nodes_ms, 3), round(whole, 3), round(rules_ms, 3)], "OK": time.process_time() - start})
editing.place_powertrain(layout)
pump(0.3)

# Closing the panel behind our back takes the preview along; so does closing the document.
Gui.Control.closeDialog()
pump(0.3)
report({"closed": preview_nodes(doc)})
editing.place_powertrain(layout)
pump(0.3)
reopened = bool(Gui.Control.activeDialog())
App.closeDocument(doc.Name)
pump(0.5)
report({"reopened": reopened, "panel after close": bool(Gui.Control.activeDialog())})
