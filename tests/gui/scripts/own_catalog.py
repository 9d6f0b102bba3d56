"""Picks from the catalog and from a shop's own folder in the forms of a document (its file, and the folder, are the arguments)."""
import sys

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui
from steps import QTest, choose_section, field, kept, press, type_into, widget
from window import pump, report, screenshot

from crankline import preferences
from crankline.features import read

OK, CANCEL = QtGui.QDialogButtonBox.Ok, QtGui.QDialogButtonBox.Cancel
App.ParamGet(preferences.PATH).SetString("UserCatalog", sys.argv[2])
Gui.activateWorkbench("CranklineWorkbench")
App.openDocument(sys.argv[1])
pump(0.5)
doc = App.ActiveDocument
layout = read.only_layout(doc)


def edit(label):
    choose_section(label)
    QTest.mouseClick(widget("CranklineSectionEdit", QtGui.QPushButton), QtCore.Qt.LeftButton)
    pump(0.3)


def combo(name):
    return widget(f"Crankline_{name}", QtGui.QComboBox)


def choose(name, text):
    """Pick a row of a drop-down by keys, as a user does."""
    box = combo(name)
    number = box.findText(text)
    assert number >= 0, [box.itemText(n) for n in range(box.count())]
    box.setFocus()
    box.setCurrentIndex(number)
    box.activated.emit(number)
    pump(0.1)


def label(name, tip=False):
    found = [one for one in Gui.getMainWindow().findChildren(QtGui.QLabel, f"Crankline_{name}") if one.isVisible()]
    return (found[0].toolTip() if tip else found[0].text()) if found else ""


def dialog(name):
    return next((one for one in QtGui.QApplication.topLevelWidgets() if one.objectName() == name and one.isVisible()), None)


def click(parent, name):
    QTest.mouseClick(parent.findChild(QtGui.QPushButton, f"Crankline{name}"), QtCore.Qt.LeftButton)


def choose_row(shown, text):
    item = next(shown.rows.topLevelItem(n) for n in range(shown.rows.topLevelItemCount()) if shown.rows.topLevelItem(n).text(0) == text)
    shown.rows.setCurrentItem(item)


def write_row():
    """In the row's form: first without a name and source, then whole."""
    form = dialog("CranklineOwnRow")
    if form is None:
        QtCore.QTimer.singleShot(50, write_row)
        return
    ok = form.findChild(QtGui.QDialogButtonBox).button(QtGui.QDialogButtonBox.Ok)
    told = []
    for fields in ({}, {"CranklineRow_source": "mill sheet 7"}, {"CranklineOwnRowName": "1.5x0.109"},
                   {"CranklineOwnRowName": "1.5x0.119", "CranklineFigures_wall": "0.119 in"}):
        for name, text in fields.items():
            type_into(form.findChild(QtGui.QLineEdit, name), text)
        QTest.mouseClick(ok, QtCore.Qt.LeftButton)
        told.append(form.problem.text() if form.isVisible() else "")
        if len(told) == 3:
            pump(0.1)
            form.grab().save(kept("own_row.png"))
    done["row"] = told


def edit_catalog():
    """In the dialog of the shop's own catalog: add a tube, remove another one."""
    shown = dialog("CranklineOwnCatalog")
    if shown is None:
        QtCore.QTimer.singleShot(50, edit_catalog)
        return
    shown.table.setCurrentIndex(2)
    choose_row(shown, "1x0.058")
    ours = [shown.new.isEnabled(), shown.edit.isEnabled(), shown.remove.isEnabled()]
    choose_row(shown, "1.5x0.109")
    done["buttons"] = [ours, [shown.new.isEnabled(), shown.edit.isEnabled(), shown.remove.isEnabled()]]
    QtCore.QTimer.singleShot(50, write_row)
    click(shown, "OwnCatalogNew")
    shown.grab().save(kept("own_catalog.png"))
    done["rows"] = [shown.rows.topLevelItem(n).text(0) for n in range(shown.rows.topLevelItemCount())
                    if shown.rows.topLevelItem(n).text(1) == "yours"]
    shown.reject()


done = {}
QtCore.QTimer.singleShot(50, edit_catalog)
Gui.runCommand("Crankline_OwnCatalog")
report(done)
Gui.runCommand("Crankline_Car")
pump(0.5)
# The engine: its row and its figures go together.
edit("Engine")
first = [combo("use").currentText(), [combo("use").itemText(n) for n in range(combo("use").count())], label("departs")]
type_into(field("mass"), "600 lb")
pump(0.1)
report({"engine": first, "changed": label("departs"), "sizes": label("use_sizes")})
screenshot("engine_departs.png")
choose("use", "shop_iron")
report({"picked": [field("deck_height").text(), field("mass").text()], "departs": label("departs"), "sizes": label("use_sizes"),
        "origin": label("use_sizes", tip=True)})
screenshot("engine_picked.png")
# The points of its solid are clicked on a picture of it.
clicked = {}


def pick_points():
    shown = dialog("CranklinePickPoints")
    if shown is None:
        QtCore.QTimer.singleShot(50, pick_points)
        return
    shown.findChild(QtGui.QRadioButton, "CranklinePick_left").setChecked(True)
    corner = min(shown.picture._points, key=lambda point: shown.picture.dot(point)[0])
    x, y = shown.picture.dot(corner)
    QTest.mouseClick(shown.picture, QtCore.Qt.LeftButton, QtCore.Qt.NoModifier, QtCore.QPoint(round(x), round(y)))
    clicked["point"] = [float(value) for value in corner]
    clicked["told"] = shown.findChild(QtGui.QLabel, "CranklinePicked_left").text()
    shown.grab().save(kept("pick_points.png"))
    QTest.mouseClick(shown.buttons.button(QtGui.QDialogButtonBox.Ok), QtCore.Qt.LeftButton)


QtCore.QTimer.singleShot(50, pick_points)
Gui.getMainWindow().findChild(QtGui.QPushButton, "Crankline_solid_pick").click()
report({**clicked, "fields": [field(f"solid_left_{axis}").text() for axis in "xyz"]})
choose("use", "shop_iron")
type_into(field("mass"), "590 lb")
press(OK)
pump(0.3)
Gui.ActiveDocument.ActiveView.viewIsometric()
Gui.SendMsgToActiveView("ViewFit")
screenshot("engine_of_its_own.png")
report({"solids": [len(obj.Shape.Solids) for obj in doc.Objects if getattr(obj, "Key", "") == "engine"]})
pump(0.5)
held = read.car(layout).engine
report({"held": [held.use, held.shop.date, held.overrides],
        "told": [note.message for note in read.snapshot(layout).unsound]})
# A tube takes its sizes from stock, ours or the shop's.
edit("Support tube")
before = combo("section_outer_diameter_stock").currentText()
QTest.mouseClick(widget("Crankline_more", QtGui.QToolButton), QtCore.Qt.LeftButton)
pump(0.1)
choose("section_outer_diameter_stock", "1.5x0.109 (your own)")
report({"stock": before, "sizes": [field("section_outer_diameter").text(), field("section_wall").text()],
        "material": label("material_sizes")})
screenshot("tube_picked.png")
type_into(field("section_wall"), "0.11 in")
pump(0.1)
report({"another": combo("section_outer_diameter_stock").currentText()})
press(CANCEL)
pump(0.2)
doc.undo()
doc.recompute()
report({"undone": read.car(layout).engine.use})
