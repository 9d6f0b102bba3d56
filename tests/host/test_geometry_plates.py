"""Plates, tabs, feet and envelopes as solids: valid, true to their numbers, clear of the rails, for many placements.

Volumes are compared with closed forms or with an integral that knows nothing of the builder; the rails that plates must
clear and tabs must touch are made here, in the car frame, from the chassis record alone.
"""
import math
from dataclasses import replace
from functools import cache

import cars
import FreeCAD as App
import numpy as np
import Part
import pytest
from closed_forms import least_wall
from conftest import ROOT
from oracles import come_within

from crankline import carfile, model
from crankline.geometry import (
    engine_envelope,
    front_plate,
    mid_plate,
    plate,
    plate_foot,
    protector,
    rail_clamp,
    rail_tab,
    transmission_envelope,
)
from crankline.mechanics import scene as scenes
from crankline.record import filled

INCH = 25.4
CARS = ("full_bodied_automatic", "open_clutch")
TABS = [(side, face) for side in ("left", "right") for face in ("front", "rear")]


@cache
def car_of(name):
    car = carfile.read(str(ROOT / "demo_assemblies" / f"{name}.yaml"))
    return replace(car, plates=filled(car.plates), mounts=filled(car.mounts))


def placed(car, **changes):
    return replace(car, placement=replace(car.placement, **changes))


def random_cars(name, number, seed):
    rng = np.random.default_rng(seed)
    for _ in range(number):
        yield placed(car_of(name), axle_to_block=rng.uniform(78, 88) * INCH, crank_height=rng.uniform(9, 11.5) * INCH,
                     pitch_mode="fixed", pitch=math.radians(rng.uniform(0, 3.5)), lateral=rng.uniform(-0.75, 0.75) * INCH,
                     roll=math.radians(rng.uniform(-0.5, 0.5)), yaw=math.radians(rng.uniform(-0.5, 0.5)))


def mid_spec(car, scene):
    return mid_plate.spec(car.plates.mid, car.mounts.rail_tabs, car.mounts.support_tube, scene)


def tab_spec(car, scene, side, face, level="lower"):
    return rail_tab.spec(car.mounts.rail_tabs, scene.stack.mid_plate, -scene.stack.total, scene, side, face, level)


def front_spec(car, scene):
    return front_plate.spec(car.plates.front, car.mounts.rail_tabs, scene)


def placement_of(frame):
    r, o = frame.rotation, frame.origin
    return App.Placement(App.Matrix(*r[0], o[0], *r[1], o[1], *r[2], o[2], 0, 0, 0, 1))


def in_car(shape, scene):
    moved = shape.copy()
    moved.Placement = placement_of(scene.engine_frame)
    return moved


def rail_in_car(scene, side, height=None):
    rails = scene.chassis.rails
    y = rails.half_spacing if side == "left" else -rails.half_spacing
    return Part.makeCylinder(rails.section.outer_diameter / 2, 4000.0, App.Vector(0, y, height or rails.height), App.Vector(1, 0, 0))


def assert_solid(shape):
    assert shape.ShapeType == "Solid" and shape.isValid() and shape.Volume > 0.0
    assert len(shape.Shells) == 1


def box(shape):
    b = shape.copy(True, False).optimalBoundingBox(False)
    return b.XMin, b.XMax, b.YMin, b.YMax, b.ZMin, b.ZMax


def stations(shape):
    """Lowest and highest x of a solid's corners."""
    xs = [vertex.X for vertex in shape.Vertexes]
    return min(xs), max(xs)


def drilled_at(shape, y, z, diameter, x):
    """Whether a round hole runs through at (y, z): air inside its edge, material just outside."""
    air = all(not shape.isInside(App.Vector(x, y + 0.499 * diameter * math.cos(a), z + 0.499 * diameter * math.sin(a)), 1e-7, True)
              for a in np.linspace(0, 2 * math.pi, 8, endpoint=False))
    solid = all(shape.isInside(App.Vector(x, y + 0.501 * diameter * math.cos(a), z + 0.501 * diameter * math.sin(a)), 1e-7, True)
                for a in np.linspace(0, 2 * math.pi, 8, endpoint=False))
    return air and solid


