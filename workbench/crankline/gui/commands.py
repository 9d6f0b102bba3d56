"""The workbench's commands. Each is thin: what it does is done by the panels, by ``actions``, and by the packages below."""
from __future__ import annotations

import os

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui

import crankline

from .translation import translate

PREFIX = "Crankline_"


class Command:
    """One command. A subclass gives texts and ``run``; what ``run`` raises becomes a message box with one sentence."""

    name = text = tip = icon = keys = what = ""
    """keys: its shortcut, none of the host's; what: what *What's this* says after the tip. The host translates text, tip and what in the
    context of the command's name."""
    needs_car = True
    opens_panel = False
    """Whether it opens a panel, of which there is one at a time."""

    def GetResources(self) -> dict[str, str]:
        found = {"MenuText": self.text, "ToolTip": self.tip, "WhatsThis": f"{self.tip}. {self.what}",
                 "Pixmap": os.path.join(crankline.ROOT, "icons", f"{self.icon}.svg")}
        return {**found, "Accel": self.keys} if self.keys else found

    def IsActive(self) -> bool:
        if self.opens_panel and Gui.Control.activeDialog():
            return False
        if not self.needs_car:
            return True
        document = App.ActiveDocument
        # Asked several times a second: the host looks through its objects by type, we look at the few of that type.
        return document is not None and any(getattr(obj, "Kind", "") == "layout"
                                            for obj in document.findObjects("App::FeaturePython"))

    def Activated(self, _index: int = 0) -> None:
        from . import own_catalog
        from .messages import attempt
        own_catalog.take()
        attempt(self.text.rstrip("…"), self.run)

    def run(self) -> None:
        """What the command does; exceptions are told to the user."""
        raise NotImplementedError


class ExampleCar(Command):
    name, icon, needs_car = "ExampleCar", "example_car", False
    text = "Example Car"
    tip = "Creates a document with an invented car: chassis, placed powertrain, mounts and containment"
    what = "Every number of it is invented. Use it to try things out, or as a pattern for a car file."

    def run(self) -> None:
        from . import actions
        actions.example_car()


class StartCar(Command):
    name, icon, keys, needs_car = "StartCar", "start_car", "Q, S", False
    opens_panel = True
    text = "Start Car…"
    tip = "Begins a car from what is known before anything is drawn: chassis rails, rear end, engine, transmission and placement"
    what = ("Asks for rails, rear end, engine, transmission and the three placement numbers. OK makes the two chassis sketches and the "
            "placed powertrain; the list under Car leads through what comes next.")

    def run(self) -> None:
        from . import car_dock, start_panel
        start_panel.show(car_dock.show)


class OpenCarFile(Command):
    name, icon, needs_car = "OpenCarFile", "open_car_file", False
    text = "Open Car File…"
    tip = "Creates a document from a car file"
    what = "A car file is text with a unit at every length. What is wrong in it is told with its line."

    def run(self) -> None:
        from . import actions
        path = ask_file(translate("Crankline", "Open Car File"))
        if path:
            actions.open_car_file(path)


class PlacePowertrain(Command):
    name, icon, keys = "PlacePowertrain", "place_powertrain", "Q, P"
    opens_panel = True
    text = "Place Powertrain…"
    tip = "Sets the engine and transmission by axle-to-block, crank height and pitch"
    what = ("Type axle-to-block, crank height and pitch; the drawing in the view follows, and nothing in the document changes "
            "before OK. OK is one undo step.")

    def run(self) -> None:
        from . import actions, editing
        editing.place_powertrain(actions.current_layout())


class PlacementWindow(Command):
    name, icon, keys = "PlacementWindow", "placement_window", "Q, W"
    opens_panel = True
    text = "Placement Window…"
    tip = "Shows where the powertrain may go: allowed placements, the rule that binds on each edge, and placement records"
    what = ("Click a placement in the chart, or step by the arrow keys: the powertrain is drawn there, with its numbers and rules. OK "
            "places it as one undo step.")

    def run(self) -> None:
        from . import actions, window_panel
        window_panel.show(actions.current_layout())


class AsBuiltFit(Command):
    name, icon, keys = "AsBuiltFit", "as_built_fit", "Q, B"
    opens_panel = True
    text = "As-Built Fit…"
    tip = "Takes readings of the real car and says where the powertrain is, what passes there and what to move"
    what = ("Type what tape, plumb bob and level read, or open a readings file. OK keeps the placement as built beside the one as "
            "designed, and shows either.")

    def run(self) -> None:
        from . import actions, fit_panel
        fit_panel.show(actions.current_layout())


class CarSections(Command):
    name, icon, keys, needs_car = "Car", "car", "Q, C", False
    text = "Car"
    tip = "Shows or hides the list of the car's sections, from which parts are added, edited and removed"
    what = ("The sections are in the order of work, each with its state: there, not there yet, with findings or in error. Add, "
            "edit, duplicate and remove parts here.")

    def run(self) -> None:
        from . import car_dock
        car_dock.toggle()


class ChassisSketches(Command):
    name, icon, keys = "ChassisSketches", "chassis_sketches", "Q, D"
    opens_panel = True
    text = "Chassis Sketches…"
    tip = "Reads the chassis from sketches of this document: which sketches, and which of their elements is what"
    what = ("Choose a role in the list, then click its element in the view; another click takes the role off. OK reads the chassis from "
            "these sketches, which stay where they are.")

    def run(self) -> None:
        from . import actions, sketches_panel
        sketches_panel.show(actions.current_layout())


