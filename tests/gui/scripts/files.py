"""Opens car files, exports, makes a page, shows help and preferences, rebuilds and repairs, by the commands as a user does."""
import os
import sys

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui
from steps import kept, message, ours, press, type_into, widget
from window import pump, report, screenshot

from crankline import carfile, preferences
from crankline.features import read
from crankline.features.base import counts
from crankline.gui import quantity_field
from crankline.sheets import dxf
from crankline.sheets.drawing import SheetError

car_file, bad_file, folder = sys.argv[1:4]
Gui.activateWorkbench("CranklineWorkbench")
answers = []
QtGui.QFileDialog.getOpenFileName = staticmethod(lambda *_: (answers.pop(0), ""))

answers[:] = [bad_file]
report({"bad": message(lambda: Gui.runCommand("Crankline_OpenCarFile")), "documents": list(App.listDocuments())})
answers[:] = [""]
Gui.runCommand("Crankline_OpenCarFile")
answers[:] = [car_file]
Gui.runCommand("Crankline_OpenCarFile")
pump(0.5)
doc = App.ActiveDocument
report({"open": [doc.Label, len(ours(doc)), all(obj.isValid() for obj in doc.Objects)]})

# Export by its panel: the title block is typed once and kept in the car.
def export(*names):
    """Open the panel and check these boxes, no others."""
    Gui.runCommand("Crankline_Export")
    pump(0.3)
    for box in widget("CranklineExportPanel").findChildren(QtGui.QCheckBox):
        box.setChecked(box.objectName().removeprefix("CranklineExport_") in names)


def told():
    return [label.text() for label in Gui.getMainWindow().findChildren(QtGui.QLabel, "CranklineExportProblem") if label.isVisible()]


def files(*under):
    top = os.path.join(folder, *under)
    return sorted(os.path.relpath(os.path.join(at, name), top) for at, _folders, names in os.walk(top) for name in names)


def line(name):
    return widget(f"CranklineTitle_{name}", QtGui.QLineEdit)


car = next(obj for obj in ours(doc) if obj.Kind == "car")
car.Sets = ["practice"]   # findings stand on the sheets; few rules are enough for that
doc.recompute()
steps = doc.UndoCount
Gui.getMainWindow().resize(1366, 768)
Gui.getMainWindow().setStyleSheet("QWidget { background: #2b2b2b; color: #eeeeee }")
export()
type_into(line("shop"), "Night Shift Chassis")
type_into(line("revision"), "B")
press(QtGui.QDialogButtonBox.Ok)
nothing = told()
export_folder = widget("CranklineExportFolder", QtGui.QLineEdit)
type_into(line("issued"), "soon")
for name in ("car_file", "made_step", "sheets", "flats", "html", "report"):
    widget(f"CranklineExport_{name}", QtGui.QCheckBox).setChecked(True)
press(QtGui.QDialogButtonBox.Ok)
homeless = told()
type_into(export_folder, os.path.join(folder, "all"))
press(QtGui.QDialogButtonBox.Ok)
wrong = widget("CranklineTitle_issued_problem", QtGui.QLabel).text()
type_into(line("issued"), "2026-11-29")
screenshot("export_dark.png")
Gui.getMainWindow().setStyleSheet("")
pump(0.2)
screenshot("export_panel.png")
export_folder.setText("my car export")   # the help page shows this picture
line("shop").home(False)
widget("CranklineExportPanel").grab().save(kept("export.png"))
export_folder.setText(os.path.join(folder, "all"))
press(QtGui.QDialogButtonBox.Ok)
pump(0.3)
held = read.car(read.only_layout(doc)).title_block
report({"nothing": nothing, "homeless": homeless, "wrong": wrong, "all": files("all"), "open": bool(Gui.Control.activeDialog()),
        "said": told(), "kept": [held.shop, held.revision, held.issued], "undo": doc.UndoCount - steps,
        "car": read.car(read.only_layout(doc)) == carfile.read(os.path.join(folder, "all", "car.yaml"))})

doc.getObject("Layout").setExpression("CrankHeight", "200 mm + Lateral * 0 + 54 mm")
doc.recompute()
export("car_file")
remembered = [export_folder_now.text() for export_folder_now in [widget("CranklineExportFolder", QtGui.QLineEdit)]]
report({"formula": message(lambda: press(QtGui.QDialogButtonBox.Ok)), "folder": remembered, "shop": doc.getObject(car.Name).Shop})
doc.getObject("Layout").setExpression("CrankHeight", None)
doc.recompute()

# A page in the document, as one undo step; help; the preferences.
pump(0.2)
steps = doc.UndoCount
export("page")
press(QtGui.QDialogButtonBox.Ok)
pump(1.0)
pages = [obj for obj in doc.Objects if obj.TypeId == "TechDraw::DrawPage"]
report({"page": [page.Label for page in pages], "undo": doc.UndoCount - steps, "views": [view.Label for view in pages[0].Views],
        "field": dict(pages[0].Template.EditableTexts)["Shop"]})
