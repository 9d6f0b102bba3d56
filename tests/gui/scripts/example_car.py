"""Activates the workbench, makes the example car by its command, undoes and redoes it, copies a part, saves and reopens."""
import os
import sys
import time

import FreeCAD as App
import FreeCADGui as Gui
from steps import colors, different_icons, kept, message, ours
from window import pump, report, screenshot

before = {name for name in sys.modules if name.split(".")[0] in ("crankline", "pivy", "numpy")}
began = time.process_time()
Gui.activateWorkbench("CranklineWorkbench")
activation = time.process_time() - began
pump(0.3)
after = {name for name in sys.modules if name.split(".")[0] in ("crankline", "pivy", "numpy")}
report({"commands": sorted(name for name in Gui.listCommands() if name.startswith("Crankline_")),
        "seconds": activation, "loaded": sorted(name for name in after - before if not name.startswith(("numpy.", "pivy.")))})
report({"active without a document": sorted(name for name in Gui.listCommands() if name.startswith("Crankline_")
                                            and Gui.Command.get(name).isActive())})
Gui.runCommand("Crankline_ExampleCar")
pump(0.8)
doc = App.ActiveDocument
screenshot("example_car.png")
Gui.ActiveDocument.ActiveView.saveImage(kept("example_view.png"), 800, 500, "White")
report({"hidden": [obj.Label for obj in ours(doc) if not obj.ViewObject.Visibility],
        "sketches": [obj.ViewObject.Visibility for obj in doc.Objects if obj.TypeId.startswith("Sketcher::")],
        "undressed": [obj.Label for obj in ours(doc) if obj.Kind != "container" and not hasattr(obj.ViewObject.Proxy, "getIcon")],
        "not valid": [obj.Label for obj in doc.Objects if not obj.isValid() or "Touched" in obj.State],
        "kinds": sorted({obj.Kind for obj in ours(doc)}), "count": len(ours(doc)), "undo": list(doc.UndoNames),
        "colors": colors(kept("example_view.png")), "icons": different_icons(
            {obj.Kind: obj for obj in ours(doc) if obj.Kind != "container"}.values())})

names = [obj.Name for obj in ours(doc)]
doc.undo()
pump(0.3)
undone = len(doc.Objects)
doc.redo()
doc.recompute()
pump(0.3)
report({"after undo": undone, "after redo": [obj.Name for obj in ours(doc)] == names,
        "dead": [obj.Label for obj in ours(doc) if obj.Kind != "container" and
                 (obj.Proxy is None or not hasattr(obj.ViewObject.Proxy, "getIcon"))]})

# Copy and paste of a loop through the host's own commands.
loop = next(obj for obj in ours(doc) if obj.Kind == "split_loop")
copy = doc.copyObject(loop, False)
doc.recompute()
pump(0.2)
report({"copy": [copy.Key, loop.Key, copy.Proxy.__class__.__name__, copy.ViewObject.Proxy.__class__.__name__,
                 copy.ViewObject.Visibility, copy.Shape.isValid()]})
doc.removeObject(copy.Name)
doc.recompute()

# Saved and opened again with the window: what the user hid stays hidden, colors stay.
path = os.path.join(os.environ["FREECAD_USER_HOME"], "car.FCStd")
engine = next(obj for obj in ours(doc) if obj.Kind == "engine")
engine.ViewObject.Visibility = False
engine.ViewObject.ShapeColor = (0.6, 0.2, 0.4)
doc.saveAs(path)
App.closeDocument(doc.Name)
pump(0.2)
doc = App.openDocument(path)
pump(0.5)
engine = next(obj for obj in ours(doc) if obj.Kind == "engine")
report({"hidden engine": not engine.ViewObject.Visibility, "color": [round(c, 2) for c in engine.ViewObject.ShapeColor[:3]],
        "others hidden": [obj.Label for obj in ours(doc) if obj.Kind != "engine" and not obj.ViewObject.Visibility],
        "touched": [obj.Label for obj in ours(doc) if "Touched" in obj.State and obj.Kind != "container"],   # 1.1 touches App::Parts
        "dead": [obj.Label for obj in ours(doc) if obj.Kind != "container" and
                 (obj.Proxy is None or not hasattr(obj.ViewObject.Proxy, "getIcon"))],
        "modified": bool(Gui.ActiveDocument.Modified)})


def without_a_car():
    """Commands on a document without a car say so in one sentence."""
    from crankline.gui import commands
    App.newDocument("Empty")
    pump(0.2)
    report({"no car": message(commands.CheckCar().Activated)})


without_a_car()
