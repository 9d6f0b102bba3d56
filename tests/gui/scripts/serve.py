"""What FreeCAD's window runs once it stands: the scripts that tests hand to it (``windows.py``), one after another.

A script is told by a line of JSON on one pipe and answered by one on another. Each runs as ``__main__``, begins with what a new window
has, and leaves nothing to the next: no document, panel, dock, preference or patch.
"""
import ctypes
import gc
import json
import os
import sys
import traceback
import types

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui

HERE = os.path.dirname(os.path.abspath(__file__))
JOBS, ANSWERS = (int(os.environ[f"CRANKLINE_TEST_{name}"]) for name in ("JOBS", "ANSWERS"))
OWN = "User parameter:BaseApp/Preferences/Mod/Crankline"
PATCHED = ("getOpenFileName", "getSaveFileName", "getExistingDirectory")

# What a slot raises is printed by PySide and not passed on; the hook makes it visible on the real standard error, where the test finds it.
sys.stdout = sys.__stdout__ = os.fdopen(1, "w", buffering=1, encoding="utf-8", closefd=False)
sys.stderr = sys.__stderr__ = os.fdopen(2, "w", buffering=1, encoding="utf-8", closefd=False)
sys.excepthook = lambda *error: (traceback.print_exception(*error, file=sys.__stderr__), sys.__stderr__.flush())
if HERE not in sys.path:
    sys.path.insert(0, HERE)
window = Gui.getMainWindow()
own_main, files = sys.modules["__main__"], {name: getattr(QtGui.QFileDialog, name) for name in PATCHED}
begun = {}


def flush():
    """Bring out what Python and the host have said."""
    sys.__stdout__.flush()
    sys.__stderr__.flush()
    ctypes.CDLL(None).fflush(None)


def docks():
    return window.findChildren(QtGui.QDockWidget)


def run(path):
    """Run a script; its exit code."""
    main = sys.modules["__main__"] = types.ModuleType("__main__")
    main.__file__ = path
    try:
        # Few frames below it: the host looks through all of them, file by file, for each command that is added.
        with open(path, encoding="utf-8") as file:
            exec(compile(file.read(), path, "exec"), vars(main))
    except SystemExit as error:
        return error.code if isinstance(error.code, int) else int(error.code is not None)
    except BaseException:
        traceback.print_exc(file=sys.__stderr__)
        return 1
    return 0


def tidy():
    """Make the window what it was before the script. A dialog that is still open is the script's fault, or ours."""
    assert QtGui.QApplication.activeModalWidget() is None, "the script leaves a dialog open"
    Gui.Control.closeDialog()
    Gui.Selection.clearSelection()
    for name in App.listDocuments():
        App.closeDocument(name)
    for item in docks():
        if item.objectName() not in begun["docks"]:
            item.hide()
    window.setStyleSheet("")
    QtGui.QApplication.instance().setStyleSheet(begun["style"])
    window.setWindowState(begun["how"])
    window.setGeometry(begun["place"])
    window.restoreState(begun["state"])
    App.ParamGet(OWN).Clear()
    QtGui.QApplication.clipboard().clear()
    for name, function in files.items():
        setattr(QtGui.QFileDialog, name, staticmethod(function))
    Gui.activateWorkbench(begun["workbench"])
    vars(sys.modules["__main__"]).clear()       # timers of its end with it
    sys.modules["__main__"] = own_main
    for name, module in list(sys.modules.items()):
        if name != __name__ and os.path.dirname(getattr(module, "__file__", None) or "") == HERE:
            del sys.modules[name]
    gc.collect()
    for _ in range(20):     # what the script still has to do comes up here, not in the next one
        QtGui.QApplication.processEvents(QtCore.QEventLoop.AllEvents, 20)
        QtCore.QThread.msleep(5)


def serve(job):
    """Run a script, tidy up, answer."""
    for number, name in ((1, "out"), (2, "err")):
        file = os.open(job[name], os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
        os.dup2(file, number)
        os.close(file)
    os.environ.update(job["environment"])
    sys.argv = job["argv"]
    if job["shares"]:
        # What one script's car has built is not built again for the next one's.
        from crankline.features import shared_shapes
        shared_shapes.share()
    code = run(job["argv"][0])
    if code == 0:
        try:
            tidy()
        except BaseException:
            traceback.print_exc(file=sys.__stderr__)
            code = 1
    flush()
    times = os.times()
    os.write(ANSWERS, json.dumps({"code": code, "spent": sum(times[:4])}).encode() + b"\n")


def handed(_descriptor=None):
    """Read one job and run it as soon as the host is back in its own loop; without any more the window ends."""
    text = b""
    while not text.endswith(b"\n"):
        more = os.read(JOBS, 1 << 16)
        if not more:
            os._exit(0)
        text += more
    QtCore.QTimer.singleShot(0, lambda: serve(json.loads(text)))


def begin():
    if size := os.environ["CRANKLINE_TEST_SIZE"]:
        window.showNormal()
        window.resize(*map(int, size.split()))
    begun.update(state=window.saveState(), how=window.windowState(), place=window.geometry(), workbench=Gui.activeWorkbench().name(),
                 docks={item.objectName() for item in docks()}, style=QtGui.QApplication.instance().styleSheet())
    begun["notifier"] = notifier = QtCore.QSocketNotifier(JOBS, QtCore.QSocketNotifier.Read, window)
    notifier.activated.connect(handed)


QtCore.QTimer.singleShot(300, begin)