# ------------------------------------------------------------------------------------------------------ mid plate

@pytest.mark.parametrize("name", cars.EACH)
def test_mid_plate(name):
    car = car_of(name)
    scene = scenes.of(car)
    spec = mid_spec(car, scene)
    flat, shape = mid_plate.flat(spec), mid_plate.build(spec)
    assert_solid(shape)
    mid = car.plates.mid
    assert shape.Volume == pytest.approx(flat.area * mid.thickness, rel=1e-9)
    assert shape.Area == pytest.approx(2 * flat.area + flat.cut_length * mid.thickness, rel=1e-9)
    assert (shape.CenterOfMass.y, shape.CenterOfMass.z) == pytest.approx(flat.centroid, abs=1e-6)
    x0, x1, y0, y1, z0, z1 = box(shape)
    front = -(car.plates.protector.thickness if car.plates.protector else 0.0)
    assert (x0, x1) == pytest.approx((front - mid.thickness, front), abs=1e-3)
    assert (z0, z1) == pytest.approx((-mid.below_crank, mid.above_crank), abs=1e-3)
    assert y1 - y0 == pytest.approx(2 * mid.half_width, abs=1e-3)
    # Both ears reach equally far over their rails: the plate stands about the car's center plane.
    assert scene.engine_point(front, (y0 + y1) / 2)[1] == pytest.approx(0.0, abs=0.05)
    middle = front - mid.thickness / 2
    for y, z, diameter in scene.engine.rear_holes:
        assert drilled_at(shape, y, z, diameter, middle)
    assert drilled_at(shape, 0.0, 0.0, mid.center_opening, middle)
    for hole in mid_plate.tie_holes(mid, car.mounts.rail_tabs, car.mounts.support_tube, scene):
        assert drilled_at(shape, *hole, middle)
        assert hole[1] < car.mounts.support_tube.above_crank - car.mounts.support_tube.section.outer_diameter / 2
    assert len(flat.holes) == 1 + len(scene.engine.rear_holes) + 2 * car.mounts.rail_tabs.bolts_per_rail + 2
    for hole in flat.holes:
        assert least_wall(flat, hole) > 2.0


@pytest.mark.parametrize("name", cars.EACH)
def test_tabs_touch_the_rail_clamp_the_plate_and_line_up(name):
    for number, car in enumerate([car_of(name), *random_cars(name, 4, 7)]):
        scene = scenes.of(car)
        tabs = car.mounts.rail_tabs
        plate_spec = mid_spec(car, scene)
        plate_ = mid_plate.build(plate_spec)
        solid = in_car(plate_, scene)
        assert_solid(solid)
        plate_holes = {(h.y, h.z): h.diameter for h in mid_plate.flat(plate_spec).holes}
        for side in ("left", "right"):
            rail = rail_in_car(scene, side)
            clear = solid.distToShape(rail)[0]
            assert rail_clamp.RAIL_CLEARANCE - 0.5 <= clear <= rail_clamp.RAIL_CLEARANCE + 0.5
            for face in ("front", "rear"):
                spec = tab_spec(car, scene, side, face)
                local = rail_tab.build(spec)
                shape = in_car(local, scene)
                assert_solid(shape)
                assert come_within(shape, rail, 0.05)
                assert shape.common(rail).Volume < 1e-3
                # Both faces are square to the crank, so their stations say the gap; of the demo itself the solids are asked too.
                (rear, ahead), (low, high) = stations(local), stations(plate_)
                assert max(rear - high, low - ahead) == pytest.approx(tabs.gap, abs=1e-6)
                if number == 0:
                    assert shape.distToShape(solid)[0] == pytest.approx(tabs.gap, abs=1e-6)
                for y, z, diameter in spec.holes:
                    nearest = min(plate_holes, key=lambda p: math.hypot(p[0] - y, p[1] - z))
                    assert math.hypot(nearest[0] - y, nearest[1] - z) < 0.01 and plate_holes[nearest] == diameter
                if number == 0:
                    for hole in spec.holes:
                        assert drilled_at(local, *hole, spec.x_rear + tabs.thickness / 2)


