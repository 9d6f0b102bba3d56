"""Opens and writes car files, writes sheets, rebuilds and repairs, through the commands with their dialogs answered."""
import os
import sys

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtGui
from steps import message, ours, state
from window import pump, report

from crankline import carfile
from crankline.features.base import counts
from crankline.gui import messages
from crankline.record import equal
from crankline.sheets import dxf
from crankline.sheets.drawing import SheetError

car_file, bad_file, folder = sys.argv[1:4]
Gui.activateWorkbench("CranklineWorkbench")
answers = []
for name in ("getOpenFileName", "getSaveFileName"):
    setattr(QtGui.QFileDialog, name, staticmethod(lambda *_: (answers.pop(0), "")))
QtGui.QFileDialog.getExistingDirectory = staticmethod(lambda *_: answers.pop(0))

answers[:] = [bad_file]
report({"bad": message(lambda: Gui.runCommand("Crankline_OpenCarFile")), "documents": list(App.listDocuments())})
answers[:] = [""]
Gui.runCommand("Crankline_OpenCarFile")
answers[:] = [car_file]
Gui.runCommand("Crankline_OpenCarFile")
pump(0.5)
doc = App.ActiveDocument
report({"open": [doc.Label, len(ours(doc)), all(obj.isValid() for obj in doc.Objects)]})

written = os.path.join(folder, "written")
answers[:] = [written]
Gui.runCommand("Crankline_WriteCarFile")
pump(0.2)
report({"written": os.path.exists(written + ".yaml") and equal(carfile.read(written + ".yaml"), carfile.read(car_file))})
doc.getObject("Layout").setExpression("CrankHeight", "200 mm + Lateral * 0 + 54 mm")
doc.recompute()
answers[:] = [os.path.join(folder, "formula.yaml")]
report({"formula": message(lambda: Gui.runCommand("Crankline_WriteCarFile"))})
doc.getObject("Layout").setExpression("CrankHeight", None)

counts.clear()
steps = doc.UndoCount
Gui.runCommand("Crankline_Rebuild")
parts = [obj for obj in ours(doc) if obj.TypeId == "Part::FeaturePython"]
report({"rebuilt": counts["builds"] == len(parts), "undo": doc.UndoCount - steps, "name": doc.UndoNames[0]})

# An object whose proxy was lost, as after saving without the add-on.
loop = next(obj for obj in ours(doc) if obj.Kind == "fixed_loop")
before = state(doc)
loop.Proxy = None
loop.ViewObject.Proxy = 0
Gui.runCommand("Crankline_RepairDocument")
pump(0.2)
report({"repaired": [type(loop.Proxy).__name__, type(loop.ViewObject.Proxy).__name__, loop.Shape.isValid()]})

# Findings stand on the sheets; few rules are enough for that.
next(obj for obj in ours(doc) if obj.Kind == "car").Sets = ["practice"]
answers[:] = [folder]
said = []
messages.show_message = lambda *words, **_: said.append(" ".join(words[:2]))
Gui.runCommand("Crankline_WriteSheets")
pump(0.2)
report({"sheets": sorted(os.path.relpath(os.path.join(at, name), folder) for at, _folders, names in os.walk(folder) for name in names),
        "said": said})


def absent():
    raise SheetError("flat patterns need ezdxf")


dxf._ezdxf = absent
answers[:] = [os.path.join(folder, "side view alone")]
said.clear()
Gui.runCommand("Crankline_WriteSheets")
pump(0.2)
report({"sheets": sorted(name for _at, _folders, names in os.walk(os.path.join(folder, "side view alone")) for name in names),
        "said": said})
