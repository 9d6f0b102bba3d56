"""FreeCAD's window with our add-on: the workbench is announced, and nothing of ours is loaded before it is used."""


def test_workbench_is_announced_and_nothing_more(gui_run):
    finished = gui_run("""
import sys
import crankline
import FreeCADGui as Gui
from window import report
report({"listed": sorted(name for name in Gui.listWorkbenches() if "rankline" in name),
        "modules": [name for name in sys.modules if name.split(".")[0] == "crankline"],
        "hook": callable(crankline.gui_hook)})
""", fresh=True)
    (found,) = finished.reported
    assert found["listed"] == ["CranklineWorkbench"]
    assert found["modules"] == ["crankline"] and found["hook"]
    assert "annot find icon" not in finished.log
