"""A whole car by hand: from an empty window to the car of a car file (its path is the first argument), by commands, widgets, keys and mouse
only, on a screen of 1366 x 768. Writes what it made to the folder of the second argument, and counts clicks and keys."""
import os
import sys
import time

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui
from steps import SOON, QTest, changed, checked, choose_section, press, section_states, state, told, widget
from window import pump, report, screenshot, wait_for

from crankline import carfile, sections, units
from crankline.features import read
from crankline.features.edited import Place
from crankline.features.start import Start
from crankline.gui import editing, field_texts
from crankline.gui.record_form import ASIDE
from crankline.record import difference, entries

OK, CANCEL = QtGui.QDialogButtonBox.Ok, QtGui.QDialogButtonBox.Cancel
wanted, began = carfile.read(sys.argv[1]), time.process_time()
counted = {"clicks": 0, "keys": 0, "panels": 0}
window = Gui.getMainWindow()
window.showNormal()
window.resize(1366, 768)
Gui.activateWorkbench("CranklineWorkbench")
pump(0.5)


def click(target, at=None):
    counted["clicks"] += 1
    QTest.mouseClick(target, QtCore.Qt.LeftButton, QtCore.Qt.NoModifier, at or target.rect().center())


def keys(target, text):
    """Replace what a line holds by keys."""
    target.setFocus()
    target.selectAll()
    counted["keys"] += len(text) + 1
    if text:
        QTest.keyClicks(target, text)
    else:
        QTest.keyClick(target, QtCore.Qt.Key_Delete)


def choose(combo, value):
    """Choose an item by the keys of the arrows."""
    number = next(n for n in range(combo.count()) if combo.itemData(n) == value)
    combo.setFocus()
    step = QtCore.Qt.Key_Down if number > combo.currentIndex() else QtCore.Qt.Key_Up
    for _ in range(abs(number - combo.currentIndex())):
        counted["keys"] += 1
        QTest.keyClick(combo, step)
    assert combo.currentIndex() == number, combo.objectName()


def shown(entry, value):
    """A value as somebody types it; of what is not given nothing."""
    if value is None:
        return ""
    if entry.kind == "texts":
        return ", ".join(value)
    if entry.kind in field_texts.ROWS:
        return field_texts.rows_text(value, "in")
    if entry.kind in units.UNITS:
        return units.write(value, entry.kind, "in")
    return str(value)


def fill(form, kind, record, name="Crankline"):
    """Make the fields of a form say a record."""
    for field, entry in entries(kind).items():
        if entry.kind == "records" or field in ASIDE or entry.internal:
            continue
        item, value = form.findChild(QtGui.QWidget, f"{name}_{field}"), getattr(record, field)
        if isinstance(item, QtGui.QGroupBox):
            if item.isCheckable() and item.isChecked() != (value is not None):
                unfold(form, item, name)
                item.setFocus()
                counted["keys"] += 1
                QTest.keyClick(item, QtCore.Qt.Key_Space)
                assert item.isChecked() == (value is not None), item.objectName()
            if value is not None:
                fill(form, entry.record, value, f"{name}_{field}")
        elif isinstance(item, QtGui.QComboBox):
            if item.currentData() != value:
                unfold(form, item, name)
                choose(item, value)
        elif item.isEnabled() and item.text() != shown(entry, value):
            unfold(form, item, name)
            keys(item, shown(entry, value))


def unfold(form, item, name):
    if not item.isVisibleTo(form):
        more = form.findChild(QtGui.QToolButton, f"{name}_more")
        wait_for(lambda: not more.rect().isEmpty(), SOON)   # the panel may still be laid out
        click(more)
        assert item.isVisibleTo(form), item.objectName()


def finish(title):
    counted["panels"] += 1
    counted["clicks"] += 1
    press(OK)
    pump(0.05)
    if Gui.Control.activeDialog():
        told = [label.text() for label in window.findChildren(QtGui.QLabel) if label.isVisible() and
                (label.objectName().endswith("_problem") or label.objectName().endswith("Problem"))]
        screenshot("by_hand_refused.png")
        raise AssertionError(f"{title}: {told}")


def panel():
    names = ("CranklineEditPanel", "CranklinePlacePanel", "CranklineStartPanel")
    found = []
    wait_for(lambda: found.extend(item for name in names for item in window.findChildren(QtGui.QWidget, name) if item.isVisible())
             or found, SOON)
    return found[0]


def closed(name):
    """Close a dock of the host's own, as who has a small screen does."""
    for item in window.findChildren(QtGui.QDockWidget, name):
        item.hide()


def make(path, number=None):
    """Add a section of the wanted car, or bring the one that there is to it."""
    car, record = read.car(layout), sections.get(wanted, path, number)
    held = sections.get(car, path, number)
    if held == record:
        return
    label = editing.title_of(Place(path, number), car) if held is not None else editing.label_of(path)
    if held is None and number:
        label = f"{label}, another"
    choose_section(label)
    counted["clicks"] += 2
    QTest.mouseClick(widget(f"CranklineSection{'Add' if held is None else 'Edit'}", QtGui.QPushButton), QtCore.Qt.LeftButton)
    fill(panel(), sections.section_of(path).record, record)
    finish(label)


