"""Opens a car file and saves the window's isometric view of it: ``demo_picture.py CAR.yaml PICTURE.png``."""
import sys

import FreeCAD as App  # noqa: F401 - the host runs texts in this module and expects the name
import FreeCADGui as Gui
from PySide import QtCore, QtGui
from window import pump, report

from crankline.gui import actions, camera

Gui.activateWorkbench("CranklineWorkbench")

document = actions.open_car_file(sys.argv[1])
parts = [obj for obj in document.Objects if getattr(obj, "Kind", "") and obj.TypeId == "Part::FeaturePython"]
for obj in document.Objects:
    if obj.TypeId.startswith("Sketcher::"):
        obj.ViewObject.Visibility = False
pump(0.5)
view = Gui.getDocument(document.Name).ActiveView
view.setAxisCross(False)
camera.isometric(view, parts, (1200, 700))
pump(0.5)
# Drawn at twice the size and reduced: software GL smooths no edges.
view.saveImage(sys.argv[2], 2400, 1400, "White")
QtGui.QImage(sys.argv[2]).scaled(1200, 700, QtCore.Qt.IgnoreAspectRatio, QtCore.Qt.SmoothTransformation).save(sys.argv[2])
report({"parts": len(parts), "shown": sum(obj.ViewObject.Visibility for obj in parts)})
