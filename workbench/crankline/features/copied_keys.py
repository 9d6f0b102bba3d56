"""Keys of objects that were copied: a copy keeps its key, and no two objects of a car may have the same."""
from __future__ import annotations


def separate(obj) -> None:
    """A copied object keeps its key from the copy; give it one of its own."""
    document = obj.Document
    if document is None or not getattr(obj, "Key", ""):
        return
    layout = getattr(obj, "Layout", None)
    taken = {other.Key for other in document.Objects
             if other is not obj and other.Name != obj.Name and getattr(other, "Kind", "") and getattr(other, "Key", "")
             and getattr(other, "Layout", None) is layout}
    if obj.Key in taken:
        stem, number = obj.Key, 2
        while f"{stem}_{number}" in taken:
            number += 1
        obj.Key = f"{stem}_{number}"
