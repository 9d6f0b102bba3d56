"""Where the finding is that is looked at: its parts are selected and shown, its points marked; parts that are selected mark their rows."""
from __future__ import annotations

from typing import Any

import FreeCAD as App
import FreeCADGui as Gui

from ..checks.finding import Finding
from ..features import read
from . import finding_marker
from . import finding_words as words


class FindingPlace:
    """What is shown for the row of a table as long as it is looked at; ``hide`` takes it back."""

    def __init__(self, table: Any):
        self._table = table
        self._own: frozenset[str] = frozenset()
        self._marker: Any = None
        self._shown: Any = None

    def show(self, layout: Any, finding: Finding, system: str, fresh: bool) -> None:
        """Show the parts of a finding and, where it is ``fresh``, mark its points, unless that is done already."""
        if self._shown is not None:
            return
        containers, objects = read.containers(layout), _objects(layout, finding)
        self._shown = finding_marker.Shown([*finding_marker.holders(containers, objects), *objects])
        view = finding_marker.view_of(layout.Document)
        if view is not None and finding.points and fresh:
            root = next((part.Placement for part in containers if part.Key == "root"), App.Placement())
            self._marker = finding_marker.Marker(view, root, finding.points, words.number(finding.measured, finding.unit, system))

    def select(self, layout: Any, finding: Finding, system: str, fresh: bool, seen: bool) -> None:
        """Select the parts of a finding, once they are shown where it is ``seen``: what is hidden while it is selected does not look
        selected afterwards."""
        objects = _objects(layout, finding)
        self._own = frozenset(obj.Name for obj in objects)
        if seen:
            self.show(layout, finding, system, fresh)
        Gui.Selection.clearSelection(layout.Document.Name)
        for obj in objects:
            Gui.Selection.addSelection(layout.Document.Name, obj.Name)

    def hide(self) -> None:
        """Take the marks out of the view and hide again what was hidden."""
        marker, self._marker = self._marker, None
        shown, self._shown = self._shown, None
        for held in (marker, shown):
            if held is not None:
                held.close()

    def forget(self) -> None:
        """What was shown went with its document."""
        self._marker = self._shown = None

    def mark_rows(self, layout: Any) -> None:
        """Mark the rows about the parts that are selected in the view or in the tree."""
        chosen = Gui.Selection.getSelection(layout.Document.Name)
        if frozenset(obj.Name for obj in chosen) == self._own:
            chosen = ()   # the row's own parts
        else:
            self._own = frozenset()
        self._table.mark({obj.Key for obj in chosen if getattr(obj, "Kind", "") and getattr(obj, "Key", "")})


def _objects(layout: Any, finding: Finding) -> list[Any]:
    return [obj for obj in read.members(layout) if obj.Key in finding.subjects]