@pytest.mark.parametrize("name", cars.EACH)
@pytest.mark.parametrize("side, face", TABS)
def test_tab_touches_over_its_whole_thickness_and_volume(name, side, face):
    car = next(random_cars(name, 1, 3))
    scene = scenes.of(car)
    spec = tab_spec(car, scene, side, face)
    shape = rail_tab.build(spec)
    rail = rail_in_car(scene, side)
    for x in (spec.x_rear, spec.x_rear + spec.thickness):
        wire = [e for e in shape.Edges if abs(e.BoundBox.XMin - x) < 1e-6 and abs(e.BoundBox.XMax - x) < 1e-6]
        nearest = min(in_car(e, scene).distToShape(rail)[0] for e in wire)
        assert nearest < 0.001
    # Volume by quadrature over columns y: the rail's surface is asked in the car frame, point by point.
    n = 1500
    y = spec.y + spec.width * ((np.arange(n) + 0.5) / n - 0.5)
    xs, weights = np.polynomial.legendre.leggauss(4)
    total = 0.0
    radius, rails = scene.chassis.rails.section.outer_diameter / 2, scene.chassis.rails
    center = np.array([0.0, rails.half_spacing if side == "left" else -rails.half_spacing, rails.height])
    r = spec.corner_radius
    edge = np.abs(y - spec.y) - (spec.width / 2 - r)
    top = spec.z_top - np.where(edge > 0, r - np.sqrt(np.maximum(r * r - edge ** 2, 0)), 0.0)
    for x, weight in zip(spec.x_rear + spec.thickness * (xs + 1) / 2, weights * spec.thickness / 2):
        # |car(y,z)_perp| = radius, solved for the upper z of the column.
        turned = scene.engine_frame.rotation
        base = turned @ np.stack([np.full(n, x), y, np.zeros(n)]) + (scene.engine_frame.origin - center)[:, None]
        u, w = base[1:], turned[1:, 2][:, None]
        a, b, c = (w * w).sum(0), 2 * (u * w).sum(0), (u * u).sum(0) - radius ** 2
        root = b * b - 4 * a * c
        saddle = np.where(root > 0, (-b + np.sqrt(np.maximum(root, 0))) / (2 * a), -np.inf)
        total += weight * (top - np.maximum(saddle, spec.z_low)).sum() * spec.width / n
    total -= sum(math.pi / 4 * d * d for _, _, d in spec.holes) * spec.thickness
    assert shape.Volume == pytest.approx(total, rel=1e-3)


@pytest.mark.parametrize("name", cars.EACH)
def test_laser_flat_of_a_tab_clears_the_rail_and_leaves_little_to_weld(name):
    for car in random_cars(name, 10, 11):
        scene = scenes.of(car)
        for side, face in TABS:
            spec = tab_spec(car, scene, side, face)
            flat = rail_tab.flat(spec)
            rail = rail_clamp.rail_line(scene, side)
            blank = in_car(plate.solid(flat, spec.x_rear, spec.thickness), scene)
            assert_solid(blank)
            assert blank.common(rail_in_car(scene, side)).Volume < 1e-2
            assert come_within(blank, rail_in_car(scene, side), 0.1)
            assert 0.0 <= rail_tab.build(spec).Volume - blank.Volume < spec.thickness ** 2 * 1.5 * spec.width * (
                abs(rail.slope_z) + abs(rail.slope_y)) + 1.0


