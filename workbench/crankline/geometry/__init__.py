"""Shapes of the parts: one module a part, each a frozen spec and a pure builder; no document is touched here.

``outline``, ``crossings``, ``openings``, ``rail_clamp``, ``plate_layout``, ``mount_layout`` and ``limiter`` are plain numbers; they,
``mid_plate`` and ``front_plate`` import without the host. Everything else needs FreeCAD's Part.
"""
