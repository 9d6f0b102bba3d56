"""Volumes by the mesh of a solid, which knows nothing of how the solid was built."""
from __future__ import annotations

import MeshPart
import numpy as np
import Part

DEFLECTION = 0.05
"""mm between a curve and its chord: of the demos' parts none is told smaller by more than 5e-4 of its volume."""


def mesh_volume(shape) -> float:
    """What the mesh encloses, mm3 (divergence theorem): a sixth of the sum of (a x b) . c over its triangles; within 1e-3 of the solid's.

    Of bent tubes two coarse meshes: facets err by the square of their angle, so that the error cancels (Richardson).
    """
    own = shape.copy(True, False)
    if any(isinstance(face.Surface, Part.Toroid) for face in own.Faces):
        coarse, fine = (MeshPart.meshFromShape(Shape=own, LinearDeflection=10.0, AngularDeflection=angle).Volume for angle in (0.4, 0.2))
        return fine + (fine - coarse) / 3
    points, triangles = own.tessellate(DEFLECTION)
    p = np.array([tuple(v) for v in points])[np.array(triangles)]
    p = p - p.reshape(-1, 3).mean(axis=0)
    return abs(np.einsum("ij,ij->i", np.cross(p[:, 0], p[:, 1]), p[:, 2]).sum()) / 6.0
