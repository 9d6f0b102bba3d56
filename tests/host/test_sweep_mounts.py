"""Mounts over a seeded sweep of placements: 78-88 in, 9-11.5 in, 0-3.5 deg, both demo cars.

500 placements a car are checked as numbers, eight of them as solids (``--solids N``: N). The rails and uprights that parts must touch are
made here in the car frame from the chassis record alone; volumes are compared with closed forms and with the volume that a
part's own mesh encloses (divergence theorem), which knows nothing of how the solid was built.
"""
from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from functools import cache

import cars
import FreeCAD as App
import numpy as np
import Part
import pytest
from closed_forms import least_wall, off_square
from conftest import ROOT
from meshes import mesh_volume
from oracles import come_within

from crankline import carfile, model
from crankline.geometry import (
    cross_member,
    front_plate,
    limiter_bracket,
    limiter_strut,
    measure,
    mid_plate,
    mount_layout,
    outline,
    plate_foot,
    protector,
    rail_clamp,
    rail_tab,
    receiver,
    support_tube,
    tie_tab,
    transmission_mount,
)
from crankline.mechanics import scene as scenes
from crankline.record import filled

INCH = 25.4
CARS = ("full_bodied_automatic", "open_clutch")
NUMBERS, SOLIDS, MESHES = 500, 8, 2
SIDES = {"left": 1.0, "right": -1.0}
STRUTS = {"full_bodied_automatic": model.LimiterStrut(plate_y=7.4 * INCH, plate_z=-2.0 * INCH, run=12.0 * INCH),
          "open_clutch": model.LimiterStrut(side="right", plate_y=7.2 * INCH, plate_z=-3.0 * INCH, run=14.0 * INCH)}
REACH = {"full_bodied_automatic": (9.3, 10.6), "open_clutch": (9.3, 10.3)}
"""Crank heights in inches between which the demo's strut stands: its bracket is at a fixed height of the plate."""


@cache
def car_of(name):
    car = carfile.read(str(ROOT / "demo_assemblies" / f"{name}.yaml"))
    return replace(car, plates=filled(car.plates), mounts=filled(car.mounts))


def placements(name, number, seed):
    rng = np.random.default_rng(seed)
    for _ in range(number):
        yield replace(car_of(name), placement=replace(
            car_of(name).placement, axle_to_block=rng.uniform(78, 88) * INCH, crank_height=rng.uniform(9, 11.5) * INCH,
            pitch_mode="fixed", pitch=math.radians(rng.uniform(0, 3.5))))


def tabs_of(car, scene):
    """Key to spec of every rail tab: of the mid plate, and of a wide front plate."""
    plates = {"rail_tab": (scene.stack.mid_plate, -scene.stack.total)}
    if car.plates.front.kind == "wide":
        plates["front_tab"] = (car.plates.front.thickness, scene.engine.block_length)
    return {f"{stem}/{side}_{face}": rail_tab.spec(car.mounts.rail_tabs, thickness, x_rear, scene, side, face)
            for stem, (thickness, x_rear) in plates.items() for side in SIDES for face in ("front", "rear")}


def mount_of(car, scene):
    """Spec of the transmission mount: it is made in every placement."""
    return transmission_mount.spec(car.mounts.transmission, car.mounts.cross_member, scene)


def plate_specs(car, scene, strut=None):
    return (mid_plate.spec(car.plates.mid, car.mounts.rail_tabs, car.mounts.support_tube, scene),
            front_plate.spec(car.plates.front, car.mounts.rail_tabs, scene, strut))


