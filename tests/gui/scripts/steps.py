"""What the GUI scripts share: finding our widgets, and typing and clicking as a user does."""
import os
import subprocess

import FreeCAD as App
import FreeCADGui as Gui
from PySide import QtCore, QtGui
from window import pump, wait_for

if QtCore.qVersion().startswith("5"):
    from PySide2.QtTest import QTest
else:
    from PySide6.QtTest import QTest


SOON = 60.0
"""s within which what a user sees at once has come, however slow the machine: who waits for it goes on as soon as it is there."""


def in_sight(item):
    """Whether a widget is visible; one that was just deleted, of which the host still hands out the wrapper, is not."""
    try:
        return item.isVisible()
    except RuntimeError:
        return False


def widget(name, kind=QtGui.QWidget):
    """The one visible widget of this object name; 1.1 shows a panel some rounds of its loop after it was asked for."""
    found = []

    def shown():
        found[:] = [item for item in Gui.getMainWindow().findChildren(kind, name) if in_sight(item)]
        return len(found) == 1

    wait_for(shown, SOON)
    assert len(found) == 1, f"{len(found)} visible widgets are called {name}"
    return found[0]


def field(name):
    """A task panel's line for a field of a record."""
    return widget(f"Crankline_{name}", QtGui.QLineEdit)


def type_into(line, text):
    """Replace a line's text by key clicks."""
    line.setFocus()
    line.selectAll()
    QTest.keyClick(line, QtCore.Qt.Key_Delete)
    QTest.keyClicks(line, text)


def type_on_screen(line, text, pump):
    """The same through the X server: a real click on the line, then real keys."""
    where = line.mapToGlobal(line.rect().center())
    subprocess.run(["xdotool", "mousemove", str(where.x()), str(where.y()), "click", "1"], check=True)
    wait_for(lambda: QtGui.QApplication.focusWidget() is line, SOON)
    pump(0.3)
    subprocess.run(["xdotool", "key", "ctrl+a"], check=True)
    wait_for(lambda: line.selectedText() == line.text(), SOON)
    subprocess.run(["xdotool", "type", "--delay", "20", text], check=True)
    wait_for(lambda: line.text() == text, SOON)
    pump(0.1)


def press(role):
    """Click OK or Cancel of the task panel."""
    def shown():
        return [box for box in Gui.getMainWindow().findChildren(QtGui.QDialogButtonBox) if in_sight(box) and box.button(role)]

    wait_for(lambda: len(shown()) == 1, SOON)
    boxes = shown()
    assert len(boxes) == 1, f"{len(boxes)} task panels are open"
    QTest.mouseClick(boxes[0].button(role), QtCore.Qt.LeftButton)


def choose_section(label):
    """Click the row of a section in the list of the car's sections."""
    choose_row("CranklineCarSections", label)


def choose_row(name, label):
    """Click the row with a label in the list of a name; again where the list was filled anew just then, as after a panel was closed."""
    table = widget(name, QtGui.QTreeWidget)
    for _ in range(30):
        item = next(table.topLevelItem(n) for n in range(table.topLevelItemCount()) if table.topLevelItem(n).text(0) == label)
        table.scrollToItem(item)
        QTest.mouseClick(table.viewport(), QtCore.Qt.LeftButton, QtCore.Qt.NoModifier, table.visualItemRect(item).center())
        pump(0.1)
        if table.currentItem() is not None and table.currentItem().text(0) == label:
            return
    raise AssertionError(f"the row {label} of {name} cannot be chosen")


def section_states():
    """The list of the car's sections: label to state."""
    table = widget("CranklineCarSections", QtGui.QTreeWidget)
    return {table.topLevelItem(n).text(0): table.topLevelItem(n).text(1) for n in range(table.topLevelItemCount())}


def figures():
    """The panel's read-out: name to text."""
    prefix = "Crankline_figure_"
    return {label.objectName()[len(prefix):]: label.text() for label in Gui.getMainWindow().findChildren(QtGui.QLabel)
            if label.objectName().startswith(prefix) and label.isVisible()}


def problem():
    """The panel's sentence about wrong input; empty where there is none."""
    labels = [label for label in Gui.getMainWindow().findChildren(QtGui.QLabel, "CranklinePlaceProblem") if label.isVisible()]
    return labels[0].text() if labels else ""


def told(name):
    """What is told beside a field of a task panel; empty where nothing is."""
    labels = [label for label in Gui.getMainWindow().findChildren(QtGui.QLabel, f"Crankline_{name}_problem") if label.isVisible()]
    return labels[0].text() if labels else ""


def rule_states():
    """The rules that the placement panel tells: title to what is said of it."""
    told = widget("CranklineRuleStates", QtGui.QListWidget)
    lines = [told.item(number).text().split("\n") for number in range(told.count())]
    return {rule.strip(): state for state, rule in lines}


def view_point(document, point):
    """Where on the screen a point (mm) of a document is, in its 3-D view."""
    graphics = next(item for item in Gui.getMainWindow().findChildren(QtGui.QWidget)
                    if item.metaObject().className() in ("SIM::Coin3D::Quarter::QuarterWidget", "Gui::View3DInventorViewer"))
    x, y = Gui.getDocument(document.Name).ActiveView.getPointOnScreen(App.Vector(*point))
    return graphics.mapToGlobal(QtCore.QPoint(int(x), graphics.height() - int(y)))


