"""FreeCAD's modules for rooms that declare more than they build: in a Python without FreeCAD they import, and say so when they are used."""
from __future__ import annotations


class _Absent:
    """Stands for a module of the host, or for anything in it. ImportError as soon as it is called."""

    def __getattr__(self, name: str) -> _Absent:
        if name.startswith("__"):
            raise AttributeError(name)
        return self

    def __call__(self, *_args: object, **_named: object) -> None:
        raise ImportError("this makes shapes, which needs FreeCAD; run it inside FreeCAD")


try:
    import FreeCAD
    import Part
except ImportError:
    FreeCAD = Part = _Absent()

__all__ = ["FreeCAD", "Part"]
