"""Documents that were saved without a window come up complete in one."""
import pathlib
import shutil

import cars

SCRIPTS = pathlib.Path(__file__).parent / "scripts"
RESAVE = """
import sys
import FreeCAD as App
document = App.openDocument(sys.argv[1])
document.saveAs(sys.argv[2])
"""


def test_headless_documents(gui_run, freecadcmd, tmp_path):
    paths = [shutil.copy(cars.copy(name, name), tmp_path) for name in cars.DEMOS]
    finished = gui_run(SCRIPTS / "headless_document.py", *paths)
    assert len(finished.reported) == 2 * len(paths) == 4
    for opened, again in zip(finished.reported[::2], finished.reported[1::2]):
        assert opened["hidden"] == [] and opened["undressed"] == [] and opened["color"] and opened["touched"] == []
        assert opened["count"] > 30 and not opened["modified"] and opened["edit"] and opened["panel"]
        number, commonest = opened["colors"]
        assert number > 200 and commonest < 0.95
        assert again["hidden"] == ["MidPlate", "PlanSketch"]
    assert "saved without a window" not in finished.log

    # The window's colors are lost when such a document is saved without one: shown in full again, and said.
    lost = tmp_path / "lost.FCStd"
    freecadcmd(RESAVE, tmp_path / "from_window_0.FCStd", lost)
    finished = gui_run(SCRIPTS / "headless_document.py", lost)
    assert finished.reported[0]["hidden"] == [] and finished.reported[0]["undressed"] == []
    assert "saved without a window" in finished.log