def drag_on_screen(document, point, dx, dy):
    """Drag what is at a point of a document's view through the X server, by pixels."""
    at = view_point(document, point)
    for action in (("mousemove", at.x(), at.y()), ("mousedown", 1),
                   *(("mousemove", at.x() + dx * step // 4, at.y() + dy * step // 4) for step in range(1, 5)), ("mouseup", 1)):
        subprocess.run(["xdotool", *map(str, action)], check=True)
        pump(0.15)
    wait_for(lambda: QtGui.QApplication.mouseButtons() == QtCore.Qt.NoButton, SOON)     # all of it has come through the X server
    pump(0.15)


def preview_nodes(document):
    """How many previews stand in the scene graph of a document's view."""
    from pivy import coin  # noqa: F401 - without it 1.1 hands out no nodes
    graph = Gui.getDocument(document.Name).ActiveView.getSceneGraph()
    return sum(graph.getChild(i).getName().getString() == "CranklinePreview" for i in range(graph.getNumChildren()))


def ours(document):
    """Our objects, by key and name."""
    return sorted((obj for obj in document.Objects if getattr(obj, "Kind", "")), key=lambda obj: (obj.Key, obj.Name))


_weighed = {}
"""Name of an object to its shapes that were weighed, each with what they weigh."""


def weight(name, shape):
    """Volume and area of an object's shape. The same shape, which may stand elsewhere by now, is weighed once."""
    weighed = _weighed.setdefault(name, [])
    for known, told in weighed:
        if shape.isPartner(known):
            return told
    weighed.append((shape, f"{shape.Volume:.9g} {shape.Area:.9g}"))
    return weighed[-1][1]


def state(document):
    """What must be the same after a Cancel or an undo: every property of our objects as text, shapes as volumes, numbers to nine digits (a
    shape that was opened weighs otherwise in the last ones)."""
    found = {}
    for obj in ours(document):
        for name in obj.PropertiesList:
            value = getattr(obj, name)
            if name == "Shape":
                value = None if value.isNull() else f"{weight(obj.Name, value)} {value.Placement}"
            if isinstance(value, float):
                value = f"{value:.9g}"
            if " at 0x" not in str(value):   # 1.x gives a new material object at each reading
                found[f"{obj.Name}.{name}"] = str(value)
    return found


def changed(document, before):
    """Names of the properties that are not what they were."""
    now = state(document)
    return sorted(name for name in set(now) | set(before) if now.get(name) != before.get(name))


def message(action):
    """Run an action that ends in our message box; close the box and return its text."""
    seen = []

    def answer():
        box = QtGui.QApplication.activeModalWidget()
        if box is None or box.objectName() != "CranklineMessage":
            QtCore.QTimer.singleShot(50, answer)
            return
        seen.append(box.text())
        box.accept()

    QtCore.QTimer.singleShot(50, answer)
    action()
    return seen[0] if seen else ""


def colors(path):
    """Number of different colors in a picture, and the share of the commonest one."""
    image = QtGui.QImage(path)
    assert not image.isNull(), path
    counts = {}
    for y in range(0, image.height(), 3):
        for x in range(0, image.width(), 3):
            pixel = image.pixel(x, y)
            counts[pixel] = counts.get(pixel, 0) + 1
    return len(counts), max(counts.values()) / sum(counts.values())


def different_icons(objects):
    """How many different icons the tree shows for these objects."""
    found = set()
    for obj in objects:
        image = obj.ViewObject.Icon.pixmap(32, 32).toImage()
        found.add(tuple(image.pixel(x, y) for x in range(0, image.width(), 2) for y in range(0, image.height(), 2)))
    return len(found)


def kept(name):
    """Path of a picture that the test keeps."""
    return os.path.join(os.environ["CRANKLINE_KEEP"], name)


def rows(table):
    """The texts of a table, row by row."""
    return [[table.item(r, c).text() for c in range(table.columnCount())] for r in range(table.rowCount())]


def click_row(table, number):
    """Click a row of a table where the user would."""
    table.scrollToItem(table.item(number, 0))
    QTest.mouseClick(table.viewport(), QtCore.Qt.LeftButton, QtCore.Qt.NoModifier, table.visualItemRect(table.item(number, 2)).center())


def checked(dock, pump, search=True):
    """Wait until the check of the findings dock, and its search for remedies, has come to its end; without search it is stopped by Cancel
    as soon as everything is checked."""
    for _ in range(6000):
        pump(0.05)
        if not search and dock.busy and dock._run.checked:
            QTest.mouseClick(dock.cancel, QtCore.Qt.LeftButton)
        if not dock.busy:
            pump(0.2)
            return
    raise AssertionError("the check does not end")


def nodes(document, name):
    """How many nodes of this name stand in the scene graph of a document's view."""
    views = Gui.getDocument(document.Name).mdiViewsOfType("Gui::View3DInventor")
    graph = views[0].getSceneGraph()
    return sum(graph.getChild(i).getName().getString() == name for i in range(graph.getNumChildren()))


def answer_dialog(action, answers, screenshot=None):
    """Run an action that asks for a waiver; fill its fields and press OK for each answer in turn. What it says after each."""
    said, left = [], list(answers)

    def answer():
        dialog = QtGui.QApplication.activeModalWidget()
        if not left:
            return
        if dialog is None or dialog.objectName() != "CranklineWaiver":
            QtCore.QTimer.singleShot(50, answer)
            return
        for name, text in left.pop(0).items():
            field = dialog.findChild(QtGui.QWidget, f"CranklineWaiver{name.title().replace(' ', '')}")
            (field.setPlainText if name == "Reason" else field.setText)(text)
        if screenshot is not None and not said:
            dialog.grab().save(kept("waiver_dialog.png"))
        QtCore.QTimer.singleShot(50, answer)
        QTest.mouseClick(dialog.findChild(QtGui.QDialogButtonBox).button(QtGui.QDialogButtonBox.Ok), QtCore.Qt.LeftButton)
        said.append(dialog.findChild(QtGui.QLabel, "CranklineWaiverProblem").text() if dialog.isVisible() else "")

    QtCore.QTimer.singleShot(50, answer)
    action()
    return said
