"""A shaded picture of a car as PNG: the shapes' meshes from the host, painted by ``shaded``, without a window."""
from __future__ import annotations

import struct
import zlib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np

from ..features.part_kind import Look
from ..features.registry import declaration
from ..snapshot import PartView, Snapshot
from . import shaded

DEFLECTION = 0.25
"""Largest distance of a mesh from its surface, mm."""
TURN = 0.3
"""Largest turn of a mesh's normal from one triangle to the next, rad."""
CHORD = 0.5
"""Largest distance of a drawn edge from the edge, mm."""
SIZE = (1600, 900)
"""Width and height in pixels."""


def draw(snapshot: Snapshot, size: tuple[int, int] = SIZE, view: str = "front-right") -> np.ndarray:
    """(height, width, 3) bytes, in the colors that the parts declare."""
    looks = [(part, declaration(part.kind, part.key).look_of(part.material)) for part in snapshot.parts]
    return shaded.render([body(part, look) for part, look in looks if look.pictured], size[0], size[1], view)


def body(part: PartView, look: Look) -> shaded.Body:
    """A part as it is drawn, in the colors that it declares."""
    return body_of(part.shape, look.color, look.edge, 1.0 - look.transparency / 100.0)


def body_of(shape: Any, color: shaded.Color, edge: shaded.Color, opacity: float = 1.0) -> shaded.Body:
    """A shape's mesh, each face by itself so that only edges are sharp, and its edges without the seams of round faces."""
    import MeshPart
    shape = shape.copy()
    mesh = MeshPart.meshFromShape(Shape=shape, LinearDeflection=DEFLECTION, AngularDeflection=TURN, Segments=True)
    corners, facets = mesh.Topology
    place, three = np.array([tuple(corner) for corner in corners]).reshape(-1, 3), np.array(facets, int).reshape(-1, 3)
    points: list[np.ndarray] = [np.zeros((0, 3))]
    normals: list[np.ndarray] = [np.zeros((0, 3))]
    triangles: list[np.ndarray] = [np.zeros((0, 3), int)]
    start = 0
    for number in range(mesh.countSegments()):
        used, renumbered = np.unique(three[list(mesh.getSegment(number))], return_inverse=True)
        own, mine = place[used], renumbered.reshape(-1, 3)
        points.append(own)
        normals.append(_normals(own, mine))
        triangles.append(mine + start)
        start += len(own)
    seams = {line.hashCode() for face in shape.Faces for line in face.Edges if line.isSeam(face)}
    edges = tuple(np.array([tuple(point) for point in line.discretize(Deflection=CHORD)]) for line in shape.Edges
                  if line.hashCode() not in seams and not line.Degenerated)
    return shaded.Body(np.concatenate(points), np.concatenate(normals), np.concatenate(triangles), edges, color, edge, opacity)


def _normals(points: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """Unit normals at the points of one face: of the triangles around each, weighted by their areas."""
    corners = points[triangles]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    found = np.zeros_like(points)
    for i in range(3):
        np.add.at(found, triangles[:, i], normal)
    size = np.linalg.norm(found, axis=1, keepdims=True)
    return np.divide(found, size, out=np.zeros_like(found), where=size > 0.0)


def png(image: np.ndarray) -> bytes:
    """The picture as a PNG file (W3C Portable Network Graphics, ISO/IEC 15948): header, pixels, end and nothing else, so that the same
    picture is the same file wherever it is made."""
    height, width, _three = image.shape
    lines = np.zeros((height, 1 + 3 * width), np.uint8)
    # Filter 1: each byte less the one of the pixel to its left.
    lines[:, 0] = 1
    flat = image.reshape(height, 3 * width)
    lines[:, 1:] = flat
    lines[:, 4:] -= flat[:, :-3]
    chunks: Iterable[tuple[bytes, bytes]] = (
        (b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)), (b"IDAT", zlib.compress(lines.tobytes(), 9)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
                                            for name, data in chunks)


def write(image: np.ndarray, path: Path) -> None:
    """Write a PNG beside its place, then rename."""
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f".{path.name}.part")
    beside.write_bytes(png(image))
    beside.replace(path)
