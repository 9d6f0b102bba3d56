"""The preview of a placement: nodes in the view's scene graph, no document object, so that Cancel has nothing to undo.

Block, crank line, mid plate, driveshaft line and joints, drawn over the parts, and the handles of the numbers where there are some. pivy is
imported when a panel opens, not before.
"""
from __future__ import annotations

import math

from ..mechanics.scene import Scene
from . import palette
from .handles import Handles
from .overlay import Overlay

_BOX = ((0, 0, 0), (0, 0, 1), (0, 1, 0), (0, 1, 1), (1, 0, 0), (1, 0, 1), (1, 1, 0), (1, 1, 1))
_EDGES = ((0, 1, 3, 2, 0), (4, 5, 7, 6, 4), (0, 4), (1, 5), (2, 6), (3, 7))


class Preview(Overlay):
    """Nodes that show one scene in one view; ``update`` moves them, ``close`` takes them out.

    view: a 3D view of the host; root: the car's root as a host placement, because the car frame is its frame.
    """

    def __init__(self, view, root, handles: Handles | None = None):
        from pivy import coin
        super().__init__(view, root)
        self._handles = handles
        top = self.top
        self._block = self._lines(coin, top, palette.preview_powertrain(), 2.0, 8, _EDGES)
        self._plate = self._lines(coin, top, palette.preview_powertrain(), 2.0, 4, ((0, 1, 2, 3, 0),))
        self._crank = self._lines(coin, top, palette.preview_powertrain(), 3.0, 2, ((0, 1),), 0xF3F3)
        self._shaft = self._lines(coin, top, palette.preview_shaft(), 3.0, 2, ((0, 1),))
        self._joints = [self._joint(coin, top) for _ in range(2)]
        switch = coin.SoSwitch()
        switch.addChild(top)
        self.show(switch, "CranklinePreview")
        self.hide()

    @staticmethod
    def _lines(coin, top, color, width, points, strips, pattern=0xFFFF):
        group, paint, style = coin.SoSeparator(), coin.SoBaseColor(), coin.SoDrawStyle()
        paint.rgb.setValue(*color)
        style.lineWidth, style.linePattern = width, pattern
        coordinates, lines = coin.SoCoordinate3(), coin.SoIndexedLineSet()
        coordinates.point.setValues(0, points, [(0.0, 0.0, 0.0)] * points)
        indices = [index for strip in strips for index in (*strip, -1)]
        lines.coordIndex.setValues(0, len(indices), indices)
        for node in (paint, style, coordinates, lines):
            group.addChild(node)
        top.addChild(group)
        return coordinates

    @staticmethod
    def _joint(coin, top):
        """A ball at a joint center with the joint's angle beside it."""
        group, paint, move, ball = coin.SoSeparator(), coin.SoBaseColor(), coin.SoTranslation(), coin.SoSphere()
        paint.rgb.setValue(*palette.preview_shaft())
        ball.radius = 25.0
        font, lift, text = coin.SoFont(), coin.SoTranslation(), coin.SoText2()
        font.name, font.size = "sans", 15.0
        lift.translation.setValue(0.0, 0.0, 90.0)
        for node in (paint, move, ball, lift, font, text):
            group.addChild(node)
        top.addChild(group)
        return move, text

    def update(self, scene: Scene) -> None:
        """Show a scene; nothing happens after ``close``."""
        if self.node is None:
            return
        engine, frame = scene.engine, scene.engine_frame
        low = (0.0, -engine.block_half_width, -engine.base_drop)
        high = (engine.block_length, engine.block_half_width, engine.deck_height)
        box = [[(low, high)[corner[axis]][axis] for axis in range(3)] for corner in _BOX]
        back = -scene.stack.total
        plate = [[back, side * engine.block_half_width, z] for side, z in ((1, low[2]), (1, high[2]), (-1, high[2]), (-1, low[2]))]
        line = [[engine.block_length + (engine.nose_ahead_of_front_face or 0.0), 0.0, 0.0]]
        points = frame.to_car(box + plate + line).tolist()
        front, rear = scene.front_joint.tolist(), scene.rear_joint.tolist()
        for coordinates, values in ((self._block, points[:8]), (self._plate, points[8:12]),
                                    (self._crank, [points[12], front]), (self._shaft, [front, rear])):
            coordinates.point.setValues(0, len(values), values)
        angles = (scene.driveline.front_angle, scene.driveline.rear_angle)
        for (move, text), point, angle in zip(self._joints, (front, rear), angles):
            move.translation.setValue(*point)
            text.string = f"{math.degrees(float(angle)):.2f} deg"
        self.node.whichChild = 0
        if self._handles is not None:
            self._handles.place(scene)

    def hide(self) -> None:
        """Show nothing until the next update: what was typed last gives no scene."""
        if self.node is not None:
            self.node.whichChild = -1
            if self._handles is not None:
                self._handles.hide()

    def close(self) -> None:
        if self._handles is not None:
            self._handles.close()
        super().close()
