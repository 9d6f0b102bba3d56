"""Edits, adds, duplicates and removes parts of a document (its file is the argument) as a user does."""
import sys

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui
from steps import SOON, QTest, changed, choose_section, field, nodes, press, section_states, state, told, type_into, widget
from window import pump, report, screenshot, wait_for

from crankline.features import read
from crankline.features.registry import CONTAINER

OK, CANCEL = QtGui.QDialogButtonBox.Ok, QtGui.QDialogButtonBox.Cancel
Gui.activateWorkbench("CranklineWorkbench")
App.openDocument(sys.argv[1])
pump(0.5)
doc = App.ActiveDocument
layout = read.only_layout(doc)
Gui.ActiveDocument.ActiveView.viewIsometric()
Gui.SendMsgToActiveView("ViewFit")
doc.recompute()
before = state(doc)


def by_key(key):
    return next(obj for obj in read.members(layout) if obj.Key == key)


def click(name):
    QTest.mouseClick(widget(f"CranklineSection{name}", QtGui.QPushButton), QtCore.Qt.LeftButton)
    pump(0.3)


def answered(button, action):
    """Do something that asks, answer with a button; what was asked and what stood below it."""
    seen = []

    def answer():
        box = QtGui.QApplication.activeModalWidget()
        if isinstance(box, QtGui.QMessageBox) and box.button(QtGui.QMessageBox.Yes):
            box.button(QtGui.QMessageBox.Yes).click()   # the host's own question before a Delete
            box = None
        if box is None or box.objectName() != "CranklineQuestion":
            QtCore.QTimer.singleShot(50, answer)
            return
        seen.extend([box.text(), box.informativeText()])
        box.button(button).click()

    QtCore.QTimer.singleShot(50, answer)
    action()
    pump(0.3)
    return seen


# The list of sections, and a double click on a part in the tree.
Gui.runCommand("Crankline_Car")
pump(0.5)
report({"sections": section_states(), "summary": widget("CranklineCarSummary", QtGui.QLabel).text()})
taken = by_key("mid_plate").ViewObject.doubleClicked() is not False
wait_for(lambda: QtGui.QApplication.focusWidget() is not None and QtGui.QApplication.focusWidget().objectName().startswith("Crankline_"),
         SOON)      # 1.1 may give its window the keyboard some rounds later
report({"double click": taken, "title": widget("CranklineEditPanel").windowTitle(),
        "focus": QtGui.QApplication.focusWidget().objectName()})
pump(0.5)
screenshot("edit_mid_plate.png")
report({"above": field("above_crank").text(), "preview": nodes(doc, "CranklinePartPreview")})

# Wrong texts are told beside their fields, what cannot be made above them; nothing is touched.
type_into(field("above_crank"), "14,2 in")
press(OK)
pump(0.1)
wrong = told("above_crank")
type_into(field("above_crank"), "14 1/2 in")
type_into(field("below_crank"), "")
press(OK)
pump(0.1)
report({"wrong": [wrong, told("below_crank")], "open": bool(Gui.Control.activeDialog()), "changed": changed(doc, before)})
type_into(field("below_crank"), "6 5/8 in")
pump(0.5)
press(CANCEL)
pump(0.3)
report({"cancelled": changed(doc, before), "undo": doc.UndoCount, "preview": nodes(doc, "CranklinePartPreview")})

# OK is one undo step, and back.
by_key("mid_plate").ViewObject.doubleClicked()
pump(0.2)
type_into(field("above_crank"), "14 1/2 in")
press(OK)
pump(0.3)
report({"edited": [by_key("mid_plate").AboveCrank.Value, by_key("mid_plate").State], "undo": list(doc.UndoNames)})
doc.undo()
doc.recompute()
report({"undone": changed(doc, before)})

# A section that is not there is added with values that fit; a loop is duplicated and removed, with what goes with it.
choose_section("Loop, another")
click("Add")
screenshot("add_loop.png")
report({"loop": [widget("CranklineEditPanel").windowTitle(), field("name").text(), field("inner_diameter").text(), field("x").text()]})
type_into(field("name"), "middle")
press(OK)
pump(0.3)
report({"added": [by_key("loop/middle").Kind, by_key("loop/middle").State], "undo": list(doc.UndoNames)})
Gui.Selection.clearSelection()
Gui.Selection.addSelection(by_key("loop/middle"))
pump(0.1)
report({"commands": [Gui.Command.get(f"Crankline_{name}").isActive() for name in ("EditPart", "DuplicatePart", "RemovePart")]})
Gui.runCommand("Crankline_DuplicatePart")
pump(0.3)
report({"cars": len(read.layouts(doc)), "loops": sorted(obj.Key for obj in read.members(layout) if obj.Key.startswith("loop/"))})

# The host's own Duplicate and Paste: an item of a list joins the car, of what a car has once a sentence is left.
def copied(key, *commands):
    """What is said, which objects there are more, and the last step, after commands of the host on a part."""
    said, names = [], {obj.Name for obj in doc.Objects}

    def answer():
        box = QtGui.QApplication.activeModalWidget()
        if box is not None:
            said.extend([box.text()] if box.objectName() == "CranklineMessage" else [])
            box.accept()    # the host asks whether what a part stands on is copied too

    timer = QtCore.QTimer()
    timer.timeout.connect(answer)
    timer.start(50)
    Gui.Selection.clearSelection()
    Gui.Selection.addSelection(by_key(key))
    for command in commands:
        Gui.runCommand(command)
    wait_for(lambda: said or doc.UndoNames[0].startswith(("Duplicate Loop", "Paste Loop")), SOON)
    timer.stop()
    return [said, [obj.Key for obj in doc.Objects if obj.Name not in names], doc.UndoNames[0], doc.RedoCount, len(read.layouts(doc))]