# What is known before anything is drawn.
Gui.runCommand("Crankline_StartCar")
counted["clicks"] += 1
pump(0.2)
rails, rear, place = wanted.chassis.rails, wanted.rear_end, wanted.placement
closed("Python console")
form = panel()
fill(form, Start, Start(
    name=wanted.car.name, units=wanted.car.units, body=wanted.car.body, wheelbase=wanted.car.wheelbase, speed=wanted.car.speed,
    tire_radius=wanted.chassis.rear_tire.loaded_radius, rail=rails.section, rail_half_spacing=rails.half_spacing, rail_height=rails.height,
    pinion_joint=None, pinion_pitch=rear.pinion_pitch, axle_ratio=rear.ratio, engine=wanted.engine.use,
    transmission=wanted.transmission.use, axle_to_block=place.axle_to_block, crank_height=place.crank_height, pitch=place.pitch,
    rule_sets=wanted.rules.sets))
for name, value in (("x", rear.pinion_joint.x), ("z", rear.pinion_joint.z)):
    keys(form.findChild(QtGui.QWidget, f"Crankline_pinion_joint_{name}"), units.write(value, "length", "in"))
screenshot("by_hand_start.png")
finish("Start Car")
pump(0.3)
doc = App.ActiveDocument
layout = read.only_layout(doc)
screenshot("by_hand_begun.png")
order = list(sections.sections())
order.insert(order.index("mounts.transmission"), order.pop(order.index("mounts.cross_member")))   # the mount stands on it
for path in order:
    section = sections.section_of(path)
    if path == editing.SKETCHES:
        continue
    for number in range(len(sections.items(wanted, path))) if section.many else (None,):
        if sections.get(wanted, path, number) is not None:
            make(path, number)

Gui.ActiveDocument.ActiveView.viewIsometric()
Gui.SendMsgToActiveView("ViewFit")
pump(0.3)
screenshot("by_hand_whole.png")
report({"counted": counted, "differs": difference(wanted, read.car(layout)), "undo": doc.UndoNames[0], "states": section_states(),
        "errors": [(obj.Label, obj.getStatusString()) for obj in read.members(layout) if "Invalid" in obj.State],
        "seconds": round(time.process_time() - began, 1)})

# Text that is wrong is told beside its field, in a panel that stays open; Esc leaves nothing of it. Undo and redo lead there and back.
whole = state(doc)
choose_section("Mid plate")
QTest.mouseClick(widget("CranklineSectionEdit", QtGui.QPushButton), QtCore.Qt.LeftButton)
line = panel().findChild(QtGui.QLineEdit, "Crankline_above_crank")
keys(line, "14,2 in")
press(OK)
pump(0.1)
wrong = [told("above_crank"), bool(Gui.Control.activeDialog())]
QTest.keyClick(line, QtCore.Qt.Key_Escape)
pump(0.2)
escaped = [bool(Gui.Control.activeDialog()), changed(doc, whole)]
for command in ("Std_Undo", "Std_Undo", "Std_Undo"):
    Gui.runCommand(command)
doc.recompute()
back = difference(wanted, read.car(layout))
for command in ("Std_Redo", "Std_Redo", "Std_Redo"):
    Gui.runCommand(command)
doc.recompute()
pump(0.2)
report({"wrong": wrong, "escaped": escaped, "undone": len(back), "redone": difference(wanted, read.car(layout))})

# The car is checked; what follows from numbers is known at once, in a dock that a small screen has room for.
Gui.runCommand("Crankline_CheckCar")
pump(0.3)
dock = widget("CranklineFindings", QtGui.QDockWidget)
if "--whole" in sys.argv:
    checked(dock, pump)
elif dock.busy:
    click(dock.cancel)
pump(0.3)
screenshot("by_hand_checked.png")
report({"summary": dock.summary.text(), "passed": sum(one.state == "passed" for one in dock.findings), "reached": "--whole" in sys.argv,
        "open": sorted(one.rule for one in dock.findings if one.unresolved), "size": [window.width(), window.height()]})

# A dark theme, the host's own where it is one file: what is told stays to be read.
application = QtGui.QApplication.instance()
sheets = [os.path.join(App.getResourceDir(), "Gui", "Stylesheets", name) for name in ("Dark-blue.qss", "FreeCAD Dark.qss")]
dark = next((path for path in sheets if os.path.isfile(path)), None)
application.setStyleSheet(open(dark, encoding="utf-8").read() if dark else
                          "QWidget { background: #2b2b2b; color: #dddddd } QLineEdit, QTreeWidget, QTableWidget { background: #1f1f1f }")
Gui.runCommand("Crankline_PlacePowertrain")
panel()
pump(0.3)
screenshot("by_hand_dark.png")
QTest.keyClick(panel().findChild(QtGui.QLineEdit, "Crankline_axle_to_block"), QtCore.Qt.Key_Escape)
application.setStyleSheet("")
pump(0.2)

# A document of somebody else beside it, and none.
doc.saveAs(os.path.join(sys.argv[2], "by_hand.FCStd"))


def active():
    """Our commands that can be called now."""
    return sorted(name[10:] for name in Gui.listCommands() if name.startswith("Crankline_") and Gui.Command.get(name).isActive())


foreign = App.newDocument("Foreign")
foreign.addObject("Part::Box", "Box")
pump(0.4)
beside, schemas = [section_states(), active()], [App.Units.getSchema()]
App.closeDocument(foreign.Name)
App.setActiveDocument(doc.Name)
pump(0.4)
again = len(section_states())
schemas.append(App.Units.getSchema())
App.closeDocument(doc.Name)
pump(0.4)
report({"foreign": beside, "again": again, "schemas": schemas, "none": [section_states(), active()]})
