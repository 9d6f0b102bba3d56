"""Parts as they would be if a number of the car were another one, without a document. Needs the host.

Each part is described by the same class that makes it in a document: its spec and frame come from records that are changed
here. What keeps its spec keeps its shape and is only put where it then stands; what does not is built anew.
"""
from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import FreeCAD

from .. import model
from ..compat import same_placement
from ..features import parts
from ..features.base import PartFeature, host_placement
from ..features.digest import digest
from ..features.registry import proxy_class
from ..mechanics.scene import Scene
from ..record import filled
from ..snapshot import Snapshot

BUILD, LOOP = 3, 30
"""Effort of building a part, and of building a loop, whose legs are coped to what they stand on; in hundredths of a second, as
measured once."""


class _Planned:
    """Stands where a document object does: its key, its record, and what it is linked to."""
    Number = 0
    AsDelivered, ServiceState = False, "mounted"

    def __init__(self, kind: str, key: str, label: str, record: Any, links: dict[str, Any]):
        self.Kind, self.Key, self.Label, self.record = kind, key, label, record
        cls = proxy_class(kind)
        self.Proxy = type(f"Planned{cls.__name__}", (cls,), {"__init__": lambda self: None, "read": _read})()
        for name, _doc in (*cls.links, *cls.link_lists):
            setattr(self, name, links.get(name))


def _read(_proxy, obj, absent: bool = False) -> Any:
    return obj.record if absent or obj.record is None else filled(obj.record)


class _Planner:
    """Stands where the maker of a document does and writes down what it is asked for."""

    class _Nothing:
        def recompute(self, _objects) -> None:
            """There is no document to recompute."""

    def __init__(self, car: model.Car, scene: Scene):
        self.car, self._scene, self.layout = car, scene, None
        self.document, self.planned = self._Nothing(), {}

    def scene(self) -> Scene:
        return self._scene

    def add(self, _container: str, kind: str, key: str, label: str, record: Any = None, **links: Any) -> _Planned:
        made = _Planned(kind, key, label, record, links)
        self.planned[key] = made
        return made


def plan(car: model.Car, scene: Scene) -> dict[str, Any]:
    """Key to stand-in of every part that a car has; its ``Proxy`` gives spec and frame as that of a document object does."""
    planner = _Planner(car, scene)
    parts.add(planner)
    return {key: item for key, item in planner.planned.items() if isinstance(item.Proxy, PartFeature)}


class Trial:
    """A snapshot's parts with other numbers of the car."""

    def __init__(self, snapshot: Snapshot):
        self._snapshot = snapshot
        self._was = plan(snapshot.car, snapshot.scene)
        self._built: dict[str, Any] = {}
        self.builds = self.effort = 0

    def snapshot(self, car: model.Car, scene: Scene, keys: Iterable[str] | None = None) -> Snapshot:
        """The snapshot of a changed car with the parts of these keys (all where none are given) as they then are. ValueError
        where the car cannot be made so."""
        now = plan(car, scene)
        wanted = None if keys is None else set(keys)
        views = tuple(self._view(view, now.get(view.key), scene) for view in self._snapshot.parts
                      if wanted is None or view.key in wanted)
        return replace(self._snapshot, car=car, scene=scene, parts=tuple(view for view in views if view is not None))

    def _view(self, view, now, scene: Scene):
        was = self._was.get(view.key)
        if now is None or was is None:
            return view if now is was else None      # a part of no plan (an extra one) stays; one that is gone is gone
        spec, frame = now.Proxy.spec(now, scene), now.Proxy.frame(now, scene)
        before = was.Proxy.spec(was, self._snapshot.scene), was.Proxy.frame(was, self._snapshot.scene)
        mark = digest(spec, now.Proxy.geometry.VERSION)
        place = _placement(frame)
        if mark == digest(before[0], now.Proxy.geometry.VERSION):
            old = _placement(before[1])
            if same_placement(old, place):
                return view
            shape = view.shape.copy(False)
            shape.Placement = place.multiply(old.inverse()).multiply(view.shape.Placement)
            return replace(view, shape=shape)
        if mark not in self._built:
            self._built[mark] = now.Proxy.geometry.build(spec)
            self.builds += 1
            self.effort += LOOP if view.kind.endswith("_loop") else BUILD
        shape = self._built[mark].copy(False)
        shape.Placement = place
        return replace(view, shape=shape, digest=mark)


def _placement(frame) -> FreeCAD.Placement:
    return FreeCAD.Placement() if frame is None else host_placement(frame)