report({"host": [copied("loop/rear", "Std_DuplicateSelection"), copied("mid_plate", "Std_DuplicateSelection"),
                 copied("loop/rear", "Std_Copy", "Std_Paste")]})
choose_section("Enclosure")
asked = answered(QtGui.QMessageBox.Cancel, lambda: click("Remove"))
report({"asked": asked, "still": by_key("enclosure").Kind})
answered(QtGui.QMessageBox.Ok, lambda: click("Remove"))
report({"removed": sorted(obj.Key for obj in read.members(layout) if obj.Key.startswith("enclosure")),
        "sections": section_states()["Enclosure"]})
screenshot("car_sections.png")
choose_section("Enclosure")
click("Add")
press(OK)
pump(0.3)
report({"again": by_key("enclosure").State, "errors": [obj.Label for obj in read.members(layout) if "Invalid" in obj.State]})
Gui.Selection.clearSelection()
Gui.Selection.addSelection(by_key("loop/middle"))
before_delete = doc.UndoCount
deleted = answered(QtGui.QMessageBox.Ok, lambda: Gui.runCommand("Std_Delete"))
report({"delete": deleted, "gone": not [obj for obj in read.members(layout) if obj.Key == "loop/middle"],
        "undo": [doc.UndoCount - before_delete, doc.UndoNames[0]]})
choose_section("Engine")
report({"needed": [widget(f"CranklineSection{name}").isEnabled() for name in ("Add", "Edit", "Duplicate", "Remove")]})
for _ in range(doc.UndoCount):
    doc.undo()
doc.recompute()
pump(0.2)
report({"back": changed(doc, before), "containers": sum(getattr(obj, "Kind", "") == CONTAINER for obj in doc.Objects)})

# Every kind of object: a double click opens a panel with the cursor in its first field, Esc leaves nothing; no part is moved by hand.
said, kinds = [], {}


def watch():
    box = QtGui.QApplication.activeModalWidget()
    if box is not None:
        said.append(box.text())
        box.accept()


def panels():
    """Our panels that are in sight with the cursor in a field."""
    return [item for name in ("CranklineEditPanel", "CranklinePlacePanel") for item in Gui.getMainWindow().findChildren(QtGui.QWidget, name)
            if item.isVisible() and item.focusWidget() is not None]


timer = QtCore.QTimer()
timer.timeout.connect(watch)
timer.start(100)
# Keys: Tab goes down the form, a letter that is a shortcut of the view stays in its field, Enter is OK.
by_key("mid_plate").ViewObject.doubleClicked()
wait_for(panels, SOON)
if App.Version()[:2] == ["0", "20"]:    # it gives its window the keyboard back after a question where a window manager does
    Gui.getMainWindow().activateWindow()
wait_for(lambda: QtGui.QApplication.focusWidget() is not None, 5.0)   # 1.1 gives its window the keyboard some rounds later, or not at all
order = [entry.objectName() for entry in panels()[0].findChildren(QtGui.QWidget) if entry.isVisible() and entry.isEnabled()
         and entry.objectName().startswith("Crankline_") and entry.focusPolicy() & QtCore.Qt.TabFocus]
walked = []
for _ in order:
    focus = panels()[0].focusWidget()
    walked.append(focus.objectName())
    QTest.keyClick(focus, QtCore.Qt.Key_Tab)
    pump(0.02)
line = field("thickness")
line.setFocus()     # the form scrolls back to it
pump(0.3)
camera = Gui.ActiveDocument.ActiveView.getCamera()
line.selectAll()
QTest.keyClicks(line, "1v02")       # keys by which the host turns its view: Qt offers each to the host's shortcuts first
pump(0.3)
keyed = [line.text(), Gui.ActiveDocument.ActiveView.getCamera() == camera, bool(Gui.Control.activeDialog())]
type_into(line, "0.31 in")
steps = doc.UndoCount
QTest.keyClick(line, QtCore.Qt.Key_Return)
wait_for(lambda: not Gui.Control.activeDialog(), SOON)
report({"tab": [order, walked], "keys": keyed, "enter": [bool(Gui.Control.activeDialog()), doc.UndoCount - steps]})
for _ in range(doc.UndoCount - steps):
    doc.undo()
doc.recompute()
for obj in read.members(layout):
    if obj.Kind in kinds:
        continue
    obj.ViewObject.doubleClicked()
    wait_for(panels, SOON)
    focus = panels()[0].focusWidget() if panels() else None
    kinds[obj.Kind] = [bool(Gui.Control.activeDialog()), focus is not None and focus.objectName()[:10]]
    if focus is not None:
        QTest.keyClick(focus, QtCore.Qt.Key_Escape)
    wait_for(lambda: not Gui.Control.activeDialog(), SOON)
    kinds[obj.Kind].append(bool(Gui.Control.activeDialog()))
report({"kinds": kinds, "said": said, "changed": changed(doc, before), "undo": doc.UndoCount,
        "movable": [obj.Label for obj in read.members(layout) if hasattr(obj, "ShapeDigest")
                    and not {"ReadOnly", 1} & set(obj.getPropertyStatus("Placement"))]})

# So does every section that is not there yet, with values to begin with.
empty = {}
for label, state_ in section_states().items():
    if state_ == "None":
        choose_section(label)
        click("Add")
        wait_for(panels, SOON)     # 1.1 shows a panel some rounds of its loop after it was asked for
        empty[label] = widget("CranklineEditPanel").windowTitle()
        press(CANCEL)
        pump(0.05)
timer.stop()
report({"empty": empty, "said": said, "changed": changed(doc, before)})
