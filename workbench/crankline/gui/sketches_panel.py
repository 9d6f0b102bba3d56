"""The panel of the chassis sketches: which sketches the chassis is read from, and which of their elements is what.

A role is chosen in the list and its element is clicked in the view. The document is touched at OK and not before.
"""
from __future__ import annotations

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui

from ..features import read, sketch_roles
from ..units import read_in
from .dock_widgets import push_button
from .finding_marker import set_visible, view_of
from .messages import show_status
from .role_labels import RoleLabels
from .task_panel import TaskPanel, in_error, may_open

VIEWS = {"side": "Side view", "plan": "Plan view"}
HOW = "Choose a role, then click its element in the view. Another click takes the role off."


def show(layout) -> bool:
    """Open the panel; False, with a sentence, where another one is open."""
    if not may_open():
        return False
    panel = SketchesPanel(layout)
    Gui.Control.showDialog(panel)
    panel.list.setFocus()
    return True


class SketchesPanel(TaskPanel):
    """Task panel of a layout's chassis; ``form`` is its widget. ``roles``: view to role to number of its element, as they would be."""

    def __init__(self, layout):
        super().__init__(layout.Document, "CranklineSketchesPanel", "Chassis Sketches", "CranklineSketchesProblem")
        self._layout = layout.Name
        self.roles: dict[str, dict[str, int]] = {}
        self._rows: list[tuple[str, str]] = []
        own = {"side": layout.Chassis.SideSketch, "plan": layout.Chassis.PlanSketch}
        found = [obj for obj in layout.Document.Objects if obj.TypeId.startswith("Sketcher::SketchObject")]
        self._seen: dict[str, bool] | None = {obj.Name: obj.ViewObject.Visibility for obj in found}
        self._looking = ""
        self.choices = {view: self._choice(view, found, own[view]) for view in VIEWS}
        how = QtGui.QLabel(HOW)
        how.setWordWrap(True)
        self.missing = QtGui.QLabel()
        self.missing.setObjectName("CranklineSketchesMissing")
        self.missing.setWordWrap(True)
        self.list = QtGui.QTreeWidget()
        self.list.setObjectName("CranklineSketchRoles")
        self.list.setAccessibleName("Roles of the chassis sketches")
        self.list.setHeaderLabels(["Role", "Element"])
        self.list.setRootIsDecorated(False)
        self.list.setMinimumHeight(380)
        self.list.header().setStretchLastSection(False)
        self.list.header().setSectionResizeMode(0, QtGui.QHeaderView.Stretch)
        self.list.header().setSectionResizeMode(1, QtGui.QHeaderView.ResizeToContents)
        take = push_button("&Take Role Off", "TakeRole", "Takes the chosen role off its element", self._take)
        for widget in (self.problem, how, self.missing, self.list, take):
            self.column.addWidget(widget)
        view = view_of(layout.Document)
        self._labels = RoleLabels(view) if view is not None else None
        self._preview_by(self._labels)
        tubes = [one.name for one in read.car(layout).chassis.tubes or ()]
        for view_name in VIEWS:
            self._read(view_name)
            for role in sketch_roles.roles_of(view_name, tubes):
                row = QtGui.QTreeWidgetItem([f"{role.label} ({view_name})", ""])
                row.setToolTip(0, f"{role.doc[0].upper()}{role.doc[1:]}")
                self.list.addTopLevelItem(row)
                self._rows.append((view_name, role.name))
        self.list.itemSelectionChanged.connect(self._other_role)
        Gui.Selection.addObserver(self)
        self.form.destroyed.connect(self._look_away)
        Gui.Selection.clearSelection()
        self._choose_missing()
        self._look(self._view_in_hand())

    def _choice(self, view: str, found, own):
        row, box = QtGui.QHBoxLayout(), QtGui.QComboBox()
        box.setObjectName(f"CranklineSketch_{view}")
        box.setAccessibleName(VIEWS[view])
        for sketch in found:
            box.addItem(sketch.Label, sketch.Name)
        box.setCurrentIndex(box.findData(own.Name) if own is not None else -1)
        label = QtGui.QLabel(f"{VIEWS[view]}:")
        label.setBuddy(box)
        row.addWidget(label)
        row.addWidget(box, 1)
        self.column.addLayout(row)
        box.currentIndexChanged.connect(lambda *_: self._other_sketch(view))
        return box

    def sketch(self, view: str):
        """The sketch that is chosen for a view; None where none is."""
        name = self.choices[view].currentData()
        return self._object(name) if name else None

    def _read(self, view: str) -> None:
        sketch = self.sketch(view)
        self.roles[view] = sketch_roles.held(sketch, view) if sketch is not None else {}

    def _other_sketch(self, view: str) -> None:
        self._read(view)
        self._choose_missing()
        self._look(self._view_in_hand())

    # --- what is shown ------------------------------------------------------------------------------------------------

    def _refresh(self) -> None:
        """Say of each role which element has it, and name the elements of the view that is looked at. The rows stay the same: they are
        refreshed while one of them is being chosen."""
        labels = []
        for number, (view, name) in enumerate(self._rows):
            sketch, index = self.sketch(view), self.roles[view].get(name)
            role, row = sketch_roles.role(view, name), self.list.topLevelItem(number)
            row.setText(1, f"Element {index + 1}" if index is not None else "Missing" if role.needed else "Not drawn")
            font = row.font(1)
            font.setBold(role.needed and index is None)
            row.setFont(1, font)
            if view == self._looking and index is not None and sketch is not None and index < len(sketch.Geometry):
                labels.append((sketch_roles.place(sketch, index), role.label))
        lacking = [f"{role.label} ({view})" for view in VIEWS for role in sketch_roles.missing(view, self.roles[view])]
        self.missing.setText(f"Missing: {', '.join(lacking)}" if lacking else "Everything that a chassis needs is there")
        if self._labels is not None:
            self._labels.draw(labels)

    def _look(self, view: str) -> None:
        """Show the sketch of a view alone, seen as it is drawn: where both are seen, a click on a line may meet the other's."""
        sketch = self.sketch(view)
        for name in self._seen or {}:
            obj = self._object(name)
            if obj is not None and obj.ViewObject.Visibility is not (obj is sketch):
                set_visible(obj.ViewObject, obj is sketch)
        if view != self._looking:
            self._looking = view
            if (in_view := view_of(App.getDocument(self.document))) is not None:
                in_view.viewFront() if view == "side" else in_view.viewTop()
        self._refresh()

    def _other_role(self) -> None:
        if (chosen := self._chosen()) is not None and chosen[0] != self._looking:
            self._look(chosen[0])

    def _chosen(self) -> tuple[str, str] | None:
        number = self.list.indexOfTopLevelItem(self.list.currentItem()) if self.list.currentItem() is not None else -1
        return self._rows[number] if 0 <= number < len(self._rows) else None

    def _view_in_hand(self) -> str:
        """The view of the role that is chosen."""
        chosen = self._chosen()
        return chosen[0] if chosen is not None else "side"

    def _choose_missing(self) -> None:
        """The first role that is missing in hand; the one that was chosen stays where nothing is."""
        for view in VIEWS:
            for role in sketch_roles.missing(view, self.roles[view]):
                self.list.setCurrentItem(self.list.topLevelItem(self._rows.index((view, role.name))))
                return

    # --- what is done -------------------------------------------------------------------------------------------------

    def addSelection(self, document: str, name: str, element: str, _point=None) -> None:
        """The host calls this for what is clicked in the view."""
        view = next((view for view in VIEWS if self.choices[view].currentData() == name), None)
        if document != self.document or view is None or not element.startswith("Edge"):
            return
        QtCore.QTimer.singleShot(0, lambda: self._clicked(view, element))

    def _clicked(self, view: str, element: str) -> None:
        Gui.Selection.clearSelection()
        sketch, chosen = self.sketch(view), self._chosen()
        index = sketch_roles.element_at(sketch, element) if sketch is not None else None
        if chosen is None or index is None:
            self._say("Choose a role in the list first, then click its element")
            return
        if chosen[0] != view:
            self._say(f"{sketch_roles.role(*chosen).label} is in the {chosen[0]} view, but an element of the {view} view was clicked")
            return
        try:
            self.roles[view] = sketch_roles.toggled(sketch, view, self.roles[view], chosen[1], index)
        except ValueError as error:
            self._say(str(error))
            return
        self._say("")
        self._refresh()
        if chosen[1] in self.roles[view]:
            self._choose_missing()

    def _take(self) -> None:
        if (chosen := self._chosen()) is not None:
            self.roles[chosen[0]].pop(chosen[1], None)
            self._refresh()

    def accept(self) -> bool:
        """OK: the chassis is read from these sketches, one undo step. What is wrong keeps the panel open."""
        layout = self._object(self._layout)
        if layout is None:
            return self._refuse("The car was deleted; cancel")
        try:
            with read_in(str(read.car(layout).car.units)):
                sketch_roles.bind(layout, self.sketch("side"), self.sketch("plan"), self.roles)
        except ValueError as error:
            return self._refuse(" ".join(str(error).split()))
        show_status(in_error(layout) or "The chassis is read from these sketches")
        return self._leave()

    def close(self) -> None:
        """Look no more at what is clicked; what was shown is shown again."""
        self._look_away()
        super().close()

    def _look_away(self, *_ignored) -> None:
        if self._seen is not None:
            Gui.Selection.removeObserver(self)
            for name, visible in self._seen.items():
                obj = self._object(name)
                if obj is not None and obj.ViewObject.Visibility is not visible:
                    set_visible(obj.ViewObject, visible)
            self._seen = None