@pytest.mark.parametrize("name", cars.EACH)
def test_mid_plate_sweep_of_placements(name):
    """100 placements of each car: flat plates pass their checks and every 25th is built, with feet that touch the rail."""
    for number, car in enumerate(random_cars(name, 100, 2)):
        scene = scenes.of(car)
        spec = mid_spec(car, scene)
        flat = mid_plate.flat(spec)
        assert min(least_wall(flat, h) for h in flat.holes) > 2.0
        front_plate.flat(front_spec(car, scene))
        if number % 25 == 0:
            assert_solid(mid_plate.build(spec))
            if car.plates.protector:
                assert_solid(protector.build(protector.spec(car.plates.protector, scene)))
            front = front_spec(car, scene)
            body = front_plate.build(front)
            assert_solid(body)
            if car.plates.front.kind == "narrow":
                for side in ("left", "right"):
                    foot = plate_foot.build(plate_foot.spec(car.plates.front, car.mounts.rail_tabs, scene, side))
                    assert_solid(foot)
                    assert come_within(in_car(foot, scene), rail_in_car(scene, side), 0.05)


def test_double_rail_plate_stands_clear_of_both_rails():
    car = car_of("full_bodied_automatic")
    chassis = replace(car.chassis, rails=replace(car.chassis.rails, kind="double", upper_height=15.0 * INCH))
    car = replace(car, chassis=chassis, plates=replace(car.plates, mid=replace(car.plates.mid, kind="double_rail")))
    scene = scenes.of(car)
    shape = in_car(mid_plate.build(mid_spec(car, scene)), scene)
    assert_solid(shape)
    for side in ("left", "right"):
        for level, height in (("lower", chassis.rails.height), ("upper", chassis.rails.upper_height)):
            rail = rail_in_car(scene, side, height)
            assert shape.distToShape(rail)[0] == pytest.approx(rail_clamp.RAIL_CLEARANCE, abs=0.5)
            tab = in_car(rail_tab.build(tab_spec(car, scene, side, "rear", level)), scene)
            assert come_within(tab, rail, 0.05)
            assert tab.distToShape(shape)[0] == pytest.approx(car.mounts.rail_tabs.gap, abs=1e-6)


def test_axle_to_block_and_the_shapes():
    """Moving the powertrain along the car changes no spec: a rail runs along the car. Crank height changes ears and tabs."""
    car = placed(car_of("full_bodied_automatic"), pitch_mode="fixed", pitch=math.radians(2.0))
    a, b = scenes.of(car), scenes.of(placed(car, axle_to_block=car.placement.axle_to_block + INCH))
    assert mid_spec(car, a) == mid_spec(car, b)
    assert all(tab_spec(car, a, *t) == tab_spec(car, b, *t) for t in TABS)
    assert front_spec(car, a) == front_spec(car, b)
    lifted = scenes.of(placed(car, crank_height=car.placement.crank_height + INCH))
    assert mid_spec(car, a) != mid_spec(car, lifted)
    assert protector.spec(car.plates.protector, a) == protector.spec(car.plates.protector, lifted)


# ------------------------------------------------------------------------------------------- protector, front plate

def test_protector_covers_block_and_pan_and_fills_its_place_in_the_stack():
    car = car_of("full_bodied_automatic")
    scene = scenes.of(car)
    spec = protector.spec(car.plates.protector, scene)
    shape, flat = protector.build(spec), protector.flat(spec)
    assert_solid(shape)
    assert shape.Volume == pytest.approx(flat.area * car.plates.protector.thickness, rel=1e-9)
    x0, x1, y0, y1, z0, z1 = box(shape)
    assert (x0, x1) == pytest.approx((-car.plates.protector.thickness, 0.0), abs=1e-3)
    assert z0 == pytest.approx(-scene.engine.pan.depth, abs=1e-3)
    assert max(y1, -y0) == pytest.approx(scene.engine.block_half_width, abs=2.5)
    for y, z, diameter in scene.engine.rear_holes:
        assert drilled_at(shape, y, z, diameter, -1.0)
    assert drilled_at(shape, 0.0, 0.0, car.plates.protector.crank_opening, -1.0)
    # Plates lie against each other and against block and bell, without reaching into each other.
    mid = mid_plate.build(mid_spec(car, scene))
    engine = engine_envelope.build(engine_envelope.spec(scene.engine, scene))
    bell = transmission_envelope.build(transmission_envelope.spec(scene.transmission, scene))
    for a, b in ((engine, shape), (shape, mid), (mid, bell)):
        assert come_within(a, b, 1e-7) and a.common(b).Volume < 1e-6


