"""Shapes of the parts: one module a part, each a frozen spec and a pure builder; no document is touched here.

``outline``, ``crossings`` and ``rail_clamp`` are plain numbers and import without the host; everything else needs FreeCAD's Part.
"""