pages[0].ViewObject.doubleClicked()
pump(1.5)
screenshot("drawing_page.png")
doc.undo()
pump(0.3)
Gui.runCommand("Crankline_Help")
pump(0.5)
screenshot("help.png")
page = widget("CranklineHelpPage", QtGui.QTextBrowser)
report({"help": page.toPlainText()[:9], "still": [obj.Name for obj in doc.Objects if obj.TypeId.startswith("TechDraw")]})
widget("CranklineHelp").close()
shown = {}


def look():
    dialog = QtGui.QApplication.activeModalWidget()
    own = dialog and dialog.findChild(QtGui.QWidget, "CranklinePreferences")
    if not own:
        QtCore.QTimer.singleShot(100, look)
        return
    try:
        for view in [*dialog.findChildren(QtGui.QListWidget), *dialog.findChildren(QtGui.QTreeView)]:   # a list up to 0.21, a tree since
            model = view.model()
            rows = [model.index(number, 0) for number in range(model.rowCount())]
            for index in [index for index in rows if index.data() == "Crankline"]:
                page_index = model.index(0, 0, index) if model.rowCount(index) else index
                view.setCurrentIndex(page_index)
                view.clicked.emit(page_index)
        pump(0.3)
        shown["visible"] = own.isVisible()
        own.findChild(QtGui.QLineEdit, "shop").setText("Late Shift Chassis")
        own.findChild(QtGui.QComboBox, "units").setCurrentIndex(1)
        own.findChild(QtGui.QCheckBox, "fractions").setChecked(True)
        own.findChild(QtGui.QCheckBox, "set_stack").setChecked(True)
        screenshot("preferences.png")
    finally:
        dialog.findChild(QtGui.QDialogButtonBox).button(QtGui.QDialogButtonBox.Ok).click()


QtCore.QTimer.singleShot(300, look)
Gui.runCommand("Std_DlgPreferences")
pump(0.2)
chosen = preferences.held()
report({"preferences": [chosen.units, chosen.fractions, chosen.shop, list(chosen.rule_sets)], **shown,
        "color": preferences.color("ColorFinding")})
typed = quantity_field.QuantityField("a", "A", "length", "in", 0.0, 1e5)
texts = []
for value in (2095.5, 2095.6, 3.175):
    typed.set_value(value)
    texts.append([typed.text(), typed.value()])
report({"fractions": texts})
keys = {name: Gui.Command.get(name).getShortcut() for name in Gui.Command.listAll()}
mine = {name: key for name, key in keys.items() if name.startswith("Crankline_") and key}
report({"keys": len(mine), "taken": sorted(name for name, key in keys.items() if key and name not in mine and any(
    (one + ", ").startswith(key + ", ") or (key + ", ").startswith(one + ", ") for one in mine.values()))})

counts.clear()
steps = doc.UndoCount
Gui.runCommand("Crankline_Rebuild")
parts = [obj for obj in ours(doc) if obj.TypeId == "Part::FeaturePython"]
report({"rebuilt": counts["builds"] == len(parts), "undo": doc.UndoCount - steps, "name": doc.UndoNames[0]})

# An object whose proxy was lost, as after saving without the add-on.
loop = next(obj for obj in ours(doc) if obj.Kind == "fixed_loop")
loop.Proxy = None
loop.ViewObject.Proxy = 0
Gui.runCommand("Crankline_RepairDocument")
pump(0.2)
report({"repaired": [type(loop.Proxy).__name__, type(loop.ViewObject.Proxy).__name__, loop.Shape.isValid()]})

# What would show a part in error is not written, and the rest is.
tube = next(obj for obj in ours(doc) if obj.Kind == "enclosure")
rear = tube.XRear.Value
tube.XRear = tube.XFront.Value + 25.0
doc.recompute()
export("made_step", "flats", "html")
type_into(widget("CranklineExportFolder", QtGui.QLineEdit), os.path.join(folder, "part"))
press(QtGui.QDialogButtonBox.Ok)
pump(0.2)
screenshot("export_refused.png")
report({"part": files("part"), "said": told()})
press(QtGui.QDialogButtonBox.Cancel)
tube.XRear = rear
doc.recompute()

export("set_up")
type_into(widget("CranklineExportFolder", QtGui.QLineEdit), os.path.join(folder, "as_svg"))
choice = widget("CranklineExportForm", QtGui.QComboBox)
forms = [choice.itemData(number) for number in range(choice.count())]
choice.setCurrentIndex(forms.index("svg"))
size = widget("CranklineTitle_sheet_size", QtGui.QComboBox)
size.setCurrentIndex(size.findData("A3"))
press(QtGui.QDialogButtonBox.Ok)
export("csv")
report({"forms": forms, "written": files("as_svg"), "kept": widget("CranklineExportForm", QtGui.QComboBox).currentData(),
        "size": read.car(read.only_layout(doc)).title_block.sheet_size})
press(QtGui.QDialogButtonBox.Cancel)


def absent():
    raise SheetError("flat patterns need ezdxf")


there, dxf._ezdxf = dxf._ezdxf, absent
export("flats", "csv")
type_into(widget("CranklineExportFolder", QtGui.QLineEdit), os.path.join(folder, "partly"))
press(QtGui.QDialogButtonBox.Ok)
pump(0.2)
report({"partly": files("partly"), "said": told()})

# What was patched here is another script's too.
dxf._ezdxf = there
