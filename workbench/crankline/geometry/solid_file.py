"""The solid or mesh of a real engine or transmission, read from a file and put into the frame that three points picked on it give."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from .. import model
from ..catalog import solid_files
from ..catalog.solid_files import SolidFileError
from ..host import FreeCAD, Part
from ..mechanics.frames import as_point
from ..record import filled
from ..units import INCH, sized

MOST_TRIANGLES = 5_000
"""Triangles of the largest mesh that is made into a solid: each that lies in no plane with its neighbor becomes a face, and a thousand of
those make a check of a car some seconds longer (measured; common practice, no source)."""

LEAST_ANGLE = 0.01
"""Sine of the least angle between the two directions that three points give (numerical): nearer to one line they give no frame."""

REACH = 5000.0
"""mm from the origin within which the body of an engine or transmission lies (numerical): beyond it the unit or a point is wrong."""


@dataclass(frozen=True)
class SolidFile:
    """``axes``: unit vectors x, y, z of the part's frame in the file's; ``origin``: its origin there, mm; ``scale``: mm in a mesh's unit.
    """
    file: str
    digest: str
    scale: float
    origin: tuple[float, float, float]
    axes: tuple[tuple[float, float, float], ...]


def spec(solid: model.Solid, path: str) -> SolidFile:
    """What the body is made from; ``path`` is the section of the car that it belongs to. ValueError where the points give no frame."""
    given = filled(solid)
    origin, forward, left = (np.array([point.x, point.y, point.z]) for point in (given.origin, given.forward, given.left))
    ahead, aside = forward - origin, left - origin
    length, width = float(np.linalg.norm(ahead)), float(np.linalg.norm(aside))
    if min(length, width) < 1e-6 or np.linalg.norm(np.cross(ahead, aside)) < LEAST_ANGLE * length * width:
        raise ValueError(f"{path}.solid: origin, forward and left lie on one line or in one point; pick a point ahead on the axis and one "
                         "to the left of it")
    x = ahead / length
    z = np.cross(x, aside)
    z /= np.linalg.norm(z)
    axes = (x, np.cross(z, x), z)
    return SolidFile(given.file, given.digest or "", INCH if given.mesh_unit == "in" else 1.0, as_point(origin),
                     tuple(as_point(axis) for axis in axes))


def build(spec: SolidFile, forward: float = 0.0) -> Any:
    """The body in the part's frame, moved ``forward`` along x, mm. SolidFileError where its file is not there or holds no closed body."""
    path = solid_files.find(spec.file, spec.digest)
    solids = _solids(path, spec.scale)
    (a, b, c), (d, e, f), (g, h, i) = spec.axes
    o = -np.array(spec.axes) @ np.array(spec.origin) + (forward, 0.0, 0.0)
    place = FreeCAD.Placement(FreeCAD.Matrix(a, b, c, o[0], d, e, f, o[1], g, h, i, o[2], 0, 0, 0, 1))
    moved = []
    for solid in solids:
        one = solid.copy()
        one.Placement = place.multiply(one.Placement)
        moved.append(one)
    # Within a compound they keep their places when the part gets its own.
    body = Part.Compound(moved)
    box = body.BoundBox
    if not box.isValid() or max(map(abs, (box.XMin, box.XMax, box.YMin, box.YMax, box.ZMin, box.ZMax))) > REACH:
        raise SolidFileError(f"the body in {path} reaches more than {sized(REACH)} from its origin; check the unit of the file and the "
                             "three points")
    return body


def as_filed(name: str, mesh_unit: str | None = None) -> Any:
    """The body of a file that is looked for by its name, in the file's own coordinates (mm), for points to be picked on it.
    SolidFileError where it is not there or holds no closed body."""
    path = solid_files.find(name, solid_files.digest_by_name(name))
    return Part.Compound(_solids(path, INCH if mesh_unit == "in" else 1.0))


def points_on(shape: Any) -> np.ndarray:
    """The points (n, 3) of a body that are picked, mm: its corners and the centers of its round edges, each once."""
    round_ = [edge.Curve.Center for edge in shape.Edges if not edge.Degenerated and isinstance(edge.Curve, Part.Circle)]
    found = np.array([tuple(point) for point in [vertex.Point for vertex in shape.Vertexes] + round_]).reshape(-1, 3)
    _unique, first = np.unique(np.round(found, 4), axis=0, return_index=True)
    return found[np.sort(first)]


def _solids(path: str, scale: float) -> list[Any]:
    """The solids in a file; SolidFileError where it holds no closed body."""
    read = _mesh if path.lower().endswith(".stl") else _exact
    try:
        return read(path, scale)
    except (SolidFileError, MemoryError):
        raise
    except Exception as error:   # the host raises its own kinds, and bare ones
        raise SolidFileError(f"the file {path} cannot be read as a solid ({' '.join(str(error).split())[:120]}); export it again as "
                             "STEP") from None


def _exact(path: str, _scale: float) -> list[Any]:
    shape = Part.Shape()
    shape.read(path)
    if not shape.Solids:
        raise SolidFileError(f"the file {path} holds no closed solid; export the body as a solid")
    return list(shape.Solids)


def _mesh(path: str, scale: float) -> list[Any]:
    import Mesh
    mesh = Mesh.Mesh(path)
    if mesh.CountFacets > MOST_TRIANGLES:
        raise SolidFileError(f"the mesh in {path} has {mesh.CountFacets:,} triangles; at most {MOST_TRIANGLES:,} are allowed, so give a "
                             "simpler one, or a STEP file")
    if mesh.CountFacets == 0 or not mesh.isSolid():
        raise SolidFileError(f"the mesh in {path} is not closed; repair it, or give a STEP file")
    if scale != 1.0:
        matrix = FreeCAD.Matrix()
        matrix.scale(scale, scale, scale)
        mesh.transform(matrix)
    shape = Part.Shape()
    shape.makeShapeFromMesh(mesh.Topology, 1e-3)
    solid = Part.makeSolid(shape)
    if solid.Volume < 0.0:
        solid.reverse()
    return list(solid.removeSplitter().Solids)   # triangles of one plane are one face
