"""Looking at a car: the host fits a ball around everything, which leaves a long car small in a wide window."""
from __future__ import annotations

from typing import Iterable

import FreeCAD as App


def isometric(view, objects: Iterable, margin: float = 1.06) -> None:
    """Look at objects with shapes from the front right above, so that they just fill the view."""
    view.viewIsometric()
    boxes = [obj.Shape.BoundBox for obj in objects if not obj.Shape.isNull()]
    if not boxes:
        view.fitAll()
        return
    # viewIsometric may move the camera in steps; its end is set here at once.
    camera, turn = view.getCameraNode(), App.Rotation(*view.getCameraOrientation().Q)
    across, up, toward = (turn.multVec(App.Vector(*axis)) for axis in ((1, 0, 0), (0, 1, 0), (0, 0, 1)))
    corners = [App.Vector(x, y, z) for box in boxes for x in (box.XMin, box.XMax) for y in (box.YMin, box.YMax)
               for z in (box.ZMin, box.ZMax)]
    spans = [(min(values), max(values)) for values in ([corner.dot(axis) for corner in corners] for axis in (across, up, toward))]
    center = App.Vector()
    for (low, high), axis in zip(spans, (across, up, toward)):
        center += axis * ((low + high) / 2.0)
    width, height, depth = (high - low for low, high in spans)
    screen_width, screen_height = view.getSize()
    tall = max(height, width * screen_height / max(screen_width, 1)) * margin
    if not hasattr(camera, "height"):   # a perspective camera has no height
        view.fitAll()
        return
    camera.height.setValue(tall)
    eye = center + toward * (depth + tall)
    camera.position.setValue(eye.x, eye.y, eye.z)
    camera.focalDistance.setValue(depth + tall)
    camera.nearDistance.setValue(1.0)
    camera.farDistance.setValue(3.0 * (depth + tall))
