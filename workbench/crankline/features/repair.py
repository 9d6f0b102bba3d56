"""Bringing documents back to life, and up to date.

A document that was saved while crankline was not installed has lost its proxies' modules and classes for good, but kept the
properties: our hidden kind says which class it was. A document of an older crankline lacks parts that did not exist then and
holds shapes of older builders.
"""
from __future__ import annotations

from . import make, parts, read
from .base import PartFeature, is_ours
from .registry import CLASSES, CONTAINER, proxy_class


def lifeless(document) -> list:
    """Objects of ours whose proxy was lost."""
    return [obj for obj in document.Objects
            if is_ours(obj) and obj.Kind != CONTAINER and getattr(obj, "Proxy", None) is None]


def repair(document) -> list[str]:
    """Give every lifeless object its proxy again, add the parts that each car lacks, build again what is older than its inputs,
    recompute, and return the labels of what was brought back, added or built."""
    revived = []
    for obj in lifeless(document):
        if obj.Kind not in CLASSES:
            continue
        cls = proxy_class(obj.Kind)
        proxy = cls.__new__(cls)
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
        missing = parts.expected(car, layout.Proxy.scene(layout)) - {obj.Key for obj in read.members(layout)}
    except (AttributeError, ValueError):
        return []
    if not missing:
        return []
    completer = _Completer(layout, car)
    if not {key for key, _label in make.CONTAINERS} <= set(completer.containers):
        return []   # its tree was taken apart: there is no place to put them
    parts.add(completer)
    return completer.added


class _Completer(make.Maker):
    """Goes over a car's parts as its maker does, and makes only those that the document lacks."""

    def __init__(self, layout, car):
        self.document, self.car, self.layout = layout.Document, car, layout
        self.containers = {part.Key: part for part in read.containers(layout)}
        self.held = {obj.Key: obj for obj in read.members(layout)}
        self.added: list[str] = []

    def add(self, container, kind, key, label, record=None, **links):
        if key in self.held:
            return self.held[key]
        self.added.append(label)
        return super().add(container, kind, key, label, record, **links)
