"""What a script in FreeCAD's window is given: time for the window to live, the way to report, the screen as a picture.

The folder of this file is on the path of every script that ``conftest`` runs in a window.
"""
import json
import os
import subprocess

from PySide import QtCore, QtGui


def pump(seconds=0.05):
    """Let the window live for this time, and until its event loop has gone round as often as it does in it on an idle machine."""
    _live(seconds, lambda: False)


def wait_for(condition, seconds=600.0):
    """Let the window live until the condition holds; whether it came to hold. The time is that after which it is taken never to."""
    return _live(seconds, condition) or bool(condition())


def _live(seconds, condition):
    clock, rounds = QtCore.QElapsedTimer(), 0
    clock.start()
    while clock.elapsed() < seconds * 1000.0 or rounds < min(seconds, 10.0) * 100.0:
        if condition():
            return True
        QtGui.QApplication.processEvents(QtCore.QEventLoop.AllEvents, 20)
        QtCore.QThread.msleep(5)
        rounds += 1
    return False


def report(value):
    """Hand a JSON value to the test."""
    with open(os.environ["CRANKLINE_TEST_REPORT"], "a", encoding="utf-8") as file:
        file.write(json.dumps(value) + "\n")


def screenshot(path):
    """Write the whole screen, dialogs and the 3D view included, as PNG, if the pictures of this run are kept."""
    pump(0.2)
    if os.environ["CRANKLINE_TEST_KEPT"]:
        subprocess.run(["import", "-window", "root", os.path.join(os.environ["CRANKLINE_KEEP"], path)], check=True)
