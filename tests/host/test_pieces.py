"""What parts are made from against the solids that they become: volume by volume, and flats against faces."""
from __future__ import annotations

import math

import cars
import FreeCAD as App
import numpy as np
import Part
import pytest

from crankline.features import made_from, read
from crankline.features.part_kind import Supply
from crankline.features.registry import declaration
from crankline.geometry import cope, tube
from crankline.geometry.piece import Bar, Sheet, Solid, Tube, bent


@pytest.fixture(scope="module", params=cars.EACH)
def made(request):
    document = cars.document(request.param, "pieces")
    layout = read.only_layout(document)
    yield {obj.Key: obj for obj in read.members(layout) if hasattr(obj, "ShapeDigest")}, made_from.pieces(layout)
    App.closeDocument(document.Name)


def volume(piece) -> float:
    """mm3 of a piece before it is coped."""
    if isinstance(piece, Sheet):
        return piece.count * piece.flat.area * piece.thickness
    if isinstance(piece, Tube):
        return piece.count * tube.volume(piece.outer_diameter, piece.wall, piece.center_length)
    return piece.count * piece.width * piece.thickness * piece.length if isinstance(piece, Bar) else 0.0


def test_welds_inside_a_part_are_where_its_pieces_meet(made):
    """Every part that is welded from pieces says where; each point stands at the part's solid."""
    parts, pieces = made
    found = made_from.seams(read.only_layout(next(iter(parts.values())).Document))
    welded = {key for key, some in pieces.items() if sum(not isinstance(one, Solid) for one in some) > 1}
    assert welded == {key for key, some in found.items() if some}
    for key, some in found.items():
        for seam in some:
            for point in seam.points:
                away = parts[key].Shape.distToShape(Part.Vertex(*point))[0]
                assert away < 2.5, f"{key}: {seam.joins} is {away:.2f} mm from the solid"


def test_every_part_of_the_kit_has_pieces_and_they_hold_its_material(made):
    """Before coping there is more than in the part; what is more is what copes, trims and overlaps take. Slugs, bosses and pins are no
    pieces of sheet or tube, so that loops and the strut may have more in them."""
    parts, pieces = made
    kit = {key for key, obj in parts.items() if declaration(obj.Kind, key).supply is Supply.KIT}
    assert set(pieces) == kit
    for key in kit:
        solid, raw = parts[key].Shape.Volume, sum(map(volume, pieces[key]))
        kind = parts[key].Kind
        if not raw:
            continue
        low, high = {"split_loop": (0.6, 1.4), "fixed_loop": (0.95, 1.25), "limiter_strut": (0.2, 1.0), "plate_foot": (0.98, 1.35),
                     "transmission_mount": (0.98, 1.4), "receiver": (0.98, 2.0), "limiter_seat": (0.98, 1.3)}.get(kind, (0.985, 1.1))
        assert low * solid <= raw <= high * solid, f"{key}: pieces {raw:.0f}, solid {solid:.0f}"


def test_flats_are_faces_of_their_solids(made):
    """A piece of plain sheet has the area of a face of its solid, where nothing else is welded to it and no cope leans through it."""
    parts, pieces = made
    seen = 0
    for key, found in pieces.items():
        for piece in found:
            if isinstance(piece, Sheet) and parts[key].Kind in ("mid_plate", "front_plate", "protector", "firewall", "rail_tab"):
                seen += 1
                # The saddle of a tab is square to the sheet, its solid's follows the rail.
                share = 2e-3 if parts[key].Kind == "rail_tab" else 1e-6
                assert min(abs(face.Area - piece.flat.area) for face in parts[key].Shape.Faces) < share * piece.flat.area, key
    assert seen >= 7


