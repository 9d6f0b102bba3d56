"""Bringing documents back to life that were saved while crankline was not installed.

The host then drops a proxy's module and class for good, but keeps the properties; our hidden kind says which class it was.
"""
from __future__ import annotations

from .base import is_ours
from .registry import CLASSES, CONTAINER, proxy_class


def lifeless(document) -> list:
    """Objects of ours whose proxy was lost."""
    return [obj for obj in document.Objects
            if is_ours(obj) and obj.Kind != CONTAINER and getattr(obj, "Proxy", None) is None]


def repair(document) -> list[str]:
    """Give every lifeless object its proxy again, recompute, and return the labels of what was brought back."""
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
    return revived