@pytest.mark.parametrize("name", cars.EACH)
def test_front_plate_stands_on_the_block_and_clears_the_damper(name):
    car = car_of(name)
    scene = scenes.of(car)
    spec = front_spec(car, scene)
    shape, flat = front_plate.build(spec), front_plate.flat(spec)
    assert_solid(shape)
    front = car.plates.front
    assert shape.Volume == pytest.approx(flat.area * front.thickness, rel=1e-9)
    assert box(shape)[:2] == pytest.approx((scene.engine.block_length, scene.engine.block_length + front.thickness), abs=1e-3)
    x = scene.engine.block_length + front.thickness / 2
    for y, z, diameter in scene.engine.front_holes:
        assert drilled_at(shape, y, z, diameter, x)
    damper = Part.makeCylinder(scene.engine.damper_diameter / 2, 60.0, App.Vector(scene.engine.block_length, 0, 0), App.Vector(1, 0, 0))
    assert shape.distToShape(damper)[0] == pytest.approx(front_plate.DAMPER_CLEARANCE, abs=1e-6)
    for side in ("left", "right"):
        assert not come_within(in_car(shape, scene), rail_in_car(scene, side), rail_clamp.RAIL_CLEARANCE - 0.5)
    if front.kind == "wide":
        y0, y1 = box(shape)[2:4]
        assert y1 - y0 == pytest.approx(2 * front.half_width, abs=1e-3)
        for side, face in TABS:
            tab = rail_tab.build(rail_tab.spec(car.mounts.rail_tabs, front.thickness, scene.engine.block_length, scene, side, face))
            assert tab.distToShape(shape)[0] == pytest.approx(car.mounts.rail_tabs.gap, abs=1e-6)
    else:
        for side in ("left", "right"):
            foot_spec = plate_foot.spec(front, car.mounts.rail_tabs, scene, side)
            foot = plate_foot.build(foot_spec)
            assert_solid(foot)
            assert come_within(foot, shape, 1e-7) and foot.common(shape).Volume < 1e-3
            rail = rail_in_car(scene, side)
            assert come_within(in_car(foot, scene), rail, 0.05) and in_car(foot, scene).common(rail).Volume < 1e-2
            for y, z, diameter in foot_spec.holes:
                assert drilled_at(foot, y, z, diameter, foot_spec.x_rear + foot_spec.thickness / 2)
                assert any(math.hypot(h.y - y, h.z - z) < 0.01 and h.diameter == diameter for h in flat.holes)
            local = rail_clamp.rail_line(scene, side).at(foot_spec.x_rear)[0]
            assert 0 < abs(foot_spec.holes[0][0]) < abs(local)


# ------------------------------------------------------------------------------------------------------- envelopes

