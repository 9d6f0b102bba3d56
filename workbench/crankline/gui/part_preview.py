"""The preview of parts that are being edited: their edges over the view, no document object, so that Cancel has nothing to undo."""
from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from . import palette
from .overlay import Overlay

DEVIATION = 0.5
"""mm between a curved edge and what is drawn of it."""


class PartPreview(Overlay):
    """Edges of shapes in the car frame, in one view; ``draw`` changes them, ``close`` takes them out."""

    def __init__(self, view, root):
        from pivy import coin
        super().__init__(view, root)
        paint, style = coin.SoBaseColor(), coin.SoDrawStyle()
        paint.rgb.setValue(*palette.preview_powertrain())
        style.lineWidth = 2.0
        self._points, self._lines = coin.SoCoordinate3(), coin.SoLineSet()
        for node in (paint, style, self._points, self._lines):
            self.top.addChild(node)
        self.show(self.top, "CranklinePartPreview")
        self.draw(())

    def draw(self, shapes: Iterable[Any]) -> None:
        """Show the edges of some shapes; nothing happens after ``close``."""
        if self.node is None:
            return
        points: list[tuple[float, float, float]] = []
        counts: list[int] = []
        for edge in (edge for shape in shapes for edge in shape.Edges):
            line = [(p.x, p.y, p.z) for p in edge.discretize(Deflection=DEVIATION)] if edge.Length > 1e-6 else []
            if len(line) > 1:
                points += line
                counts.append(len(line))
        self._points.point.deleteValues(0)
        self._lines.numVertices.deleteValues(0)
        if points:
            self._points.point.setValues(0, len(points), points)
        self._lines.numVertices.setValues(0, max(len(counts), 1), counts or [0])
