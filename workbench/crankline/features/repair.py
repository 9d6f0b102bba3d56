"""Bringing documents back to life, and up to date.

A document that was saved while crankline was not installed has lost its proxies' modules and classes for good, but kept the
properties: our hidden kind says which class it was. A document of an older crankline lacks parts that did not exist then and
holds shapes of older builders.
"""
from __future__ import annotations

from typing import Any

from . import read
from .apply import add
from .base import PartFeature, is_ours
from .plan import CONTAINERS, plan
from .registry import CLASSES, CONTAINER, proxy_class


def lifeless(document) -> list:
    """Objects of ours whose proxy was lost."""
    return [obj for obj in document.Objects
            if is_ours(obj) and obj.Kind != CONTAINER and getattr(obj, "Proxy", None) is None]


def repair(document) -> list[str]:
    """Give every lifeless object its proxy again, add the parts that each car lacks, build again what is older than its inputs,
    recompute, and return the labels of what was brought back, added or built."""
    if told := read.newer(document):
        raise read.ReadError(told)
    revived = []
    for obj in lifeless(document):
        if obj.Kind not in CLASSES:
            continue
        cls = proxy_class(obj.Kind)
        proxy: Any = object.__new__(cls)
        obj.Proxy = proxy
        proxy.onDocumentRestored(obj)
        obj.touch()
        revived.append(obj.Label)
    if revived:
        document.recompute()
    added = [label for layout in read.layouts(document) for label in _complete(layout)]
    stale = [obj for layout in read.layouts(document) for obj in read.members(layout) if _is_stale(obj)]
    for obj in stale:
        obj.touch()
    if added or stale:
        document.recompute()
    return revived + added + [obj.Label for obj in stale if obj.Label not in revived + added]


def _is_stale(obj) -> bool:
    proxy = getattr(obj, "Proxy", None)
    if not isinstance(proxy, PartFeature) or obj.Shape.isNull():
        return False
    try:
        return proxy.current_digest(obj) != obj.ShapeDigest
    except ValueError:
        return False   # what is in error says so itself


def _complete(layout) -> list[str]:
    """Add the parts that a car has and its document lacks; their labels. A car that cannot be read is left as it is."""
    try:
        car = read.car(layout)
        rows = plan(car, layout.Proxy.scene(layout))
    except (AttributeError, ValueError):
        return []
    made = {**{obj.Key: obj for obj in read.members(layout)}, "layout": layout}
    missing = [row for row in rows if row.key not in made]
    containers = {part.Key: part for part in read.containers(layout)}
    if not {key for key, _label in CONTAINERS} <= set(containers):
        return []   # its tree was taken apart: there is no place to put them
    for row in missing:
        made[row.key] = add(layout.Document, containers, row, made)
    return [made[row.key].Label for row in missing]