@pytest.mark.one_host
@pytest.mark.parametrize("name", CARS)
def test_numbers_over_500_placements(name):
    sides = Counter()
    for car in placements(name, NUMBERS, 20):
        scene, given = scenes.of(car), car.mounts.rail_tabs
        mid, front = plate_specs(car, scene)
        flats = {"rail_tab": mid_plate.flat(mid), "front_tab": front_plate.flat(front)}
        centers = {stem: np.array([(h.y, h.z) for h in flat.holes]) for stem, flat in flats.items()}
        bounds = {"rail_tab": (mid.x_rear, mid.x_rear + mid.thickness), "front_tab": (front.x_rear, front.x_rear + front.thickness)}
        for key, tab in tabs_of(car, scene).items():
            stem, face, sign = key.split("/")[0], key.split("_")[-1], SIDES[key.split("/")[1].split("_")[0]]
            # Holes in line with the plate's, bolt for bolt.
            assert len(tab.holes) == given.bolts_per_rail
            for y, z, _ in tab.holes:
                assert np.hypot(*(centers[stem] - (y, z)).T).min() < 0.01, key
            # The gap to the plate as stated.
            rear, ahead = bounds[stem]
            gap = tab.x_rear - ahead if face == "front" else rear - (tab.x_rear + tab.thickness)
            assert gap == pytest.approx(given.gap, abs=1e-9), key
            # The rail that its saddle is cut by is the chassis's, and reaches into the tab over its whole thickness.
            rail, rails = rail_tab.rail_of(tab), scene.chassis.rails
            for x in (tab.x_rear, tab.x_rear + tab.thickness):
                y, z = rail.at(x)
                assert scene.engine_point(x, y, z)[1:] == pytest.approx((sign * rails.half_spacing, rails.height), abs=1e-6)
                assert abs(y - tab.y) < 0.1 and tab.z_low < z + rail.half_height < tab.holes[0][1] - tab.holes[0][2] / 2.0
        # Every plate clears both rails, and keeps material around its holes.
        for flat, (rear, ahead) in zip(flats.values(), bounds.values()):
            assert min(least_wall(flat, h) for h in flat.holes) > 2.0
            for side in SIDES:
                rail = rail_clamp.rail_line(scene, side)
                for x in (rear, ahead):
                    y, z = rail.at(x)
                    assert flat.outer.distance(y, z) > rail.half_height + rail_clamp.RAIL_CLEARANCE - 0.5 and not flat.outer.holds(y, z)
        if car.plates.front.kind == "narrow":
            for side, sign in SIDES.items():
                foot = plate_foot.spec(car.plates.front, given, scene, side)
                assert foot.x_rear == pytest.approx(front.x_rear + front.thickness, abs=1e-9)
                for y, z, _ in foot.holes:
                    assert np.hypot(*(centers["front_tab"] - (y, z)).T).min() < 0.01
                end = scene.engine_point(foot.x_rear + foot.thickness / 2.0, *foot.end)
                assert end[1:] == pytest.approx((sign * scene.chassis.rails.half_spacing, scene.chassis.rails.height), abs=1e-6)
        support = support_tube.spec(car.mounts.support_tube, scene)
        for end, sign in ((support.start, -1.0), (support.end, 1.0)):
            assert scene.engine_point(*end)[1] == pytest.approx(sign * scene.chassis.uprights.half_spacing, abs=1e-6)
        for side in SIDES:
            tie = tie_tab.spec(car.plates.mid, given, car.mounts.support_tube, scene, side)
            assert np.hypot(*(centers["rail_tab"] - (tie.y, tie.hole_z)).T).min() < 0.01
            # Against the plate, and touching the tube along its lowest line.
            assert tie.x_front == pytest.approx(mid.x_rear, abs=1e-9)
            assert tie.z_top == pytest.approx(support.start[2] - support.outer_diameter / 2.0, abs=1e-9)
            assert tie.x_rear < support.start[0] < tie.x_front - tie.thickness - tie.bend_radius
        made, pad, member = mount_of(car, scene), scene.transmission.mount_pad, car.mounts.cross_member
        sides[made.side] += 1
        assert made.pad == pytest.approx((-scene.stack.total - pad.from_bell, 0.0, -pad.below_axis))
        foot = scene.engine_point(*made.member_point)
        assert foot[[0, 2]] == pytest.approx((cross_member.station(member, scene.chassis), member.z))
        # The tube stands on its member or close beside it and ends in the tab, which covers both its head and the pad.
        rear, front = made.tab_span
        assert rear <= made.reach - made.outer_diameter / 2.0 and made.reach + made.outer_diameter / 2.0 <= front
        assert rear <= -mount_layout.TAB_LENGTH / 2.0 and front >= mount_layout.TAB_LENGTH / 2.0
        assert made.under - made.receiver_span[1] >= mount_layout.TOP_GAP - 1e-9
        # Bolt in double shear with its edge distance in the tube's end and in the receiver's.
        assert made.bolt_seat[2] - made.tube_low >= 1.5 * made.cross_bolt - 1e-9
        assert made.receiver_span[1] - made.bolt_seat[2] >= 1.5 * made.cross_bolt - 1e-9
        # Beside the member, not in it; ahead of it never where the pan comes back.
        gap = abs(made.aside) - (made.member_diameter + made.receiver_diameter) / 2.0
        assert gap == pytest.approx(mount_layout.SIDE_GAP) if made.side else made.aside == 0.0
        assert off_square(made.member_axis, transmission_mount.axis(made)) < math.radians(0.1)
        if made.side == 1 and scene.transmission.pan:
            pan_rear = -(scene.stack.total + scene.transmission.pan.from_bell_rear)
            assert made.head[0] + made.receiver_diameter / 2.0 < pan_rear - scene.transmission.disengage_travel
    assert set(sides) == {0, 1, -1} and sides[0] > 0.5 * NUMBERS


