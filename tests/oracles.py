"""What several tests measure the program's answers by; nothing of the program needs it. What needs the host imports it itself."""
from __future__ import annotations

import json
import math
from dataclasses import fields
from functools import cache
from itertools import pairwise

import numpy as np

from crankline.mechanics import envelope
from crankline.progress import drained
from crankline.reports import json_report


def report_schema():
    """The published JSON Schema of the report."""
    with open(json_report.SCHEMA, encoding="utf-8") as stream:
        return json.load(stream)


@cache
def _validator():
    import jsonschema
    jsonschema.Draft7Validator.check_schema(report_schema())
    return jsonschema.Draft7Validator(report_schema())


def fits_schema(report):
    """A report holds what its published schema promises; jsonschema.ValidationError where it does not. The schema is looked at once."""
    _validator().validate(report)


def listing(items, places=4):
    """Items of a drawing as plain tuples, rounded and sorted."""
    def plain(value):
        if isinstance(value, tuple):
            return tuple(map(plain, value))
        return value if isinstance(value, (str, bool)) else round(float(value), places) + 0.0
    return sorted(((type(item).__name__, *(plain(getattr(item, f.name)) for f in fields(item))) for item in items), key=repr)


# --- the swept volume of a driveshaft ---------------------------------------------------------------------------------


def outside(row, points):
    """How far points (..., 3) of the envelope's frame stand outside it within the plane of their section, mm; negative inside. inf before
    the first and behind the last section."""
    points, table = np.asarray(points, dtype=float), np.array(row)
    x = points[..., 0]
    radius, low, high = (np.interp(x, table[:, 0], table[:, i]) for i in (1, 2, 3))
    found = np.hypot(points[..., 1], points[..., 2] - np.clip(points[..., 2], low, high)) - radius
    return np.where((x >= table[0, 0]) & (x <= table[-1, 0]), found, np.inf)


def row_volume(row):
    """Volume between the first and the last section, mm3: exact (the area is quadratic along each stretch)."""
    total = 0.0
    for a, b in pairwise(row):
        middle = envelope.Section(*(0.5 * (p + q) for p, q in zip(a, b)))
        total += (b.x - a.x) / 6.0 * (a.area + 4.0 * middle.area + b.area)
    return float(total)


def envelope_volume(spec):
    """Of the spec of a swept volume, closed form, mm3."""
    return row_volume(tuple(envelope.Section(*one) for one in spec.sections))


# --- tunnel and loops -------------------------------------------------------------------------------------------------


def tunnel_section_area(spec):
    """Mean area of the section across the car, mm2, openings not counted: closed form, times ``length`` the volume."""
    return spec.thickness * (math.pi * (spec.radius + spec.thickness / 2) + sum(spec.sides))


def tunnel_volume(spec):
    """Material of the cover, mm3: closed form in each section, less the openings along the car by quadrature."""
    nodes, weights = np.polynomial.legendre.leggauss(8)
    removed = sum(w / 2 * spec.thickness * tunnel_opened(spec, spec.radius + spec.thickness * (0.5 + n / 2))
                  for n, w in zip(nodes, weights))
    return tunnel_section_area(spec) * spec.length - float(removed)


def tunnel_opened(spec, radius, steps=32):
    """Area of the openings on the sheet's surface at a radius of its round top, mm2, laid flat and projected on the car's length, section
    by section. Openings that overlap count once."""
    cuts = [*spec.slots, *spec.notches]
    stations = sorted({min(max(x, spec.x_rear), spec.x_front) for cut in cuts for x in (cut.x_rear, cut.x_front)})
    total = 0.0
    for first, last in pairwise(stations):
        for i in range(steps):
            x = first + (last - first) * (i + 0.5) / steps
            here = [cut for cut in cuts if cut.x_rear < x < cut.x_front]
            total += sum(_open_girth(spec, here, side, radius, *spec.center(x)) for side in (1, -1)) * (last - first) / steps
    return total


def _open_girth(spec, cuts, side, radius, y, z):
    """What openings take of one side of a section, from the floor up the side and around to the top."""
    upright, spans = z - spec.floor, []
    for cut in cuts:
        if hasattr(cut, "top"):     # a notch of the rear cross member, through both sides
            above = radius * math.asin(min(1.0, max(0.0, (cut.top - z) / radius)))
            spans.append((0.0, min(cut.top - spec.floor, upright) + above))
        elif cut.side == side:
            # From below the panel line, as far in as the slot goes.
            arc = radius * math.acos(max(-1.0, min(1.0, (cut.inner - side * y) / radius)))
            spans.append((max(0.0, cut.low - spec.floor), upright + arc))
    found, reached = 0.0, 0.0
    for low, high in sorted(spans):
        found += max(0.0, high - max(low, reached))
        reached = max(reached, high)
    return found


