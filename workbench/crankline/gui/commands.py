"""The workbench's commands. Each is thin: what it does is done by the panels, by ``actions``, and by the packages below."""
from __future__ import annotations

import os

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui

import crankline

PREFIX = "Crankline_"


class Command:
    """One command. A subclass gives texts and ``run``; what ``run`` raises becomes a message box with one sentence."""

    name = text = tip = icon = ""
    needs_car = True

    def GetResources(self) -> dict[str, str]:
        own = os.path.join(crankline.ROOT, "icons", f"{self.icon}.svg")
        return {"MenuText": self.text, "ToolTip": self.tip, "Pixmap": own if os.path.isfile(own) else self.icon}

    def IsActive(self) -> bool:
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

    def run(self) -> None:
        from . import actions
        actions.example_car()


class StartCar(Command):
    name, icon, needs_car = "StartCar", "start_car", False
    text = "Start Car…"
    tip = "Begins a car from what is known before anything is drawn: chassis rails, rear end, engine, transmission and placement"

    def IsActive(self) -> bool:
        return not Gui.Control.activeDialog()

    def run(self) -> None:
        from . import start_panel
        start_panel.show()


class OpenCarFile(Command):
    name, icon, needs_car = "OpenCarFile", "document-open", False
    text = "Open Car File…"
    tip = "Creates a document from a car file"

    def run(self) -> None:
        from . import actions
        path = ask_file("Open Car File", open_=True)
        if path:
            actions.open_car_file(path)


class WriteCarFile(Command):
    name, icon = "WriteCarFile", "document-save-as"
    text = "Write Car File…"
    tip = "Writes the car of the document as a car file"

    def run(self) -> None:
        from . import actions
        layout = actions.current_layout()
        path = ask_file("Write Car File", open_=False)
        if path:
            actions.write_car_file(layout, path)


class PlacePowertrain(Command):
    name, icon = "PlacePowertrain", "place_powertrain"
    text = "Place Powertrain…"
    tip = "Sets the engine and transmission by axle-to-block, crank height and pitch"

    def IsActive(self) -> bool:
        return super().IsActive() and not Gui.Control.activeDialog()

    def run(self) -> None:
        from . import actions, editing
        editing.place_powertrain(actions.current_layout())


class CarSections(Command):
    name, icon, needs_car = "Car", "car", False
    text = "Car"
    tip = "Shows or hides the list of the car's sections, from which parts are added, edited and removed"

    def run(self) -> None:
        from . import car_dock
        car_dock.toggle()


class _OnPart(Command):
    """A command for the part that is selected."""

    def IsActive(self) -> bool:
        return super().IsActive() and not Gui.Control.activeDialog() and self._chosen() is not None

    @staticmethod
    def _chosen():
        found = [obj for obj in Gui.Selection.getSelection() if getattr(obj, "Kind", "") not in ("", "container")]
        return found[0] if len(found) == 1 else None


class EditPart(_OnPart):
    name, icon = "EditPart", "edit_part"
    text = "Edit Part…"
    tip = "Edits the selected part"

    def run(self) -> None:
        from . import editing
        editing.edit_object(self._chosen())


class DuplicatePart(_OnPart):
    name, icon = "DuplicatePart", "duplicate_part"
    text = "Duplicate Part"
    tip = "Adds another loop, header box, mass or protective item like the selected one to the same car"

    def run(self) -> None:
        from . import editing
        editing.on_object(self._chosen(), editing.duplicate)


class RemovePart(_OnPart):
    name, icon = "RemovePart", "remove_part"
    text = "Remove Part…"
    tip = "Takes the selected part, and what is made for it, out of the car"

    def run(self) -> None:
        from . import editing
        editing.on_object(self._chosen(), editing.remove)


class OwnCatalog(Command):
    name, icon, needs_car = "OwnCatalog", "own_catalog", False
    text = "Your Own Catalog…"
    tip = "Shows engines, transmissions and tubes to pick from, and keeps those of your own"

    def run(self) -> None:
        from . import own_catalog_dialog
        own_catalog_dialog.show()


class CheckCar(Command):
    name, icon = "CheckCar", "check_car"
    text = "Check Car"
    tip = "Recomputes the document, checks it against the rules and lists the findings"

    def run(self) -> None:
        from . import actions, findings_dock
        findings_dock.check_car(actions.current_layout())


class Findings(Command):
    name, icon = "Findings", "findings"
    text = "Findings"
    tip = "Shows or hides the list of findings of the last check"

    def run(self) -> None:
        from . import findings_dock
        findings_dock.toggle()


class WriteSheets(Command):
    name, icon = "WriteSheets", "sheets"
    text = "Write Sheets…"
    tip = "Writes the side view and the flat patterns to a folder"

    def run(self) -> None:
        from . import actions
        layout = actions.current_layout()
        folder = ask_folder("Folder for the Sheets")
        if folder:
            actions.write_sheets(layout, folder)


class Rebuild(Command):
    name, icon = "Rebuild", "build"
    text = "Rebuild Shapes"
    tip = "Rebuilds every shape of the car, including those edited by hand"

    def run(self) -> None:
        from . import actions
        actions.rebuild(actions.current_layout())


class RepairDocument(Command):
    name, icon = "RepairDocument", "repair_document"
    text = "Repair Document"
    tip = "Relinks objects that were saved while Crankline was not installed"

    def run(self) -> None:
        from . import actions
        actions.repair_document(App.ActiveDocument)


COMMANDS = (StartCar, ExampleCar, OpenCarFile, None, CarSections, PlacePowertrain, EditPart, DuplicatePart, RemovePart, OwnCatalog, None,
            CheckCar, Findings, None, WriteSheets, WriteCarFile, None, Rebuild, RepairDocument)
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


def ask_file(title: str, open_: bool) -> str:
    """Ask for a car file to read or to write; empty where the user cancels."""
    window, kinds = Gui.getMainWindow(), "Car files (*.yaml *.yml)"
    dialog = QtGui.QFileDialog.getOpenFileName if open_ else QtGui.QFileDialog.getSaveFileName
    path = _ask_path(dialog, window, title, "", kinds)
    return path if not path or open_ or path.lower().endswith((".yaml", ".yml")) else f"{path}.yaml"


def ask_folder(title: str) -> str:
    """Ask for a folder; empty where the user cancels."""
    return _ask_path(QtGui.QFileDialog.getExistingDirectory, Gui.getMainWindow(), title)


def _ask_path(dialog, *arguments) -> str:
    """A dialog's answer, with the ordinary cursor while it is open."""
    QtGui.QApplication.setOverrideCursor(QtGui.QCursor(QtCore.Qt.ArrowCursor))
    try:
        answer = dialog(*arguments)
    finally:
        QtGui.QApplication.restoreOverrideCursor()
    return answer[0] if isinstance(answer, tuple) else answer
