"""A solid as triangles for pictures: each face by itself with its normals, and the sharp edges between faces as chains. Needs the host
to make one; what is made is numpy only.

A mesh belongs to a shape in its own frame, whatever direction it is looked at from: it is made once for all views of a snapshot.
"""
from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import compress
from typing import Any

import numpy as np

DEFLECTION = 0.5
"""Largest distance of a mesh from its surface, mm."""
TURN = 0.5
"""Largest turn of a mesh's normal from one triangle to the next, rad."""
SHARP = 0.35
"""Angle between the surfaces on both sides, rad, from which an edge is drawn (common practice, no source)."""
KEPT = 400
"""How many meshes are kept; the least recently used goes first."""

_kept: OrderedDict[tuple[int, float, float], tuple[Any, Facets, tuple[float, ...], Facets]] = OrderedDict()
"""Number of a shape and how fine its mesh is to the shape, its mesh in its own frame, where it stood last, and its mesh there."""


@dataclass(frozen=True, eq=False)
class Facets:
    """points (n, 3) and unit normals (n, 3), triangles (m, 3) of point numbers, counterclockwise seen from outside; a point on an edge is
    there once for every face. chains: polylines (k, 3) along the sharp edges, from corner to corner, a closed one with its start again;
    beside: for each of their pieces the unit normals (k - 1, 2, 3) of the faces on both sides. smooth (s, 2, 3): pieces of edges that are
    no corners, and sides (s, 2, 2, 3): the unit normals at their ends, of the faces on both sides. shared (n,): a number that is the same
    for the points of several faces that are one point of the mesh."""
    points: np.ndarray
    normals: np.ndarray
    triangles: np.ndarray
    chains: tuple[np.ndarray, ...]
    beside: tuple[np.ndarray, ...]
    smooth: np.ndarray
    sides: np.ndarray
    shared: np.ndarray

    def placed(self, matrix: np.ndarray) -> Facets:
        """The same in another frame; matrix: (4, 4), a rotation and a translation."""
        turn, way = matrix[:3, :3], matrix[:3, 3]
        return Facets(self.points @ turn.T + way, self.normals @ turn.T, self.triangles,
                      tuple(chain @ turn.T + way for chain in self.chains), tuple(normals @ turn.T for normals in self.beside),
                      self.smooth @ turn.T + way, self.sides @ turn.T, self.shared)

    @cached_property
    def rise(self) -> np.ndarray:
        """About how far each triangle is off its surface, mm: of a chord c whose ends are turned by t it is c t / 8; 0 of flat ones."""
        corners, normals = self.points[self.triangles], self.normals[self.triangles]
        chord = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2)
        turn = np.linalg.norm(normals - np.roll(normals, 1, axis=1), axis=2)
        return (chord * np.where(turn > 1e-3, turn, 0.0)).max(axis=1) / 8.0

    def of_edges(self, chosen: Iterable[bool]) -> Facets:
        """The same with some of its sharp edges only."""
        edges = list(chosen)
        return replace(self, chains=tuple(compress(self.chains, edges)), beside=tuple(compress(self.beside, edges)))

    def half(self, level: float, upper: bool) -> Facets:
        """What of it is above a height, or below it: triangles by their middles, edges whole; what is cut stays open."""
        way = 1.0 if upper else -1.0
        least = way * level - DEFLECTION
        edges = [(way * chain[:, 2]).min() > least for chain in self.chains]
        smooth = (way * self.smooth[..., 2]).min(axis=1) > least
        return replace(self.of_edges(edges), smooth=self.smooth[smooth], sides=self.sides[smooth],
                       triangles=self.triangles[way * (self.points[self.triangles][..., 2].mean(axis=1) - level) > 0.0])


def of(shape: Any, deflection: float = DEFLECTION, turn: float = TURN) -> Facets:
    """The triangles of a shape where it stands. ValueError where it has no surface."""
    import FreeCAD as App
    key = id(shape), deflection, turn
    matrix = shape.Placement.toMatrix().A
    known = _kept.get(key)
    if known is None:
        plain = shape.copy(True, False)     # a mesh left on the shape itself would change its bounding box
        plain.Placement = App.Placement()
        mesh = _meshed(plain, deflection, turn)
    elif known[2] == matrix:
        _kept.move_to_end(key)
        return known[3]
    else:
        mesh = known[1]
    placed = mesh.placed(np.array(matrix, float).reshape(4, 4))
    _kept[key] = shape, mesh, matrix, placed    # the shape is held, so that its number stays its own
    _kept.move_to_end(key)
    if len(_kept) > KEPT:
        _kept.popitem(last=False)
    return placed


def _meshed(shape: Any, deflection: float, turn: float) -> Facets:
    import MeshPart
    mesh = MeshPart.meshFromShape(Shape=shape, LinearDeflection=deflection, AngularDeflection=turn, Segments=True)
    corners, triangles = mesh.Topology
    return by_face(np.array([tuple(corner) for corner in corners]).reshape(-1, 3), np.array(triangles, int).reshape(-1, 3),
                   [mesh.getSegment(number) for number in range(mesh.countSegments())])


