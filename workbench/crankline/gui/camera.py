"""Looking at a car: the host fits a ball around everything, which leaves a long car small in a wide window."""
from __future__ import annotations

from collections.abc import Iterable

import FreeCAD as App

ISOMETRIC = App.Rotation(0.424708, 0.17592, 0.339851, 0.820473)
"""From the front right above, the host's own isometric view."""


def isometric(view, objects: Iterable, size: tuple[int, int] | None = None, margin: float = 1.06) -> None:
    """Look at objects with shapes from the front right above, so that they just fill the view (or a picture of a size)."""
    boxes = [obj.Shape.BoundBox for obj in objects if not obj.Shape.isNull()]
    if not boxes:
        view.viewIsometric()
        view.fitAll()
        return
    from pivy import coin  # noqa: F401 - without it the host cannot hand out nodes (1.x)
    # Not viewIsometric: it may move the camera in steps, which would go on after us.
    camera = view.getCameraNode()
    camera.orientation.setValue(*ISOMETRIC.Q)
    across, up, toward = (ISOMETRIC.multVec(App.Vector(*axis)) for axis in ((1, 0, 0), (0, 1, 0), (0, 0, 1)))
    corners = [App.Vector(x, y, z) for box in boxes for x in (box.XMin, box.XMax) for y in (box.YMin, box.YMax)
               for z in (box.ZMin, box.ZMax)]
    spans = [(min(values), max(values)) for values in ([corner.dot(axis) for corner in corners] for axis in (across, up, toward))]
    center = App.Vector()
    for (low, high), axis in zip(spans, (across, up, toward)):
        center += axis * ((low + high) / 2.0)
    width, height, depth = (high - low for low, high in spans)
    screen_width, screen_height = size or view.getSize()
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
