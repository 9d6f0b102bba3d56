"""A check in the background of a real window: numbers at once, shapes as they come, Cancel, an edit and a closing while it runs,
remedies on request."""
import os
import sys

sys.path.insert(0, os.path.dirname(os.path.abspath(sys.argv[0])))
import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui
from steps import QTest, checked, click_row, rows, widget
from window import pump, report, wait_for

from crankline import checks
from crankline.checks.finding import Looked, State
from crankline.gui import background
from crankline.rules.quantity import QUANTITIES

Gui.activateWorkbench("CranklineWorkbench")
App.openDocument(sys.argv[1])
pump(0.5)
doc = App.ActiveDocument
layout, car = doc.getObject("Layout"), next(obj for obj in doc.Objects if getattr(obj, "Kind", "") == "car")
car.Sets = ["practice", "containment"]
layout.Pitch = 3.0
doc.getObject("Enclosure").OuterDiameter = 4.5 * 25.4
doc.recompute()


def begin():
    """Check by the command; the dock as it is before any further event."""
    Gui.runCommand("Crankline_CheckCar")
    return widget("CranklineFindings", QtGui.QDockWidget)


def told(dock, reason):
    return [item for item in dock.findings if item.reason == reason]


# Numbers are there when the command returns, with the progress of the rest.
dock = begin()
dock.filter.setCurrentIndex(dock.filter.count() - 1)
early = {item.rule: item for item in dock.findings}
report({"busy": dock.busy, "progress": [dock.progress.isVisible(), dock.cancel.isVisible()], "format": dock.progress.format(),
        "pitch": early["PRA-PITCH"].state, "shapes": sum(QUANTITIES[rule.quantity].effort > 0 for rule in dock._run._check._selection.rules
                                                         if rule.id in early and early[rule.id].state != State.NOT_APPLICABLE)})

# A click on Cancel: what was not reached is not evaluated.
QTest.mouseClick(dock.cancel, QtCore.Qt.LeftButton)
pump(0.2)
unreached = told(dock, checks.CANCELED)
report({"busy": dock.busy, "progress": dock.progress.isVisible(), "unreached": len(unreached),
        "states": sorted({item.state for item in unreached}), "listed": sum(row[0] == "not evaluated" for row in rows(dock.table)),
        "kept": early["PRA-PITCH"] in dock.findings or early["PRA-PITCH"].id in {item.id for item in dock.findings}})

# An edit while it runs ends it, without a recompute; the rows are stale.
dock = begin()
layout.Pitch = 2.9
wait_for(lambda: not dock.busy, 60)
pump(0.2)
report({"edited": dock.summary.text(), "unreached": len(told(dock, checks.CANCELED)) > 0, "stale": dock.stale})
layout.Pitch = 3.0
doc.recompute()
pump(0.2)

# The window answers between any two steps of a check: a timer of ours fires each time that the events are looked at.
usual, background.SLICE = background.SLICE, 0.0
ticks, timer = [], QtCore.QTimer()
timer.timeout.connect(lambda: ticks.append(dock.progress.value()))
timer.start(0)
dock = begin()
shares = []
while dock.busy and not dock._run.checked:
    shares.append(dock.progress.value())
    pump(0.02)
between = len(ticks)
checked(dock, pump)
timer.stop()
report({"ticks": between, "grew": shares == sorted(shares) and len(set(shares)) > 3,
        "unreached": len(told(dock, checks.CANCELED)), "progress": dock.progress.isVisible(),
        "looked": sorted({item.looked_for for item in dock.findings if item.unresolved and not item.to_confirm}),
        "remedies": sum(bool(item.remedies) for item in dock.findings)})

# A search that was stopped is taken up on request, for one finding.
dock = begin()
while not dock._run.checked:
    pump(0.02)
QTest.mouseClick(dock.cancel, QtCore.Qt.LeftButton)
pump(0.2)
left = [item for item in dock.findings if item.unresolved and not item.to_confirm and item.looked_for == Looked.NO]
number = next(i for i in range(dock.table.rowCount()) if dock.row(left[-1].id) == i)
click_row(dock.table, number)
pump(0.2)
before = {"details": dock.details.toPlainText(), "enabled": dock.look.isEnabled(), "left": len(left)}
QTest.mouseClick(dock.look, QtCore.Qt.LeftButton)
checked(dock, pump)
now = {item.id: item for item in dock.findings}
report({**before, "after": now[left[-1].id].looked_for, "others": [now[item.id].looked_for for item in left[:-1]],
        "still": dock.look.isEnabled()})

# Closing the document ends it.
dock = begin()
App.closeDocument(doc.Name)
pump(0.3)
report({"closed": [dock.busy, dock.summary.text(), dock.table.rowCount(), dock.progress.isVisible()]})
background.SLICE = usual      # for the scripts that come after