@pytest.mark.parametrize("name", cars.EACH)
def test_engine_envelope_is_true_to_its_numbers(name):
    scene = scenes.of(car_of(name))
    engine = scene.engine
    shape = engine_envelope.build(engine_envelope.spec(engine, scene))
    assert_solid(shape)
    x0, x1, y0, y1, z0, _ = box(shape)
    assert (x0, x1) == pytest.approx((0.0, engine.block_length + engine.nose_ahead_of_front_face), abs=1e-3)
    assert (y0, y1) == pytest.approx((-engine.block_half_width, engine.block_half_width), abs=1e-3)
    assert z0 == pytest.approx(-engine.pan.depth, abs=1e-3)
    section = np.array(engine_envelope.block_section(engine))
    area = abs(np.sum(section[:, 0] * np.roll(section[:, 1], -1) - np.roll(section[:, 0], -1) * section[:, 1])) / 2
    pan = engine.pan
    volume = (area * engine.block_length + (pan.x_front - pan.x_rear) * 2 * pan.half_width * (pan.depth - engine.base_drop)
              + math.pi / 4 * engine.damper_diameter ** 2 * engine.nose_ahead_of_front_face)
    assert shape.Volume == pytest.approx(volume, rel=1e-6)
    # Each deck lies square to its bank at the deck height.
    for sign in (1.0, -1.0):
        bank = np.array([0.0, sign, 1.0]) / math.sqrt(2.0)
        deck = [f for f in shape.Faces if f.Surface.TypeId == "Part::GeomPlane"
                and abs(abs(np.dot(np.array(f.normalAt(0, 0)), bank)) - 1.0) < 1e-9 and f.CenterOfMass.dot(App.Vector(*bank)) > 0.9
                * engine.deck_height]
        assert len(deck) == 1 and deck[0].CenterOfMass.dot(App.Vector(*bank)) == pytest.approx(engine.deck_height, abs=1e-6)
    behind = Part.makeBox(pan.x_rear + 10.0, 2000, 1000, App.Vector(-10.0, -1000, -1000 - engine.base_drop))
    assert shape.common(behind).Volume < 1e-6           # nothing hangs below the block behind the pan


@pytest.mark.parametrize("kind", ["V8", "V6", "V10", "V12", "inline"])
def test_block_sections_of_every_layout_are_sound(kind):
    base = scenes.of(car_of("open_clutch")).engine
    for half in (8.8, 10.0, 12.0):
        engine = replace(base, kind=kind, block_half_width=half * INCH)
        section = np.array(engine_envelope.block_section(engine))
        assert np.abs(section[:, 0]).max() == pytest.approx(half * INCH)
        assert section[:, 1].min() == pytest.approx(-engine.base_drop)
        assert engine_envelope.flat(engine_envelope.Spec(100.0, tuple(map(tuple, section)), None, 1.0, 0.0)).area > 0


