"""Pictures of the instruction sheet: the parts of a step dark among those that are there, with their marks and the way they go.

What is around the parts of a section's steps is seen once for all of them; meshes are coarse, since the pictures are small.
"""
from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ..geometry import transmission_mount
from ..snapshot import PartView
from . import facets, flags, part_picture, view
from .drawing import Polyline, Primitive, Text, bounds, chords
from .instruction_step import FRONT, LEFT, PICTURE, PICTURE_REAR, RIGHT, TOP, Kit, Step
from .sheet_format import Box

FRAMES = {RIGHT: view.SIDE, LEFT: view.LEFT_SIDE, FRONT: view.FRONT, TOP: view.PLAN, PICTURE: view.ISOMETRIC,
          PICTURE_REAR: view.looking((-1.0, -1.0, 1.0))}
COARSE, TURN = 3.0, 0.8
"""Deflection of the meshes, mm, and their largest turn, rad: at 1:20 no more than a line is wide."""
AROUND = 0.35
"""What is shown around the parts of a step, as a share of their own size; at least ``NEAR`` mm of the car."""
NEAR = 120.0
MARKS = 30
"""More marks than this are not shown: the picture would be all flags."""
SHAFT, HEAD, TAIL = 9.0, 6.0, 1.6
"""The arrow of a move: lengths of its shaft and head, half width of its shaft, mm."""
SMALL = 40.0
"""Edges of what is around a step's parts are left out where they are smaller, mm: bolt holes are a dot there."""
CELL = 32.0
"""Least width of what shows one mark by itself, mm."""
FOLDED = "folded"
"""Key of the folded mount in a view."""