# ---------------------------------------------------------------------------------------------------------- solids

def matrix_of(scene):
    r, o = scene.engine_frame.rotation, scene.engine_frame.origin
    return App.Placement(App.Matrix(*r[0], o[0], *r[1], o[1], *r[2], o[2], 0, 0, 0, 1))


def rails_of(scene):
    """The rails in the engine frame, made in the car frame from the chassis alone; no longer than the parts need."""
    rails, back = scene.chassis.rails, matrix_of(scene).inverse()
    found = {}
    for side, sign in SIDES.items():
        bar = Part.makeCylinder(rails.section.outer_diameter / 2, 1200.0,
                                App.Vector(scene.engine_frame.origin[0] - 300.0, sign * rails.half_spacing,
                                                                                     rails.height), App.Vector(1, 0, 0))
        bar.Placement = back.multiply(bar.Placement)
        found[side] = bar
    return found


def coped_volume(spec, angles=2000, rings=20):
    """Volume of a straight tube along y that bars cut at its ends: its length line by line between the surfaces of the bars."""
    turn = (np.arange(angles) + 0.5) / angles * math.tau
    total = 0.0
    for radius in spec.outer_diameter / 2 - spec.wall + spec.wall * (np.arange(rings) + 0.5) / rings:
        low, high = np.full(angles, spec.start[1]), np.full(angles, spec.end[1])
        for header in spec.headers:
            axis = np.array(header.direction) / np.linalg.norm(header.direction)
            line = np.stack([spec.start[0] + radius * np.cos(turn), np.zeros(angles), spec.start[2] + radius * np.sin(turn)])
            off = line - np.array(header.point)[:, None]
            off -= np.outer(axis, axis @ off)
            along = np.array([0.0, 1.0, 0.0]) - axis * axis[1]
            a, b, c = along @ along, 2.0 * along @ off, (off ** 2).sum(0) - (header.diameter / 2) ** 2
            root = b * b - 4.0 * a * c
            half = np.where(root > 0.0, np.sqrt(np.maximum(root, 0.0)) / (2.0 * a), np.nan)
            if header.point[1] < 0.0:
                low = np.fmax(low, -b / (2.0 * a) + half)
            else:
                high = np.fmin(high, -b / (2.0 * a) - half)
        total += ((high - low) * radius).sum() * math.tau / angles * spec.wall / rings
    return total


def sound(shape, key, shells=1):
    assert shape.ShapeType == "Solid" and shape.isValid() and shape.Volume > 0.0 and len(shape.Shells) == shells, key


def stations(shape):
    """Lowest and highest x of a solid's corners."""
    xs = [vertex.X for vertex in shape.Vertexes]
    return min(xs), max(xs)


def hole_axes(shape, diameter, direction):
    """Points on the axes of cylindrical faces of a diameter along a direction."""
    return [f.Surface.Center for f in shape.Faces if f.Surface.TypeId == "Part::GeomCylinder"
            and abs(2.0 * f.Surface.Radius - diameter) < 1e-6 and abs(abs(f.Surface.Axis.dot(direction)) - 1.0) < 1e-9]