def test_web_of_an_enclosure_mount_is_the_face_of_its_solid(made):
    parts, pieces = made
    for key, found in pieces.items():
        if parts[key].Kind == "enclosure_mount" and len(found) == 2:
            web = found[1]
            # The solid's web is hidden in the saddle by half of its thickness: the flat with it against the face and that strip.
            face = max((f for f in parts[key].Shape.Faces if f.Surface.TypeId == "Part::GeomPlane"
                        and abs(f.normalAt(0, 0).x) > 0.99), key=lambda f: f.Area)
            strip = web.thickness / 2.0 * 2.0 * math.asin(min(1.0, 0.5 * (web.flat.bounds[2] - web.flat.bounds[0]) / 60.0)) * 60.0
            assert face.Area <= web.flat.area * (1 + 1e-9) and web.flat.area - face.Area < 1.5 * strip, key


def test_a_bent_tube_reads_back_as_its_centerline():
    """Walking along straights, bends and rotations leads from the first to the last point (a closed form by rotations)."""
    points = [(0.0, 0.0, 0.0), (200.0, 0.0, 0.0), (260.0, 150.0, 0.0), (300.0, 220.0, 140.0), (500.0, 220.0, 200.0)]
    piece = bent("tube", points, 40.0, 25.4, 2.0)
    p = [np.array(point) for point in points]
    first, second = (p[1] - p[0]) / np.linalg.norm(p[1] - p[0]), p[2] - p[1]
    normal = np.cross(first, second)
    normal /= np.linalg.norm(normal)
    at, along = p[0] + first * piece.straights[0], first

    def turned(vector, axis, angle):
        return (vector * math.cos(angle) + np.cross(axis, vector) * math.sin(angle)
                + axis * (axis @ vector) * (1.0 - math.cos(angle)))

    for number, bend in enumerate(piece.bends):
        if number:
            normal = turned(normal, along, piece.rotations[number - 1])
        center = at + np.cross(normal, along) * piece.radius
        at = center + turned(at - center, normal, bend)
        along = turned(along, normal, bend)
        at = at + along * piece.straights[number + 1]
    assert at == pytest.approx(p[-1], abs=1e-9)
    assert piece.ends[1][1] == pytest.approx(tuple(along), abs=1e-12)


def test_templates_are_the_edges_of_the_solids(made):
    """Points along the outer edges of the coped ends of straight tubes lie on the unrolled curves, to a twentieth of a millimeter."""
    parts, pieces = made
    seen = 0
    for key, (piece, *others) in pieces.items():
        if others or not isinstance(piece, Tube) or piece.bends or not (piece.first or piece.last):
            continue
        shape = parts[key].Shape.copy(True, False)
        shape.Placement = App.Placement()
        start, end = (np.array(item[0]) for item in piece.ends)
        length = np.linalg.norm(end - start)
        along, radius = (end - start) / length, piece.outer_diameter / 2.0
        zero, aside = cope.across(along)
        for edge in shape.Edges:
            points = np.array([tuple(point) for point in edge.discretize(60)]) - start
            off = points - np.outer(points @ along, along)
            if abs(np.linalg.norm(off, axis=1) - radius).max() > 1e-3 or np.ptp(points @ along) > 100.0:
                continue
            at_last = (points @ along).mean() > 0.5 * length
            curve = cope.ends(piece, 3600)[1 if at_last else 0].outward
            beyond = points @ along - length if at_last else -(points @ along)
            if beyond.mean() < curve.min() - 1.0:
                continue            # a hole farther from the end than the cope reaches: the receiver's cross bolt
            turn = np.arctan2(off @ aside, off @ zero) % (2.0 * math.pi)
            assert distance(np.column_stack([radius * turn, beyond]), np.column_stack([radius * cope.turns(3600), curve])).max() < 0.05, key
            seen += 1
    assert seen >= 4


def distance(points, curve):
    """Distance of points from a closed curve of short lines, in the plane."""
    first, step = curve, np.roll(curve, -1, axis=0) - curve
    first, step = first[:-1], step[:-1]      # the seam of the unrolled tube is no line of it
    share = ((points[:, None] - first) * step).sum(axis=2) / (step ** 2).sum(axis=1)
    nearest = first + np.clip(share, 0.0, 1.0)[..., None] * step
    return np.linalg.norm(points[:, None] - nearest, axis=2).min(axis=1)
