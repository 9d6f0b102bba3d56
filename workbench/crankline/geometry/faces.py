"""What the faces of a host's shape say of it, for ``congruence``: kind, radii, area, centroid, direction. Needs the host.

The host's own integral over a cylinder that another one trims depends on where the seam lies (see ``measure``); such a face is
integrated along its edges here, as its volume is.
"""
from __future__ import annotations

import numpy as np

from ..host import Part
from ..mechanics.frames import cross, dot
from . import measure
from .congruence import Body, Face


def body(shape: Part.Shape) -> Body:
    """The faces and the volume of a solid, in the frame in which it stands."""
    return Body(measure.volume(shape), tuple(_face(face) for face in shape.Faces))


def _face(face: Part.Face) -> Face:
    surface = face.Surface
    kind = type(surface).__name__
    size = tuple(float(getattr(surface, name)) for name in ("Radius", "MajorRadius", "MinorRadius") if hasattr(surface, name))
    if isinstance(surface, Part.Plane):
        normal = face.normalAt(*[(a + b) / 2.0 for a, b in zip(face.ParameterRange[::2], face.ParameterRange[1::2])])
        return Face(kind, size, float(face.Area), tuple(face.CenterOfMass), tuple(normal), True)
    if isinstance(surface, Part.Cylinder):
        area, centroid = _cylinder(face, surface)
        return Face(kind, size, area, centroid, tuple(surface.Axis))
    axis = getattr(surface, "Axis", None)
    return Face(kind, size, float(face.Area), tuple(face.CenterOfMass), None if axis is None else tuple(axis))


def _cylinder(face: Part.Face, surface: Part.Cylinder) -> tuple[float, tuple[float, float, float]]:
    """Area and centroid by Green's theorem on the unrolled cylinder: integrals of z, z cos, z sin and z squared over two along the
    edges, as functions of the turn."""
    if not any(isinstance(edge.Curve, Part.BSplineCurve) for edge in face.Edges):
        return float(face.Area), tuple(face.CenterOfMass)
    axis, middle, radius = np.array(surface.Axis), np.array(surface.Center), float(surface.Radius)
    points, steps = measure.walk(face, middle)
    z = points @ axis
    outward = points - z[:, None] * axis
    outward /= np.sqrt(dot(outward, outward))[:, None]
    turn = dot(cross(axis, outward), steps) / radius
    total, first, along = float((z * turn).sum()), (z * turn) @ outward, float((z * z / 2.0 * turn).sum())
    centroid = middle + (radius * first + along * axis) / total
    return abs(total) * radius, tuple(centroid.tolist())