@pytest.mark.parametrize("name", cars.EACH)
def test_solids_over_placements(name, solids):
    forward = App.Vector(1, 0, 0)
    for number, car in enumerate(placements(name, solids(SOLIDS), 7)):
        scene, given = scenes.of(car), car.mounts.rail_tabs
        rails = rails_of(scene)
        mid, front = plate_specs(car, scene)
        shapes = {"mid_plate": mid_plate.build(mid), "front_plate": front_plate.build(front)}
        for key, flat, thickness in (("mid_plate", mid_plate.flat(mid), mid.thickness),
                                     ("front_plate", front_plate.flat(front), front.thickness)):
            assert shapes[key].Volume == pytest.approx(flat.area * thickness, rel=1e-9)
        drilled = {key: [(c.y, c.z) for c in hole_axes(shapes[key], given.bolt + rail_clamp.HOLE_CLEARANCE, forward)] for key in shapes}
        for key, spec in tabs_of(car, scene).items():
            shape, side = rail_tab.build(spec), key.split("/")[1].split("_")[0]
            shapes[key], of = shape, "mid_plate" if key.startswith("rail_tab") else "front_plate"
            assert come_within(shape, rails[side], 0.05) and shape.common(rails[side]).Volume < 1e-2, key
            # Both faces are square to the crank, so their stations say the gap; the solids are asked for some.
            (rear, ahead), (low, high) = stations(shape), stations(shapes[of])
            assert max(rear - high, low - ahead) == pytest.approx(given.gap, abs=1e-6), key
            if number < MESHES:
                assert shape.distToShape(shapes[of])[0] == pytest.approx(given.gap, abs=1e-6), key
            axes = hole_axes(shape, given.bolt + rail_clamp.HOLE_CLEARANCE, forward)
            assert len(axes) == given.bolts_per_rail
            for c in axes:
                assert min(math.hypot(c.y - y, c.z - z) for y, z in drilled[of]) < 0.01, key
        if car.plates.front.kind == "narrow":
            for side in SIDES:
                shape = shapes[f"plate_foot/{side}"] = plate_foot.build(plate_foot.spec(car.plates.front, given, scene, side))
                assert come_within(shape, rails[side], 0.05)
                if number < MESHES:
                    assert shape.common(rails[side]).Volume < 1e-2 and come_within(shape, shapes["front_plate"], 1e-6)
        if number < MESHES:
            if car.plates.protector:
                shapes["protector"] = protector.build(protector.spec(car.plates.protector, scene))
            support = shapes["support_tube"] = support_tube.build(support_tube.spec(car.mounts.support_tube, scene))
            for side in SIDES:
                spec = tie_tab.spec(car.plates.mid, given, car.mounts.support_tube, scene, side)
                shape = shapes[f"tie_tab/{side}"] = tie_tab.build(spec)
                assert come_within(shape, support, 1e-6) and shape.common(support).Volume < 1e-3
                assert come_within(shape, shapes["mid_plate"], 1e-6) and shape.common(shapes["mid_plate"]).Volume < 1e-3
                # Pappus: the L's section over its width, less the bolt's hole.
                closed = spec.thickness * tie_tab.developed_length(spec) * spec.width - math.pi / 4 * spec.hole ** 2 * spec.thickness
                assert shape.Volume == pytest.approx(closed, rel=1e-6)
            made = mount_of(car, scene)
            shapes["transmission_mount"], shapes["receiver"] = transmission_mount.build(made), receiver.build(receiver.taking(made))
            shapes["receiver"].translate(App.Vector(*made.foot))
            assert shapes["transmission_mount"].common(shapes["receiver"]).Volume < 1e-3
            for key, shape in shapes.items():
                # Chords cut curves short; at 0.01 mm that is far below the tolerance, in thin walls too.
                if key == "support_tube":
                    assert measure.volume(shape) == pytest.approx(coped_volume(support_tube.spec(car.mounts.support_tube, scene)), rel=1e-3)
                assert mesh_volume(shape) == pytest.approx(measure.volume(shape), rel=1e-3), key
        for key, shape in shapes.items():
            sound(shape, key)


