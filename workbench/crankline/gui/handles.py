"""Handles in the view for the three numbers of a placement: an arrow along the car, one up and down, and a disc for the pitch.

Coin's draggers, watched by sensors on their fields: callbacks of a dragger end the host. They stand clear of the engine, because what is
in front of a handle is what the mouse meets.
"""
from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from .. import units
from ..mechanics.scene import Scene
from .overlay import matrix

Get = Callable[[str], float | None]
Set = Callable[[str, float], None]

SIZE = 140.0
"""mm from the middle of a handle to its end."""
THICK = 2.5
"""How much thicker than Coin's an arrow is: a whole car is in sight while it is looked for."""
CLEAR = 240.0
"""mm between the engine and a handle."""
LABELS = {"axle_to_block": "Axle to block", "crank_height": "Crank height", "pitch": "Pitch"}
SNAP = {"in": units.INCH / 16.0, "mm": 1.0}
"""mm to which a dragged length is rounded, by the units of the car."""
SNAP_ANGLE = units.of(0.1, "angle", "deg")


class Handles:
    """Three handles in one view, in the frame of ``root``. get: value of a number (mm, rad), None where it is not for dragging; set: takes
    the value that it is dragged to. ``close`` takes them out."""

    def __init__(self, view, root, system: str, get: Get, set: Set):
        from pivy import coin
        self._graph, self._coin = view.getSceneGraph(), coin
        self.node = coin.SoSwitch()
        self.node.setName("CranklineHandles")
        group, place = coin.SoSeparator(), coin.SoMatrixTransform()
        place.matrix.setValue(matrix(root))
        group.addChild(place)
        turned = coin.SbRotation(coin.SbVec3f(1, 0, 0), coin.SbVec3f(0, 0, 1))
        level = coin.SbRotation(coin.SbVec3f(0, 0, 1), coin.SbVec3f(0, 1, 0))
        length = SNAP[system]
        self._all = {name: _Handle(coin, group, name, dragger, rotation, snap, get, set) for name, dragger, rotation, snap in (
            ("axle_to_block", coin.SoTranslate1Dragger(), coin.SbRotation(), length),
            ("crank_height", coin.SoTranslate1Dragger(), turned, length),
            ("pitch", coin.SoRotateDiscDragger(), level, SNAP_ANGLE))}
        self.node.addChild(group)
        self.node.whichChild = -1
        self._graph.addChild(self.node)

    def place(self, scene: Scene) -> None:
        """Bring the handles to a scene, but for one that is being dragged."""
        if self.node is None:
            return
        engine = scene.engine
        above = engine.deck_height + CLEAR
        for name, at in (("axle_to_block", (engine.block_length, 0.0, above)), ("pitch", (0.0, 0.0, above)),
                         ("crank_height", (engine.block_length + 2.0 * CLEAR, 0.0, 0.0))):
            self._all[name].stand(tuple(map(float, scene.engine_point(*at))))
        self.node.whichChild = 0

    def hide(self) -> None:
        """Show none until the next scene."""
        if self.node is not None:
            self.node.whichChild = -1

    def close(self) -> None:
        """Take them out of the view; nothing happens if the view is gone."""
        if self.node is not None:
            node, self.node = self.node, None
            for one in self._all.values():
                one.close()
            try:
                self._graph.removeChild(node)
            except Exception:   # the view and its graph were closed under us
                pass


class _Handle:
    """One dragger with its name beside it."""

    def __init__(self, coin, group, name: str, dragger: Any, rotation: Any, snap: float, get: Get, set: Set):
        self._name, self._dragger, self._snap, self._get, self._set = name, dragger, snap, get, set
        self._from: float | None = None
        own, self._move, turn, scale = coin.SoSeparator(), coin.SoTranslation(), coin.SoRotation(), coin.SoScale()
        turn.rotation.setValue(rotation)
        across = SIZE if name == "pitch" else THICK * SIZE
        scale.scaleFactor.setValue(SIZE, across, across)
        self._shown = coin.SoSwitch()
        dragged = coin.SoSeparator()
        for node in (turn, scale, dragger):
            dragged.addChild(node)
        label, pick, lift, font, text = coin.SoSeparator(), coin.SoPickStyle(), coin.SoTranslation(), coin.SoFont(), coin.SoText2()
        pick.style = coin.SoPickStyle.UNPICKABLE
        lift.translation.setValue(0.0, 0.0, 1.2 * SIZE)
        font.name, font.size = "sans", 13.0
        text.string = LABELS[name]
        for node in (pick, lift, font, text):
            label.addChild(node)
        own.addChild(self._move)
        own.addChild(dragged)
        own.addChild(label)
        self._shown.addChild(own)
        group.addChild(self._shown)
        self._field = dragger.rotation if name == "pitch" else dragger.translation
        self._sensors = []
        for field, action in ((self._field, self._dragged), (dragger.isActive, self._grabbed)):
            sensor = coin.SoFieldSensor(action, None)
            sensor.attach(field)
            self._sensors.append(sensor)

    def stand(self, point: tuple[float, ...]) -> None:
        """Bring it to a point, unless it is being dragged."""
        self._shown.whichChild = -1 if self._get(self._name) is None else 0
        if not self._dragger.isActive.getValue():
            self._move.translation.setValue(*point)
            self._rest()

    def _rest(self) -> None:
        self._from = None
        if self._name == "pitch":
            self._field.setValue(0.0, 0.0, 0.0, 1.0)
        else:
            self._field.setValue(0.0, 0.0, 0.0)

    def _grabbed(self, _data, _sensor) -> None:
        if self._dragger.isActive.getValue():
            self._from = self._get(self._name)
            return
        value = self._get(self._name)
        if value is not None:
            self._set(self._name, value)   # the handle goes to where the number now is

    def _dragged(self, _data, _sensor) -> None:
        if not self._dragger.isActive.getValue():
            return
        if self._from is None:
            self._from = self._get(self._name)
        if self._from is None:
            return
        if self._name == "pitch":
            _x, _y, z, w = self._field.getValue().getValue()
            by = math.remainder(2.0 * math.atan2(z, w), 2.0 * math.pi)
        else:
            by = self._field.getValue().getValue()[0] * SIZE
        self._set(self._name, units.rounded(round((self._from + by) / self._snap) * self._snap))

    def close(self) -> None:
        for sensor in self._sensors:
            sensor.detach()
        self._sensors = []
