"""Names of the roles beside the elements that have them, in the 3-D view: nodes of the scene graph, nothing in the document."""
from __future__ import annotations

from collections.abc import Iterable

import FreeCAD as App

from . import palette
from .overlay import Overlay

NAME = "CranklineRoles"


class RoleLabels(Overlay):
    """Labels in one view, in the frame of the document; ``draw`` changes them, ``close`` takes them out."""

    def __init__(self, view):
        from pivy import coin
        super().__init__(view, App.Placement())
        paint, font = coin.SoBaseColor(), coin.SoFont()
        paint.rgb.setValue(*palette.preview_powertrain())
        font.name, font.size = "sans:Bold", 15.0
        self._labels = coin.SoGroup()
        for node in (paint, font, self._labels):
            self.top.addChild(node)
        self.show(self.top, NAME)

    def draw(self, labels: Iterable[tuple[App.Vector, str]]) -> None:
        """Show labels: (where, what); nothing happens after ``close``."""
        from pivy import coin
        if self.node is None:
            return
        self._labels.removeAllChildren()
        for at, words in labels:
            one, move, text = coin.SoSeparator(), coin.SoTranslation(), coin.SoText2()
            move.translation.setValue(at.x, at.y, at.z)
            text.string.setValues(0, 2, [f" {words}", ""])      # beside the element, and a line over it
            for node in (move, text):
                one.addChild(node)
            self._labels.addChild(one)
