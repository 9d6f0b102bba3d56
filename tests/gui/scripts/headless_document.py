"""Opens documents that were saved without a window: everything visible, dressed, and in our colors."""
import os
import sys

import FreeCAD as App
import FreeCADGui as Gui
from steps import colors, kept, ours
from window import pump, report

for number, path in enumerate(sys.argv[1:]):
    doc = App.openDocument(path)
    pump(0.7)
    mid_plate = next(obj for obj in ours(doc) if obj.Kind == "mid_plate")
    from crankline.features.registry import declaration
    from crankline.gui import camera
    camera.isometric(Gui.ActiveDocument.ActiveView, [obj for obj in ours(doc) if obj.TypeId == "Part::FeaturePython"])
    Gui.ActiveDocument.ActiveView.saveImage(kept(f"headless_{number}.png"), 800, 500, "White")
    shown = [round(c, 3) for c in mid_plate.ViewObject.ShapeColor[:3]]
    report({"hidden": [obj.Label for obj in doc.Objects if (getattr(obj, "Kind", "") or obj.TypeId.startswith("Sketcher::"))
                       and not obj.ViewObject.Visibility],
            "undressed": [obj.Label for obj in ours(doc) if obj.Kind != "container" and not hasattr(obj.ViewObject.Proxy, "getIcon")],
            "color": shown == [round(c, 3) for c in declaration("mid_plate", "mid_plate").look.color],
            "touched": [obj.Label for obj in ours(doc) if "Touched" in obj.State], "count": len(ours(doc)),
            "modified": bool(Gui.ActiveDocument.Modified), "colors": colors(kept(f"headless_{number}.png")),
            "edit": doc.getObject("Layout").ViewObject.doubleClicked(), "panel": bool(Gui.Control.activeDialog())})
    Gui.ActiveDocument.resetEdit()
    # Saved and opened with the window from now on: what is hidden stays hidden.
    mid_plate.ViewObject.Visibility = False
    doc.getObject("PlanSketch").ViewObject.Visibility = False
    again = os.path.join(os.environ["FREECAD_USER_HOME"], f"again_{number}.FCStd")
    doc.saveAs(again)
    App.closeDocument(doc.Name)
    doc = App.openDocument(again)
    pump(0.5)
    report({"hidden": sorted(obj.Name for obj in doc.Objects if (getattr(obj, "Kind", "") or obj.TypeId.startswith("Sketcher::"))
                             and not obj.ViewObject.Visibility)})
    doc.saveCopy(os.path.join(os.path.dirname(path), f"from_window_{number}.FCStd"))
    App.closeDocument(doc.Name)
