"""Shapes of the parts: one module a part, each a frozen spec and a pure builder; no document is touched here.

Specs are plain numbers and need no host; solids are made with FreeCAD's Part, which is asked for through ``host``.
"""