class StepPictures:
    """Draws the pictures of one car's steps; ``__call__`` is ``instructions.Pictured``."""

    def __init__(self, kit: Kit) -> None:
        self._kit = kit
        self._marks = {key: item.mark for item in kit.marked for key in item.keys}
        self._views: dict[tuple[frozenset[str], str, bool, bool, bool | None], view.View] = {}
        self._bodies: dict[tuple[str, bool, bool | None], facets.Facets] = {}

    def __call__(self, step: Step, box: Box) -> list[Primitive]:
        """The picture in a box on the paper; nothing where no part of the step has a shape."""
        if step.apart:
            return self._apart(step, box)
        chosen = self._view(step.parts, step.view, step.folded, upper=True if step.upper else None)
        if not chosen.seen:
            return []
        around = self._view(step.shown, step.view, pale=True, upper=False if step.opened or step.upper else None)
        # Of a loop whose upper half alone is meant, the lower one is among what is around.
        context = view.View(around.frame, {key: one for key, one in around.seen.items() if step.upper or key not in step.parts})
        before, chosen = _parted(chosen, set(self._kit.keys("transmission_mount")) if step.folded else set())
        targets = self._targets(step, chosen)
        above, below = _levels(targets)
        room = Box(box.x0 + 1.0, box.y0 + (flags.STRIP if below else 0.5), box.x1 - 1.0, box.y1 - (flags.STRIP if above else 0.5))
        x0, y0, x1, y1 = chosen.box()
        near = None if step.whole else max(NEAR, AROUND * max(x1 - x0, y1 - y0))
        shown = part_picture.composed(chosen, context, room, near)
        found = [*(view.moved(item, shown.scale, shown.x, shown.y) for item in before.items(lambda _key: "phantom")), *shown.items]

        def at(point: tuple[float, float]) -> tuple[float, float]:
            return shown.x + shown.scale * point[0], shown.y + shown.scale * point[1]

        for own, y, low in ((below, box.y0 + 0.5, True), (above, box.y1 - flags.HEIGHT - 0.5, False)):
            if own:
                found += flags.strip([text for text, _point in own], [at(point) for _text, point in own], box.x0 + 0.5, box.x1 - 0.5, y,
                                     low)
        if step.moves is not None:
            found += _arrow(step.moves, chosen.frame, (*at((x0, y0)), *at((x1, y1))), room)
        return found

    def _apart(self, step: Step, box: Box) -> list[Primitive]:
        """Each mark's part by itself, as large as its cell allows, above its mark and how many there are."""
        cells = [item for item in self._kit.marked if set(item.keys) & set(step.parts)]
        if not cells:
            return []
        columns = max(int(box.width / CELL), 1)
        rows = -(-len(cells) // columns)
        width, height = box.width / columns, box.height / rows
        found: list[Primitive] = []
        for number, item in enumerate(cells):
            x, top = box.x0 + width * (number % columns), box.y1 - height * (number // columns)
            room = Box(x + 2.0, top - height + 5.6, x + width - 2.0, top - 1.0)
            part = self._kit.snapshot.part(item.keys[0])
            if part is not None and (chosen := view.of([part], FRAMES[step.view])).seen:
                found += part_picture.composed(chosen, view.View(chosen.frame, {}), room).items
            told = f"{item.mark} × {item.quantity}"
            found.append(Text(x + width / 2.0, top - height + 1.6, told, flags.LETTER, "middle", bold=True))
        return found

    def _view(self, keys: Sequence[str], name: str, folded: bool = False, pale: bool = False, upper: bool | None = None) -> view.View:
        """What is seen of parts from a view, from what was seen before where it was; upper: of split loops only the upper halves, or only
        the lower ones."""
        key = frozenset(keys), name, folded, pale, upper
        if key not in self._views:
            bodies = {}
            for part in (self._kit.snapshot.part(one) for one in sorted(key[0])):
                if part is not None and part.shape is not None and not part.shape.isNull():
                    bodies[part.key] = self._body(part, pale, upper if self._kit.roles[part.key] == "split_loop" else None)
            if folded:
                bodies |= self._folded(bodies)
            frame = FRAMES[name]
            self._views[key] = view.View(frame, view.of_facets(bodies, frame, deflection=COARSE) if bodies else {})
        return self._views[key]

    def _body(self, part: PartView, pale: bool, upper: bool | None) -> facets.Facets:
        """A part, or half of a split loop, and of what is pale the large edges only; made once for all views."""
        key = part.key, pale, upper
        if key not in self._bodies:
            body = facets.of(part.shape, COARSE, TURN)
            if upper is not None:
                body = body.half(self._split(part.key), upper)
            self._bodies[key] = body.of_edges(map(_large, body.chains)) if pale else body
        return self._bodies[key]

    def _split(self, key: str) -> float:
        """Height of the plane in which a split loop opens, mm."""
        name = key.partition("/")[2]
        loop = next(one for one in self._kit.car.containment.loops if one.name == name)
        return float(self._kit.scene.loop_center(loop)[2])

    def _folded(self, bodies: dict[str, facets.Facets]) -> dict[str, facets.Facets]:
        """The transmission mount where it lies when it is folded."""
        kit, key = self._kit, next(iter(self._kit.keys("transmission_mount")), "")
        if key not in bodies:
            return {}
        spec = transmission_mount.spec(kit.car.mounts.transmission, kit.car.mounts.cross_member, kit.scene)
        engine, place = np.eye(4), np.array(transmission_mount.folded(spec).toMatrix().A, float).reshape(4, 4)
        engine[:3, :3], engine[:3, 3] = kit.scene.engine_frame.rotation, kit.scene.engine_frame.origin
        return {FOLDED: bodies[key].placed(engine @ place @ np.linalg.inv(engine))}

    def _targets(self, step: Step, chosen: view.View) -> list[tuple[str, tuple[float, float]]]:
        """Marks of the parts that are seen, and a point on each of them, in the view's mm."""
        found = []
        for key in step.parts:
            seen = chosen.seen.get(FOLDED if step.folded and self._kit.roles[key] == "transmission_mount" else key)
            if key in self._marks and seen is not None and seen.visible:
                found.append((self._marks[key], _middle(seen.visible)))
        return found if len(found) <= MARKS else []


def _large(chain: np.ndarray) -> bool:
    return bool(np.ptp(chain, axis=0).max() > SMALL)


def _parted(given: view.View, keys: set[str]) -> tuple[view.View, view.View]:
    """A view's parts of these keys, and the others."""
    return (view.View(given.frame, {key: one for key, one in given.seen.items() if key in keys}),
            view.View(given.frame, {key: one for key, one in given.seen.items() if key not in keys}))


def _middle(items: Sequence[Primitive]) -> tuple[float, float]:
    """The point on a part's lines nearest to the middle of its box: a leader ends on the part, also where that is a ring."""
    limits = [bounds(item) for item in items]
    x = (min(b[0] for b in limits) + max(b[2] for b in limits)) / 2.0
    y = (min(b[1] for b in limits) + max(b[3] for b in limits)) / 2.0
    points = np.concatenate([np.array(chords(item)) for item in items if not isinstance(item, Text)])
    best = points[int(np.hypot(points[:, 0] - x, points[:, 1] - y).argmin())]
    return float(best[0]), float(best[1])


def _levels(targets: Sequence[tuple[str, tuple[float, float]]]) -> tuple[list, list]:
    """Flags above the picture, and those below it: of many the lower half."""
    if len(targets) <= 3:
        return list(targets), []
    order = sorted(targets, key=lambda one: -one[1][1])
    half = (len(order) + 1) // 2
    return order[:half], order[half:]


def _arrow(way: tuple[float, float, float], frame: view.Frame, around: tuple[float, float, float, float], room: Box) -> list[Primitive]:
    """A block arrow behind what moves, pointing the way it goes; none where that is toward the eye."""
    across = np.array(frame.at(np.array(way) + frame.origin))
    size = float(np.hypot(*across))
    if size < 0.3:
        return []
    ux, uy = (across / size).tolist()
    x0, y0, x1, y1 = around
    half = min((x1 - x0) / 2.0 / abs(ux) if abs(ux) > 1e-9 else math.inf, (y1 - y0) / 2.0 / abs(uy) if abs(uy) > 1e-9 else math.inf)
    tip = np.array([(x0 + x1) / 2.0 - (half + 1.5) * ux, (y0 + y1) / 2.0 - (half + 1.5) * uy])
    # Within the picture, also where the part fills it.
    back = tip - (SHAFT + HEAD) * np.array([ux, uy])
    low, high = np.array([room.x0 + 3.0, room.y0 + 3.0]), np.array([room.x1 - 3.0, room.y1 - 3.0])
    shift = np.maximum(low - np.minimum(tip, back), 0.0) - np.maximum(np.maximum(tip, back) - high, 0.0)
    tip = tip + shift
    neck = tip - HEAD * np.array([ux, uy])
    back = neck - SHAFT * np.array([ux, uy])
    side = np.array([-uy, ux])
    outline = (tip, neck + 2.0 * TAIL * side, neck + TAIL * side, back + TAIL * side, back - TAIL * side, neck - TAIL * side,
               neck - 2.0 * TAIL * side)
    return [Polyline(tuple((float(x), float(y)) for x, y in outline), "outline", True, "white")]