@pytest.mark.parametrize("name", cars.EACH)
def test_transmission_envelope_is_true_to_its_numbers(name):
    scene = scenes.of(car_of(name))
    given = scene.transmission
    spec = transmission_envelope.spec(given, scene)
    shape = transmission_envelope.build(spec)
    assert_solid(shape)
    face = -scene.stack.total
    x0, x1, y0, y1, z0, _ = box(shape)
    assert (x0, x1) == pytest.approx((face - given.bell_to_seal, face), abs=1e-3)
    assert (y0, y1) == pytest.approx((-given.bell_radius, given.bell_radius), abs=1e-3)

    def slab(front, rear):
        return shape.common(Part.makeBox(rear - front, 2000, 2000, App.Vector(face - rear, -1000, -1000)))

    if given.pan:
        low = slab(given.pan.from_bell_front + 1, given.pan.from_bell_rear - 1)
        assert box(low)[4] == pytest.approx(-given.pan.below_axis, abs=1e-3)
        under = low.common(Part.makeBox(4000, 2000, 1000, App.Vector(-3000, -1000, -1000 - spec.case_below - 1)))
        assert box(under)[3] == pytest.approx(given.pan.half_width, abs=1e-3)
    pad = slab(given.mount_pad.from_bell - 1, given.mount_pad.from_bell + 1)
    assert box(pad)[4] == pytest.approx(-given.mount_pad.below_axis, abs=1e-3)
    case = slab(spec.bell_depth + 1, spec.case_end - 1)
    assert box(case)[2:4] == pytest.approx((-max(given.case_half_width, given.pan.half_width if given.pan else 0),
                                           max(given.case_half_width, given.pan.half_width if given.pan else 0)), abs=1e-3)
    if given.case_below_axis and not given.pan:
        assert box(case)[4] == pytest.approx(-given.case_below_axis, abs=1e-3)
    # Closed form: frustum, prism, cylinder, pan, and the pad less what the tail takes of it.
    r, s, length = spec.bell_radius, min(spec.bell_radius, spec.case_half_width), spec.bell_depth
    w, t = min(transmission_envelope.PAD_HALF_WIDTH, 0.8 * spec.tail_radius), spec.tail_radius
    pad_front = max(spec.pad_station - transmission_envelope.PAD_LENGTH / 2, spec.case_end)
    pad_rear = min(spec.pad_station + transmission_envelope.PAD_LENGTH / 2, spec.length)
    shared = w * math.sqrt(t * t - w * w) + t * t * math.asin(w / t)
    volume = (math.pi * length / 3 * (r * r + r * s + s * s)
              + (spec.case_end - length) * 2 * spec.case_half_width * (spec.case_above + spec.case_below)
              + math.pi * t * t * (spec.length - spec.case_end)
              + max(0.0, pad_rear - pad_front) * (2 * w * spec.pad_below - shared))
    if spec.pan:
        volume += (spec.pan[1] - spec.pan[0]) * 2 * spec.pan[2] * (spec.pan[3] - spec.case_below)
    assert shape.Volume == pytest.approx(volume, rel=1e-6)


# -------------------------------------------------------------------------------------------------------- refusals

def _mid(car, **changes):
    return replace(car, plates=replace(car.plates, mid=replace(car.plates.mid, **changes)))


def _front(car, **changes):
    return replace(car, plates=replace(car.plates, front=replace(car.plates.front, **changes)))


def _rails(car, **changes):
    return replace(car, chassis=replace(car.chassis, rails=replace(car.chassis.rails, **changes)))


def _engine(car, **changes):
    return replace(car, engine=replace(car.engine, **changes))


def _transmission(car, **changes):
    return replace(car, transmission=replace(car.transmission, **changes))


