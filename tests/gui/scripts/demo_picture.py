"""Opens car files and saves the window's isometric view of each: ``demo_picture.py CAR.yaml PICTURE.png ...``."""
import sys

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui
from window import pump, report

from crankline.gui import actions, camera

Gui.activateWorkbench("CranklineWorkbench")

for path, picture in zip(sys.argv[1::2], sys.argv[2::2]):
    document = actions.open_car_file(path)
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
    view.saveImage(picture, 2400, 1400, "White")
    QtGui.QImage(picture).scaled(1200, 700, QtCore.Qt.IgnoreAspectRatio, QtCore.Qt.SmoothTransformation).save(picture)
    report({"parts": len(parts), "shown": sum(obj.ViewObject.Visibility for obj in parts)})
    App.closeDocument(document.Name)