@pytest.mark.parametrize("name", cars.EACH)
def test_limiter_strut_meets_plate_and_rail(name):
    strut, low_high = filled(STRUTS[name]), REACH[name]
    rng, stood = np.random.default_rng(5), 0
    for number in range(6):
        car = replace(car_of(name), placement=replace(car_of(name).placement, axle_to_block=rng.uniform(78, 88) * INCH, pitch_mode="fixed",
                                                      crank_height=rng.uniform(*low_high) * INCH, pitch=math.radians(rng.uniform(0, 3.5))))
        scene = scenes.of(car)
        rail = rails_of(scene)[strut.side]
        plate = front_plate.build(plate_specs(car, scene, strut)[1])
        spec = limiter_strut.spec(strut, scene)
        body = limiter_strut.build(spec)
        bracket, seat = (limiter_bracket.build(limiter_bracket.spec(strut, scene, end)) for end in limiter_bracket.ENDS)
        sound(body, "strut", shells=2)          # the tube is closed by its two bungs: a hollow within
        for key, shape in (("bracket", bracket), ("seat", seat), ("front plate", plate)):
            sound(shape, key)
        assert come_within(seat, rail, 0.05) and seat.common(rail).Volume < 1e-2
        assert stations(bracket)[1] == pytest.approx(stations(plate)[0], abs=1e-6)
        assert not come_within(body, rail, 1.0) and stations(body)[1] < stations(plate)[0] - 1.0
        hole = strut.bolt + rail_clamp.HOLE_CLEARANCE
        for holder in (bracket, seat):
            assert come_within(body, holder, 1e-6) and body.common(holder).Volume < 1e-3
            # Rod end and ears on one upright axis.
            axes = hole_axes(holder, hole, App.Vector(0, 0, 1))
            bores = hole_axes(body, strut.bolt, App.Vector(0, 0, 1))
            assert len(axes) == 2 and all(min(math.hypot(a.x - b.x, a.y - b.y) for b in bores) < 0.01 for a in axes)
        plate_holes = hole_axes(plate, hole, App.Vector(1, 0, 0))
        for axis in hole_axes(bracket, hole, App.Vector(1, 0, 0)):
            assert min(math.hypot(axis.y - c.y, axis.z - c.z) for c in plate_holes) < 0.01
        if number == 0:
            for shape in (body, bracket, seat):
                assert mesh_volume(shape) == pytest.approx(shape.Volume, rel=1e-3)
            # Closed form of the bracket: web, and two ears with a round end, their holes off.
            b, t, half = strut.bolt, strut.bracket_thickness, 1.5 * strut.bolt
            web = limiter_bracket.web(limiter_bracket.spec(strut, scene, "plate")).area * t
            ear = (2.0 * half * 1.6 * b + math.pi / 2.0 * half ** 2 - math.pi / 4.0 * hole ** 2) * t
            assert bracket.Volume == pytest.approx(web + 2.0 * ear, rel=1e-9)
        stood += 1
    assert stood == 6


# ------------------------------------------------------------------------------------------------ openings, by area

@pytest.mark.one_host
def test_openings_that_run_into_each_other_against_sampling():
    """Area of merged openings against counting points of a grid; rounded cusps take off what they should: a little."""
    from crankline.geometry.openings import merged
    rng = np.random.default_rng(3)
    step = 0.25
    row = np.arange(-130, 130, step) + step / 2
    for _number in range(25):
        circles = [(0.0, 0.0, 100.0)]
        for angle in rng.uniform(0, 0.3, 3) + np.array([0.0, 2.1, 4.2]):
            reach, diameter = rng.uniform(40, 75), rng.uniform(20, 60)
            circles.append((reach * math.cos(angle), reach * math.sin(angle), diameter))
        inside = np.zeros((len(row), len(row)), bool)
        for a, b, d in circles:
            inside |= ((row - a) ** 2)[None] < (d * d / 4 - (row - b) ** 2)[:, None]
        sharp, smooth = (sum(item.area for item in merged(circles, r)) for r in (0.0, 3.0))
        assert sharp == pytest.approx(inside.sum() * step ** 2, rel=2e-3), circles
        assert 0.0 <= smooth - sharp < 3 * 2 * 9.0
        for item in merged(circles):
            outline.Flat(outline.polygon([(-300, -300), (300, -300), (300, 300), (-300, 300)]), (item,)).checked("x")
            if isinstance(item, outline.Loop):
                # Tangent all round: no corner is left.
                for s, t in zip(item.segments, item.segments[1:] + item.segments[:1]):
                    u, v = ((q.yc - q.y1, q.zc - q.z1) if q is s else (q.yc - q.y0, q.zc - q.z0) for q in (s, t))
                    assert abs(u[0] * v[1] - u[1] * v[0]) < 1e-6 * math.hypot(*u) * math.hypot(*v)