def by_face(points: np.ndarray, triangles: np.ndarray, faces: Iterable[Iterable[int]]) -> Facets:
    """Facets of a closed mesh whose points are shared by its faces; faces: the numbers of the triangles of each.

    ValueError where there are no triangles.
    """
    if not len(triangles):
        raise ValueError("a shape has no surface; recompute the document and draw again")
    owner = np.full(len(triangles), -1)
    for number, face in enumerate(faces):
        owner[np.fromiter(face, int)] = number
    triangles, owner = triangles[owner >= 0], owner[owner >= 0]
    # A point of one face is another one than that of the next.
    used, mine = np.unique(owner[:, None] * len(points) + triangles, return_inverse=True)
    shared, mine = used % len(points), mine.reshape(-1, 3)
    own = points[shared]
    normals = vertex_normals(own, mine)
    return Facets(own, normals, mine, *_edges(points, triangles, owner, normals[mine]), shared)


def vertex_normals(points: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """Unit normals at the points of faces that share none: of the triangles around each, weighted by their angles there, so that it does
    not matter along which diagonal four corners were split (G. Thuermer and C. Wuethrich, Computing vertex normals from polygonal facets,
    Journal of Graphics Tools 3(1), 1998)."""
    corners = points[triangles]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normal, axis=1, keepdims=True)
    normal = np.divide(normal, size, out=np.zeros_like(normal), where=size > 0.0)
    parts = []
    for i in range(3):
        one, two = corners[:, (i + 1) % 3] - corners[:, i], corners[:, (i + 2) % 3] - corners[:, i]
        parts.append(normal * np.arctan2(size[:, 0], np.einsum("ij,ij->i", one, two))[:, None])
    added = np.concatenate(parts)
    found = np.column_stack([np.bincount(triangles.T.ravel(), added[:, i], len(points)) for i in range(3)])
    size = np.linalg.norm(found, axis=1, keepdims=True)
    return np.divide(found, size, out=np.zeros_like(found), where=size > 0.0)


def _edges(points: np.ndarray, triangles: np.ndarray, owner: np.ndarray, normals: np.ndarray
           ) -> tuple[tuple[np.ndarray, ...], tuple[np.ndarray, ...], np.ndarray, np.ndarray]:
    """Chains along the sharp edges at which two faces meet, and the normals there; pieces of the smooth ones, and the normals there.
    normals (m, 3, 3): at the corners of the triangles."""
    ends = np.concatenate([triangles[:, [i, (i + 1) % 3]] for i in range(3)])
    face = np.tile(owner, 3)
    normal = np.concatenate([normals[:, [i, (i + 1) % 3]] for i in range(3)])
    back = ends[:, 0] > ends[:, 1]
    ends[back], normal[back] = ends[back, ::-1], normal[back, ::-1]
    order = np.lexsort((face, ends[:, 1], ends[:, 0]))
    ends, face, normal = ends[order], face[order], normal[order]
    pair = np.flatnonzero((ends[1:] == ends[:-1]).all(axis=1))
    pair = pair[face[pair] != face[pair + 1]]
    sharp = np.einsum("kij,kij->ki", normal[pair], normal[pair + 1]).min(axis=1) < np.cos(SHARP)
    groups = np.column_stack([face[pair], face[pair + 1]])
    found = chained(ends[pair[sharp]], groups[sharp])
    middle = np.stack([normal[pair[sharp]].mean(axis=1), normal[pair[sharp] + 1].mean(axis=1)], axis=1)
    flat = pair[~sharp]
    return (tuple(points[chain] for chain, _edges in found), tuple(middle[edges] for _chain, edges in found),
            points[ends[flat]], np.stack([normal[flat], normal[flat + 1]], axis=2))


def chained(ends: np.ndarray, groups: np.ndarray) -> list[tuple[np.ndarray, np.ndarray]]:
    """Point numbers along chains made of edges (k, 2) that share points, each within one group (rows of ``groups``, (k, g)), and the
    numbers of the edges that they go along; a chain ends where no edge or several go on."""
    found: list[tuple[np.ndarray, np.ndarray]] = []
    order = np.lexsort(groups.T[::-1])
    cuts = np.flatnonzero((groups[order][1:] != groups[order][:-1]).any(axis=1)) + 1 if len(order) else np.zeros(0, int)
    both = ends.tolist()
    for some in np.split(order, cuts):
        goes: dict[int, list[tuple[int, int]]] = {}
        for edge in some.tolist():
            a, b = both[edge]
            goes.setdefault(a, []).append((edge, b))
            goes.setdefault(b, []).append((edge, a))
        left = set(some.tolist())
        # From the ends of open chains first; what is left then goes around.
        for start in [*(point for point, on in goes.items() if len(on) != 2), *goes]:
            for edge, point in goes[start]:
                if edge not in left:
                    continue
                left.discard(edge)
                chain, along = [start, point], [edge]
                while len(goes[chain[-1]]) == 2:
                    going = next(((e, p) for e, p in goes[chain[-1]] if e in left), None)
                    if going is None:
                        break
                    left.discard(going[0])
                    along.append(going[0])
                    chain.append(going[1])
                found.append((np.array(chain), np.array(along)))
    return found
