import os, sys
import FreeCAD as App, FreeCADGui as Gui
Gui.activateWorkbench("CranklineWorkbench")
pump(0.3)
Gui.runCommand("Crankline_ExampleCar")
pump(1)
doc = App.ActiveDocument
print(doc, [o.Name for o in doc.Objects if hasattr(o,'Kind') and not o.ViewObject.Visibility])
screenshot("example.png")
Gui.runCommand("Crankline_PlacePowertrain")
pump(1)
screenshot("panel.png")
Gui.Control.closeDialog()
pump(0.5)
Gui.runCommand("Crankline_CheckCar")
pump(1)
screenshot("check.png")
