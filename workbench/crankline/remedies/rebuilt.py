"""Parts as they would be if a number of the car were another one, without a document. Needs the host.

Each part is described by the same class that makes it in a document: its spec and frame come from the records of the changed car. What
keeps its spec keeps its shape and is only put where it then stands; what does not is built again.
"""
from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from .. import model
from ..compat import same_placement
from ..features.base import host_placement
from ..features.plan import Described, described
from ..mechanics.scene import Scene
from ..snapshot import PartView, Snapshot

BUILD, LOOP = 3, 30
"""Effort of building a part, and of building a loop, whose legs are coped to what they stand on; in hundredths of a second, as
measured once."""


class Trial:
    """A snapshot's parts with other numbers of the car."""

    def __init__(self, snapshot: Snapshot):
        self._snapshot = snapshot
        self._scene = snapshot.placed
        self._was = described(snapshot.car, self._scene)
        self._built: dict[str, Any] = {}
        self.builds = self.effort = 0

    def snapshot(self, car: model.Car, scene: Scene, keys: Iterable[str] | None = None) -> Snapshot:
        """The snapshot of a changed car with the parts of these keys (all where none are given) as they then are. ValueError
        where the car cannot be made so."""
        now = described(car, scene)
        wanted = None if keys is None else set(keys)
        views = tuple(self._view(view, now.get(view.key), scene) for view in self._snapshot.parts
                      if wanted is None or view.key in wanted)
        return replace(self._snapshot, car=car, scene=scene, parts=tuple(view for view in views if view is not None))

    def _view(self, view: PartView, now: Described | None, scene: Scene) -> PartView | None:
        was = self._was.get(view.key)
        if now is None or was is None:
            return view if now is was else None      # a part of no plan (an extra one) stays; one that is gone is gone
        feature, spec, place = now.feature, now.spec(scene), host_placement(now.frame(scene))
        mark = feature.digest(spec)
        if mark == feature.digest(was.spec(self._scene)):
            old = host_placement(was.frame(self._scene))
            if same_placement(old, place):
                return view
            shape = view.shape.copy(False)
            shape.Placement = place.multiply(old.inverse()).multiply(view.shape.Placement)
            return replace(view, shape=shape)
        if mark not in self._built:
            self._built[mark] = feature.geometry.build(spec)
            self.builds += 1
            self.effort += LOOP if view.kind.endswith("_loop") else BUILD
        shape = self._built[mark].copy(False)
        shape.Placement = place
        return replace(view, shape=shape, digest=mark)
