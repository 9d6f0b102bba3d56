"""Draws a chassis as a user would, gives its elements their roles by clicks in the view, and binds a car to it."""
import os
import subprocess

import FreeCAD as App
import FreeCADGui as Gui
import Part
from PySide import QtGui
from steps import SOON, changed, choose_row, nodes, press, section_states, state, view_point, widget
from window import pump, report, screenshot, wait_for

import crankline
from crankline.features import read
from crankline.gui import actions

OK, CANCEL = QtGui.QDialogButtonBox.Ok, QtGui.QDialogButtonBox.Cancel
LINES = {"track": ((-600, 0), (3200, 0)), "main_rail": ((-400, 112), (3000, 112)), "pinion": ((60, 345), (267, 334))}
PLAN = {"rail_left": ((-400, 336), (3000, 336)), "rail_right": ((-400, -336), (3000, -336))}
Gui.activateWorkbench("CranklineWorkbench")
# All of the screen, so that what is clicked and dragged stands apart.
Gui.getMainWindow().setGeometry(QtGui.QApplication.primaryScreen().geometry())
pump(0.5)


def drawn(document):
    side, plan = (document.addObject("Sketcher::SketchObject", name) for name in ("MySide", "MyPlan"))
    side.Placement = App.Placement(App.Vector(), App.Rotation(App.Vector(1, 0, 0), 90))
    for sketch, lines in ((side, LINES), (plan, PLAN)):
        for start, end in lines.values():
            sketch.addGeometry(Part.LineSegment(App.Vector(*start, 0), App.Vector(*end, 0)), False)
    side.addGeometry(Part.Circle(App.Vector(0, 406.4, 0), App.Vector(0, 0, 1), 60.0), False)
    side.addGeometry(Part.Circle(App.Vector(600, 140, 0), App.Vector(0, 0, 1), 60.0), False)
    document.recompute()
    return side, plan


def click(point):
    """A click in the view where a point of the document is, through the X server, until the panel has told what came of it."""
    at, before = view_point(doc, point), answered()
    subprocess.run(["xdotool", "mousemove", str(at.x() - 12), str(at.y() - 12), "mousemove", str(at.x()), str(at.y())], check=True)
    pump(0.3)
    subprocess.run(["xdotool", "click", "1"], check=True)
    assert wait_for(lambda: answered() != before, SOON), f"nothing came of a click at {point}: {before}"
    pump(0.1)


def answered():
    """What the panel says, and which element has which role."""
    table = widget("CranklineSketchRoles", QtGui.QTreeWidget)
    return said(), [table.topLevelItem(n).text(1) for n in range(table.topLevelItemCount())]


def choose(label):
    """Choose a role, and let the view turn to where its elements are drawn."""
    choose_row("CranklineSketchRoles", label)
    assert turned(*((0, 1, 0) if "(side)" in label else (0, 0, -1))), label


def turned(*direction):
    """Wait until one looks along a direction: 1.x turns its view by and by."""
    return wait_for(lambda: (Gui.ActiveDocument.ActiveView.getViewDirection() - App.Vector(*direction)).Length < 1e-6, SOON)


def opened():
    Gui.runCommand("Crankline_ChassisSketches")
    pump(0.3)
    for view, name in (("side", "MySide"), ("plan", "MyPlan")):
        box = widget(f"CranklineSketch_{view}", QtGui.QComboBox)
        box.setCurrentIndex(box.findText(name))
    pump(0.2)


def said():
    labels = [one for one in Gui.getMainWindow().findChildren(QtGui.QLabel, "CranklineSketchesProblem") if one.isVisible()]
    return labels[0].text() if labels else ""


def labels():
    """How many labels the view shows."""
    from pivy import coin
    search = coin.SoSearchAction()
    search.setType(coin.SoText2.getClassTypeId())
    search.setInterest(coin.SoSearchAction.ALL)
    graph = Gui.ActiveDocument.ActiveView.getSceneGraph()
    found = [graph.getChild(i) for i in range(graph.getNumChildren()) if graph.getChild(i).getName().getString() == "CranklineRoles"]
    if not found:
        return 0
    search.apply(found[0])
    return search.getPaths().getLength()


def give_all():
    choose("Rear axle (side)")
    Gui.SendMsgToActiveView("ViewFit")
    pump(0.3)
    click((0, 0, 466.4))
    for start, end in LINES.values():
        at = [0.75 * a + 0.25 * b for a, b in zip(start, end)]
        click((at[0], 0, at[1]))
    assert turned(0, 0, -1)
    Gui.SendMsgToActiveView("ViewFit")
    pump(0.3)
    for start, end in PLAN.values():
        at = [0.75 * a + 0.25 * b for a, b in zip(start, end)]
        click((*at, 0))


actions.open_car_file(os.path.join(crankline.ROOT, "demo_assemblies", "minimal.yaml"))
pump(0.5)
doc = App.ActiveDocument
layout = read.only_layout(doc)
for obj in read.members(layout):
    if obj.TypeId == "Part::FeaturePython":
        obj.ViewObject.Visibility = False
for obj in (layout.Chassis.SideSketch, layout.Chassis.PlanSketch):
    obj.ViewObject.Visibility = False
side, plan = drawn(doc)
Gui.ActiveDocument.ActiveView.viewFront()
assert turned(0, 1, 0)
Gui.SendMsgToActiveView("ViewFit")
pump(0.5)
before = state(doc)
opened()
table = widget("CranklineSketchRoles", QtGui.QTreeWidget)
report({"missing": widget("CranklineSketchesMissing", QtGui.QLabel).text(), "chosen": table.currentItem().text(0)})
choose("Main rail (side)")
click((0, 0, 466.4))
report({"problem": said()})
screenshot("chassis_sketches_wrong.png")
press(OK)
pump(0.3)
report({"refused": said()})
choose("Rear axle (side)")
click((0, 0, 466.4))
press(CANCEL)
pump(0.3)
report({"canceled": changed(doc, before), "labels": nodes(doc, "CranklineRoles"),
        "visible": [obj.Name for obj in doc.Objects if obj.TypeId.startswith("Sketcher") and obj.ViewObject.Visibility]})
opened()
give_all()
screenshot("chassis_sketches_plan.png")
choose("Rear cross member (side)")
click((600, 0, 200))
screenshot("chassis_sketches.png")
report({"missing": widget("CranklineSketchesMissing", QtGui.QLabel).text(), "labels": labels(), "document": changed(doc, before),
        "visible": [obj.Name for obj in doc.Objects if obj.TypeId.startswith("Sketcher") and obj.ViewObject.Visibility]})
Gui.runCommand("Crankline_Car")
press(OK)
pump(0.6)
report({"open": bool(Gui.Control.activeDialog()), "undo": list(doc.UndoNames), "said": said(), "labels": nodes(doc, "CranklineRoles"),
        "sketches": [layout.Chassis.SideSketch.Name, layout.Chassis.PlanSketch.Name],
        "rail height": read.car(layout).chassis.rails.height, "states": section_states()})
Gui.ActiveDocument.ActiveView.viewIsometric()
screenshot("chassis_sketches_bound.png")
doc.undo()
pump(0.3)
report({"sketches": [layout.Chassis.SideSketch.Name, layout.Chassis.PlanSketch.Name]})
