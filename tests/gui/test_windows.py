"""The window that scripts share: what one leaves the next does not find, and one that crashes or leaves something open fails by itself."""
import pytest

LEAVES = """
import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui
from window import pump
from crankline import preferences
Gui.activateWorkbench("CranklineWorkbench")
App.newDocument("Left").addObject("Part::Box", "Box")
Gui.runCommand("Crankline_Car")
Gui.runCommand("Crankline_StartCar")
App.ParamGet(preferences.PATH).SetString("Shop", "Night Shift Chassis")
QtGui.QFileDialog.getOpenFileName = staticmethod(lambda *_: ("nowhere", ""))
QtGui.QApplication.instance().setStyleSheet("QWidget { background: #000000 }")
Gui.getMainWindow().resize(900, 600)
timer = QtCore.QTimer()
timer.timeout.connect(lambda: print("LEFT RUNNING", flush=True))
timer.start(1)
pump(0.05)
"""
FINDS = """
import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtGui
from window import pump, report
from crankline import preferences
pump(0.2)
main = Gui.getMainWindow()
report({"documents": list(App.listDocuments()), "panel": bool(Gui.Control.activeDialog()), "workbench": Gui.activeWorkbench().name(),
        "docks": [item.objectName() for item in main.findChildren(QtGui.QDockWidget) if item.isVisible()],
        "shop": preferences.held().shop, "picked": QtGui.QFileDialog.getOpenFileName.__name__,
        "sheet": QtGui.QApplication.instance().styleSheet(), "size": [main.width(), main.height()]})
"""
GONE = "import os; os._exit(0)"
OPEN = """
from PySide import QtCore, QtGui
import FreeCADGui as Gui
dialog = QtGui.QDialog(Gui.getMainWindow())
dialog.setModal(True)
dialog.show()
"""


def test_what_a_script_leaves_the_next_one_does_not_find(gui_run):
    new, = gui_run(FINDS, fresh=True).reported
    assert "LEFT RUNNING" in gui_run(LEAVES).stdout
    after = gui_run(FINDS)
    assert after.reported[0] == new and new["documents"] == [] and "LEFT RUNNING" not in after.log


@pytest.mark.parametrize("script, told", [(GONE, "ended with -1"), (OPEN, "leaves a dialog open"),
                                          ("raise ValueError(3)", "ValueError: 3")], ids=["gone", "dialog", "fault"])
def test_a_script_that_fails_fails_alone(gui_run, script, told):
    with pytest.raises(pytest.fail.Exception, match=told):
        gui_run(script)
    assert gui_run("from window import report; report(1)").reported == (1,)
