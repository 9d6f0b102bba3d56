# Runs at every start of FreeCAD with a window: announces the workbench and imports nothing of ours but the empty package.
# FreeCAD executes this text inside a function, so methods and functions see none of its names: they import what they use.
import os

import FreeCADGui

import crankline


class CranklineWorkbench(FreeCADGui.Workbench):
    """The workbench as FreeCAD lists it; commands, panels and features are imported when it is first activated."""

    def __init__(self):
        import os

        import crankline
        cls = self.__class__
        cls.MenuText = "Crankline"
        cls.ToolTip = ("Sets the engine and transmission in a drag-race chassis, and designs and checks their mounts and driveshaft "
                       "containment")
        cls.Icon = os.path.join(crankline.ROOT, "icons", "crankline.svg")

    def Initialize(self):
        from crankline.gui import commands
        names = commands.register()
        self.appendToolbar("Crankline", names)
        self.appendMenu("&Crankline", names)
        self.appendMenu("&Help", ["Crankline_Help"])

    def GetClassName(self):
        return "Gui::PythonWorkbench"


def _dress(obj):
    import importlib
    importlib.import_module("crankline.gui.views").attach(obj)


crankline.gui_hook = _dress
# Paths only: the host reads these files when it needs them. Flat, because a function would see none of these names.
FreeCADGui.addIconPath(os.path.join(crankline.ROOT, "icons"))
FreeCADGui.addLanguagePath(os.path.join(crankline.PACKAGE, "gui", "translations"))
FreeCADGui.addPreferencePage(os.path.join(crankline.PACKAGE, "gui", "preferences.ui"), "Crankline")
FreeCADGui.addWorkbench(CranklineWorkbench())