REFUSED = [
    ("plates.mid.half_width", lambda c: _mid(c, half_width=13.0 * INCH), mid_spec),
    ("plates.mid.center_opening", lambda c: _mid(c, center_opening=26.0 * INCH), mid_spec),
    ("plates.mid.center_opening: 3.000 in does not pass the crank flange; give at least 3.", lambda c: _mid(c, center_opening=3.0 * INCH),
     mid_spec),
    ("plates.mid", lambda c: _mid(c, center_opening=13.4 * INCH), lambda c, s: mid_plate.flat(mid_spec(c, s))),
    ("plates.mid", lambda c: _mid(c, below_crank=5.5 * INCH), lambda c, s: mid_plate.flat(mid_spec(c, s))),
    ("plates.mid.below_crank", lambda c: _mid(c, below_crank=2.0 * INCH), mid_spec),
    ("plates.mid.above_crank", lambda c: _mid(c, above_crank=5.0 * INCH), mid_spec),
    ("chassis.rails.height", lambda c: _rails(c, height=None), mid_spec),
    ("chassis.rails.upper_height", lambda c: _mid(c, kind="double_rail"), mid_spec),
    ("chassis.rails.upper_height", lambda c: _rails(_mid(c, kind="double_rail"), upper_height=6.0 * INCH), mid_spec),
    ("mounts.rail_tabs.width", lambda c: replace(c, mounts=replace(c.mounts, rail_tabs=replace(c.mounts.rail_tabs, width=10.0))),
     lambda c, s: tab_spec(c, s, "left", "front")),
    ("plates.protector.crank_opening",
     lambda c: replace(c, plates=replace(c.plates, protector=replace(c.plates.protector, crank_opening=50.0))),
     lambda c, s: protector.spec(c.plates.protector, s)),
    ("engine.front_holes", lambda c: _engine(c, front_holes=None), front_spec),
    ("engine.front_holes", lambda c: _engine(c, front_holes=()), front_spec),
    ("plates.front.foot_half_spacing", lambda c: _front(c, foot_half_spacing=None), front_spec),
    ("plates.front.foot_drop", lambda c: _front(c, foot_drop=None), front_spec),
    ("plates.front.foot_half_spacing", lambda c: _front(c, foot_half_spacing=4.0 * INCH), front_spec),
    ("plates.front.half_width", lambda c: _front(c, kind="wide"), front_spec),
    ("plates.front.half_width", lambda c: _front(c, kind="wide", half_width=13.0 * INCH), front_spec),
    ("plates.front.kind", lambda c: _front(c, foot_drop=-12.0 * INCH), front_spec),
    ("plates.front.kind", lambda c: _front(c, kind="wide"), lambda c, s: plate_foot.spec(c.plates.front, c.mounts.rail_tabs, s, "left")),
    ("plates.front.foot_drop", lambda c: _front(c, foot_half_spacing=12.0 * INCH, foot_drop=3.0 * INCH),
     lambda c, s: plate_foot.spec(c.plates.front, c.mounts.rail_tabs, s, "left")),
    ("plates.front.foot_half_spacing", lambda c: _front(c, foot_half_spacing=15.0 * INCH),
     lambda c, s: plate_foot.spec(c.plates.front, c.mounts.rail_tabs, s, "left")),
    ("engine.pan.depth", lambda c: _engine(c, pan=replace(filled(c.engine).pan, depth=1.0)), lambda c,
     s: engine_envelope.spec(s.engine, s)),
    ("engine.pan", lambda c: _engine(c, pan=replace(filled(c.engine).pan, x_front=30 * INCH)), lambda c,
     s: engine_envelope.spec(s.engine, s)),
    ("engine.block_half_width", lambda c: _engine(c, block_half_width=5 * INCH), lambda c, s: engine_envelope.spec(s.engine, s)),
    ("engine.bore_spacing: 4 bores", lambda c: _engine(c, bore_spacing=7.3 * INCH), lambda c, s: engine_envelope.spec(s.engine, s)),
    ("transmission.mount_pad.from_bell", lambda c: _transmission(c, mount_pad=model.MountPad(from_bell=40 * INCH, below_axis=80.0)),
     lambda c, s: transmission_envelope.spec(s.transmission, s)),
    ("transmission.mount_pad.below_axis", lambda c: _transmission(c, mount_pad=model.MountPad(from_bell=20 * INCH, below_axis=-1.0)),
     lambda c, s: transmission_envelope.spec(s.transmission, s)),
    ("transmission.pan", lambda c: _transmission(c, pan=replace(c.transmission.pan, from_bell_rear=5 * INCH)),
     lambda c, s: transmission_envelope.spec(s.transmission, s)),
    ("transmission.pan.below_axis", lambda c: _transmission(c, case_below_axis=8 * INCH), lambda c,
     s: transmission_envelope.spec(s.transmission, s)),
    ("transmission.bellhousing_depth", lambda c: _transmission(c, bellhousing_depth=24 * INCH), lambda c,
     s: transmission_envelope.spec(s.transmission, s)),
]


@pytest.mark.parametrize("field, change, make", REFUSED, ids=[f"{i}-{r[0]}" for i, r in enumerate(REFUSED)])
def test_what_cannot_be_made_is_refused_in_one_sentence(field, change, make):
    car = change(car_of("full_bodied_automatic"))
    with pytest.raises(ValueError) as caught:
        make(car, scenes.of(car))
    text = str(caught.value)
    assert text.startswith(field), text
    assert ";" in text and "\n" not in text and not text.endswith(".")
