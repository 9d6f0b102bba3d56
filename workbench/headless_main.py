"""Crankline's command line on any system, started by FreeCAD's own program: ``FreeCADCmd headless_main.py -- build CAR.yaml --out DIR``.

What stands after ``--`` FreeCAD leaves alone, in every version. The exit code is the process's. ``workbench/run`` starts the same file and
hands everything over in the environment: arguments, descriptors for our text, and a file for the exit code (see ``crankline.headless``).
"""
import importlib.util
import os
import sys

FOLDER = os.path.dirname(os.path.abspath(__file__))


def start() -> None:
    """Run one command and leave the process."""
    missing = [name for name in os.environ.get("CRANKLINE_NEEDS", "numpy yaml").split() if importlib.util.find_spec(name) is None]
    if missing and "CRANKLINE_DONE" in os.environ:
        with open(os.environ["CRANKLINE_DONE"] + ".missing", "w", encoding="ascii") as file:
            file.write(" ".join(missing))
        os._exit(0)
    if missing:
        print(f"crankline: FreeCAD's Python lacks {', '.join(missing)}: install the Python packages numpy and PyYAML for it.",
              file=sys.stderr, flush=True)
        os._exit(2)
    sys.path.insert(0, FOLDER)
    if sys.platform.startswith("linux"):
        os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    import crankline
    if not os.path.samefile(crankline.PACKAGE, os.path.join(FOLDER, "crankline")):
        sentence = f"crankline: another copy of Crankline is loaded first, from {crankline.ROOT}: remove it from FreeCAD's own folders.\n"
        os.write(int(os.environ.get("CRANKLINE_ERR_FD", "2")), sentence.encode())
        if "CRANKLINE_DONE" in os.environ:
            with open(os.environ["CRANKLINE_DONE"], "w", encoding="ascii") as file:
                file.write("5")
        os._exit(5)
    import crankline.headless
    crankline.headless.run_from_environment()


start()