def closed_angle(shape, center, axis=(1.0, 0.0, 0.0), reach=None):
    """Sum of the angles, rad, at which a half plane from the axis meets the shape's own mesh; 2 pi for a closed ring."""
    from crankline.geometry import loop_measure
    return loop_measure.closed_angle_of(mesh_triangles(shape), center, axis, reach)


def mesh_triangles(shape):
    """Triangles (n, 3, 3) of the shape's own mesh."""
    import MeshPart

    from crankline.geometry import loop_measure
    # Shape.tessellate sets no angular limit of its own and takes twenty times as long on tori.
    mesh = MeshPart.meshFromShape(Shape=shape.copy(True, False), LinearDeflection=loop_measure.CHORD, AngularDeflection=0.5)
    points, triangles = mesh.Topology
    corners = np.array([tuple(point) for point in points]).reshape(-1, 3)
    return corners[np.array(triangles, dtype=int).reshape(-1, 3)]


def pins(shape):
    """How many pins and open pin holes along the loop's axis there are."""
    from crankline.geometry import loop_measure
    holes = [hole for _line, hole in loop_measure.seats(shape)]
    return holes.count(False), holes.count(True)


def station(shape):
    """Rear and front end of the whole shape along x, pins included, mm."""
    box = shape.copy(True, False).optimalBoundingBox(False)
    return box.XMin, box.XMax


# --- bodies -----------------------------------------------------------------------------------------------------------


def near(bodies, reach, kept):
    """Clearances of all pairs of bodies whose boxes come within reach of each other, by keys."""
    from crankline.measure import distance
    return [distance.between(a, b, kept) for a, b in distance.near_pairs(bodies, reach, kept)]


def first_way(name, bodies, scene, car, kept=None):
    """The sweep of the first way out of a thing, with nothing taken off."""
    from crankline.measure import removal, swept_path
    found = removal.setup(name, bodies, scene, car)
    return drained(swept_path.sweep(found.moving, found.staying, found.steps, kept, swept_path.RESOLUTION))


def come_within(a, b, reach):
    """Whether two solids come within a reach, mm: any two of their faces do by the host's distance, those first whose boxes are nearest and
    which have few edges, or one holds the other. The host's distance of whole solids looks for all places that are equally near."""
    (first, boxes), (second, others) = map(_faces, (a, b))
    gap = np.maximum(np.maximum(boxes[:, None, :3] - others[None, :, 3:6], others[None, :, :3] - boxes[:, None, 3:6]), 0.0)
    gap = np.sqrt((gap * gap).sum(axis=-1))
    order = np.lexsort([np.multiply.outer(boxes[:, 6], others[:, 6]).ravel(), gap.ravel().round(3)])
    pairs = (divmod(int(number), len(second)) for number in order[gap.ravel()[order] < reach])
    return (any(first[i].distToShape(second[j])[0] < reach for i, j in pairs)
            or any(one.isInside(other.Vertexes[0].Point, 1e-9, False) for one, other in ((a, b), (b, a))))


def _faces(shape):
    """Faces of a shape; of each the box, never too small, and how many edges it has: (f, 7)."""
    faces = shape.copy(True, False).Faces
    boxes = [face.BoundBox for face in faces]
    return faces, np.array([(box.XMin, box.YMin, box.ZMin, box.XMax, box.YMax, box.ZMax, len(face.Edges))
                            for face, box in zip(faces, boxes)])


def sampled(distance, stations):
    """(distance, station) at some of evenly spaced stations of a way: those at which it can be the least of all, or the first that is none.
    No point goes farther than the way, so neither does the distance change faster: between two stations it is no less than half of what
    both distances leave of the way between them."""
    known = {number: distance(stations[number]) for number in (0, len(stations) - 1)}
    stretches = [(0, len(stations) - 1)]
    while stretches:
        first, last = stretches.pop()
        met = min((number for number, gap in known.items() if gap < 1e-6), default=None)
        bound = (known[first] + known[last] - (stations[last] - stations[first])) / 2.0
        if last - first < 2 or bound >= (min(known.values()) if met is None else 1e-6) or (met is not None and met <= first):
            continue
        middle = (first + last) // 2
        known[middle] = distance(stations[middle])
        # The nearer half first: what it tells may spare the other one.
        stretches += sorted(((first, middle), (middle, last)), key=lambda ends: -known[ends[0]] - known[ends[1]])
    return [(known[number], float(stations[number])) for number in sorted(known)]