class _OnPart(Command):
    """A command for the part that is selected."""
    opens_panel = True

    def IsActive(self) -> bool:
        return super().IsActive() and self._chosen() is not None

    @staticmethod
    def _chosen():
        found = [obj for obj in Gui.Selection.getSelection() if getattr(obj, "Kind", "") not in ("", "container")]
        return found[0] if len(found) == 1 else None


class EditPart(_OnPart):
    name, icon, keys = "EditPart", "edit_part", "Q, Q"
    text = "Edit Part…"
    tip = "Edits the selected part"
    what = ("Opens the form of the section that the part belongs to, with a preview in the view. A double click on the part does "
            "the same.")

    def run(self) -> None:
        from . import editing
        editing.edit_object(self._chosen())


class DuplicatePart(_OnPart):
    name, icon = "DuplicatePart", "duplicate_part"
    text = "Duplicate Part"
    tip = "Adds another loop, header box, mass or protective item like the selected one to the same car"
    what = "The copy belongs to the same car, under a name of its own, in the place of the first one: edit it next."

    def run(self) -> None:
        from . import editing
        editing.on_object(self._chosen(), editing.duplicate)


class RemovePart(_OnPart):
    name, icon = "RemovePart", "remove_part"
    text = "Remove Part…"
    tip = "Takes the selected part, and what is made for it, out of the car"
    what = "Says first what goes with it. It can be undone."

    def run(self) -> None:
        from . import editing
        editing.on_object(self._chosen(), editing.remove)


class OwnCatalog(Command):
    name, icon, needs_car = "OwnCatalog", "own_catalog", False
    text = "Your Own Catalog…"
    tip = "Shows engines, transmissions and tubes to pick from, and keeps those of your own"
    what = "Rows of your own say where their figures come from and when they were taken; a car keeps what it uses of them."

    def run(self) -> None:
        from . import own_catalog_dialog
        own_catalog_dialog.show()


class CheckCar(Command):
    name, icon, keys = "CheckCar", "check_car", "Q, K"
    text = "Check Car"
    tip = "Recomputes the document, checks it against the rules and lists the findings"
    what = ("Findings that follow from numbers are there at once; those that are measured on shapes follow, then what would clear "
            "them. A check is only an aid: the current rule book, the chassis inspector and a qualified welder decide.")

    def run(self) -> None:
        from . import actions, findings_dock
        findings_dock.check_car(actions.current_layout())


class Findings(Command):
    name, icon, keys = "Findings", "findings", "Q, F"
    text = "Findings"
    tip = "Shows or hides the list of findings of the last check"
    what = ("Click a row to see its parts and its place in the view. State and severity are told by words and by the shape of their "
            "marks.")

    def run(self) -> None:
        from . import findings_dock
        findings_dock.toggle()


class Export(Command):
    name, icon, keys = "Export", "export", "Q, E"
    opens_panel = True
    text = "Export…"
    tip = "Writes sheets, flat patterns, STEP, car file and findings to a folder"
    what = ("Choose what to write and where to, and say once who drew it, who approved it, the date, the revision and the drawing number: "
            "the title block of the sheets shows them. A part in error is not exported; a sentence names it.")

    def run(self) -> None:
        from . import actions, export_panel
        export_panel.show(actions.current_layout())


class Rebuild(Command):
    name, icon = "Rebuild", "build"
    text = "Rebuild Shapes"
    tip = "Rebuilds every shape of the car, including those edited by hand"
    what = "Use it after a shape was edited by hand, or to be sure that every shape is fresh."

    def run(self) -> None:
        from . import actions
        actions.rebuild(actions.current_layout())


class RepairDocument(Command):
    name, icon = "RepairDocument", "repair_document"
    text = "Repair Document"
    tip = "Relinks objects that were saved while Crankline was not installed"
    what = "Use it for a document that was saved on a computer without Crankline, or by an older version."

    def run(self) -> None:
        from . import actions
        actions.repair_document(App.ActiveDocument)


class Help(Command):
    name, icon, keys, needs_car = "Help", "help", "Q, H", False
    text = "Crankline Help"
    tip = "Shows how a car is laid out, checked and exported"
    what = "A page with pictures; it needs no connection."

    def run(self) -> None:
        from . import help_page
        help_page.show()


COMMANDS = (StartCar, ExampleCar, OpenCarFile, None, CarSections, ChassisSketches, PlacePowertrain, PlacementWindow, EditPart,
            DuplicatePart, RemovePart, OwnCatalog, None, CheckCar, Findings, AsBuiltFit, None, Export, None, Rebuild, RepairDocument, Help)
"""In the order of toolbar and menu; None is a separator."""


def register() -> list[str]:
    """Make the commands known to the host; their names in the order of toolbar and menu."""
    names = []
    for cls in COMMANDS:
        if cls is None:
            names.append("Separator")
            continue
        Gui.addCommand(PREFIX + cls.name, cls())
        names.append(PREFIX + cls.name)
    return names


def ask_file(title: str) -> str:
    """Ask for a car file to read, with the ordinary cursor meanwhile; empty where the user cancels."""
    QtGui.QApplication.setOverrideCursor(QtGui.QCursor(QtCore.Qt.ArrowCursor))
    try:
        answer = QtGui.QFileDialog.getOpenFileName(Gui.getMainWindow(), title, "", translate("Crankline", "Car files (*.yaml *.yml)"))
    finally:
        QtGui.QApplication.restoreOverrideCursor()
    return answer[0] if isinstance(answer, tuple) else answer
