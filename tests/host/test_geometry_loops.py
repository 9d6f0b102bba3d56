"""Split and fixed loops: one valid solid each, volume by closed form, and angle, section and station found on the shape."""
from __future__ import annotations

import math
import random
import time
from dataclasses import replace

import FreeCAD
import numpy as np
import pytest
from conftest import ROOT
from meshes import mesh_volume
from oracles import closed_angle, come_within, mesh_triangles, pins, station

from crankline import carfile, model
from crankline.geometry import fixed_loop, loop_measure, loop_ring, split_loop
from crankline.mechanics import scene as scenes

INCH = 25.4
CARS = ("full_bodied_automatic", "open_clutch")
MODULES = {"split": split_loop, "fixed": fixed_loop}
TUBE = model.Section(outer_diameter=0.875 * INCH, wall=0.065 * INCH)


@pytest.fixture(scope="module")
def cars():
    read = {name: carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml") for name in CARS}
    return {name: (car, scenes.of(car)) for name, car in read.items()}


@pytest.fixture(scope="module")
def built(cars):
    """Every loop of both cars: (record, spec, solid)."""
    return [(loop, MODULES[loop.kind].spec(loop, scene), MODULES[loop.kind].build(MODULES[loop.kind].spec(loop, scene)))
            for car, scene in cars.values() for loop in car.containment.loops]


def bare(ring: loop_ring.Ring):
    """A ring that meets no member: no legs."""
    return fixed_loop.build(fixed_loop.Spec(ring, 0.0, 0.0, True, 0.0, 0.0, 0.0, 0.0, 0.0))


def ring(width=7.0, height=None, form="tube", depth=0.875, along=0.875, wall=0.065, opening=0.0) -> loop_ring.Ring:
    height = width if height is None else height
    return loop_ring.Ring(width * INCH, height * INCH, form, depth * INCH, along * INCH, wall * INCH if form == "tube" else 0.0,
                          math.radians(opening))


def single(shape) -> None:
    assert shape.ShapeType == "Solid" and shape.isValid() and len(shape.Solids) == 1 and shape.Volume > 0


def test_round_ring_is_the_torus_of_the_handbook():
    # Volume of a torus 2 pi^2 R r^2 (Pappus), less that of its bore.
    made = bare(ring())
    single(made)
    big, outer, inner = 3.9375 * INCH, 0.4375 * INCH, 0.3725 * INCH
    assert made.Volume == pytest.approx(2 * math.pi ** 2 * big * (outer ** 2 - inner ** 2), rel=1e-9)


@pytest.mark.parametrize("width,height", [(7.0, 9.5), (9.5, 7.0), (5.0, 5.001), (6.0, 12.0)])
@pytest.mark.parametrize("form", ["tube", "strap"])
def test_volume_of_a_ring_with_straight_legs(width, height, form):
    made = bare(ring(width, height, form, depth=0.875 if form == "tube" else 0.25, along=0.875 if form == "tube" else 2.0))
    single(made)
    if form == "tube":
        bend, area = (min(width, height) + 0.875) / 2, math.pi / 4 * (0.875 ** 2 - 0.745 ** 2)
    else:
        bend, area = (min(width, height) + 0.25) / 2, 0.5
    length = 2 * math.pi * bend + 2 * abs(height - width)
    assert made.Volume == pytest.approx(area * length * INCH ** 3, rel=1e-7)
    box = made.copy(True, False).optimalBoundingBox(False)
    depth = 0.875 if form == "tube" else 0.25
    assert (box.YLength, box.ZLength) == pytest.approx(((width + 2 * depth) * INCH, (height + 2 * depth) * INCH), abs=1e-3)


def test_developed_length_is_that_of_the_centre_line():
    one = ring(7.0, 9.5)
    assert loop_ring.full_path(one).Length == pytest.approx(one.length, rel=1e-12)
    assert one.length == pytest.approx((2 * math.pi * 3.9375 + 5.0) * INCH, rel=1e-12)


def test_demo_loops_are_single_solids(built):
    assert len(built) == 5
    for loop, spec, shape in built:
        single(shape)
        assert shape.Volume == pytest.approx(mesh_volume(shape), rel=1e-3), loop.name
        assert shape.Volume > spec.ring.area * spec.ring.length, "legs and joints add to the ring"


def test_closed_angle_of_the_demo_loops(built):
    for loop, _spec, shape in built:
        assert math.degrees(closed_angle(shape, (0, 0, 0))) == pytest.approx(360.0, abs=1e-6), loop.name


def test_a_way_along_the_skin_shows_that_a_loop_is_closed(built):
    """Found once, it is asked again wherever the axis has gone; none leads around an axis beside the ring, or within too small a reach."""
    _loop, spec, shape = built[0]
    triangles = mesh_triangles(shape)
    found = loop_measure.way_round(triangles, (0, 0, 0), reach=140.0)
    way = triangles.reshape(-1, 3)[found]
    around = [(np.abs(triangles - corner) < 1e-7).all(axis=2).any(axis=1) for corner in way]
    assert all((one & next_).any() for one, next_ in zip(around, [*around[1:], around[0]])), "along sides of triangles"
    assert loop_measure.goes_round(way, (0, 0, 0), reach=200.0) and loop_measure.goes_round(way, (7, 20, -15), reach=230.0)
    random, shown = np.random.default_rng(1), 0
    for _axis in range(15):
        center, reach = (0.0, *random.normal(0.0, 50.0, 2)), 190.0 + random.normal(0.0, 30.0)
        if loop_measure.goes_round(way, center, reach=reach):
            assert loop_measure.closed_angle_of(triangles, center, reach=reach) == 2.0 * math.pi
            shown += 1
    assert 3 < shown < 15
    assert not loop_measure.goes_round(way, (0, 400, 0)) and not loop_measure.goes_round(way, (0, 0, 0), reach=0.5 * spec.ring.inner_width)
    gap = mesh_triangles(bare(ring(opening=20.0)))
    assert len(loop_measure.way_round(gap, (0, 0, 0))) == 0


@pytest.mark.parametrize("opening", [0.5, 20.0, 45.0, 120.0])
@pytest.mark.parametrize("kind", ["split", "fixed"])
def test_an_opening_is_found(cars, kind, opening):
    car, scene = cars["full_bodied_automatic"]
    loop = next(loop for loop in car.containment.loops if loop.kind == kind)
    module = MODULES[kind]
    shape = module.build(module.spec(replace(loop, open_angle=math.radians(opening)), scene))
    single(shape)
    assert math.degrees(closed_angle(shape, (0, 0, 0))) == pytest.approx(360.0 - opening, abs=0.01)


def test_closed_angle_wherever_the_loop_stands():
    shape = bare(ring(opening=20.0))
    shape.Placement = FreeCAD.Placement(FreeCAD.Vector(900, -30, 250), FreeCAD.Rotation(FreeCAD.Vector(1, 2, 3), 40))
    axis = shape.Placement.Rotation.multVec(FreeCAD.Vector(1, 0, 0))
    measured = closed_angle(shape, (900, -30, 250), tuple(axis))
    assert math.degrees(measured) == pytest.approx(340.0, abs=1e-3)


def test_closed_angle_counts_members_only_within_reach():
    # A ring open by 20 deg over a plate far below it: the plate is seen in the gap, but is no part of the ring.
    gap = bare(ring(opening=20.0))
    plate = loop_ring.Part.makeBox(10, 400, 10, FreeCAD.Vector(-5, -200, -260))
    both = loop_ring.Part.Compound([gap, plate])
    assert math.degrees(closed_angle(both, (0, 0, 0))) == pytest.approx(360.0, abs=1e-6)
    assert math.degrees(closed_angle(both, (0, 0, 0), reach=150.0)) == pytest.approx(340.0, abs=0.01)


def test_reach_cuts_material_where_it_leaves_the_circle():
    # A bar from radius 100 to 300 along a chord at height 100: within radius 200 it spans acos(100/200) = 60 deg to each side.
    bar = loop_ring.Part.makeBox(10, 600, 20, FreeCAD.Vector(-5, -300, 100))
    assert math.degrees(closed_angle(bar, (0, 0, 0), reach=200.0)) == pytest.approx(120.0, abs=1e-6)
    assert math.degrees(closed_angle(bar, (0, 0, 0))) == pytest.approx(2 * math.degrees(math.atan(3.0)), abs=1e-6)


def test_a_ring_that_holds_the_axis_is_closed():
    assert closed_angle(loop_ring.Part.makeBox(10, 10, 10, FreeCAD.Vector(-5, -3, -4)),
                                     (0, 0, 0)) == pytest.approx(2 * math.pi)


def test_section_found_on_tube_loops(built):
    for _loop, spec, shape in built:
        for angle in (math.pi / 2, -math.pi / 2):
            found = loop_measure.section(shape, (0, 0, 0), angle=angle)
            assert found.round
            assert (found.thickness, found.width) == pytest.approx((0.875 * INCH, 0.875 * INCH), abs=0.01)
            assert found.wall == pytest.approx(0.065 * INCH, abs=0.01)
            assert found.inner_radius == pytest.approx(spec.ring.inner_height / 2, abs=0.01)


def test_section_found_on_a_strap():
    found = loop_measure.section(bare(ring(form="strap", depth=0.125, along=2.0)), (0, 0, 0))
    assert not found.round and found.wall == 0.0
    assert (found.thickness, found.width) == pytest.approx((0.125 * INCH, 2.0 * INCH), abs=1e-6)
    assert (found.rear, found.front) == pytest.approx((-INCH, INCH), abs=1e-6)


def test_no_section_in_an_opening():
    assert loop_measure.section(bare(ring(opening=20.0)), (0, 0, 0), angle=-math.pi / 2) is None


def test_stations(built):
    for loop, _spec, shape in built:
        rear, front = station(shape)
        half = 0.875 * INCH / 2 + (loop_ring.PIN / 2 if loop.kind == "split" else 0.0)
        assert (rear, front) == pytest.approx((-half, half), abs=1e-3)


def test_measuring_is_quick(built):
    for _, _, shape in built:
        begun = time.process_time()
        closed_angle(shape, (0, 0, 0))
        loop_measure.section(shape, (0, 0, 0))
        assert time.process_time() - begun < 1.0, "an order above what it takes, so that a busy machine does not fail it"


def test_legs_of_a_fixed_loop_end_on_their_members(cars):
    for car, scene in cars.values():
        loop = next(loop for loop in car.containment.loops if loop.kind == "fixed")
        spec = fixed_loop.spec(loop, scene)
        shape = fixed_loop.build(spec)
        center = scene.loop_center(loop)
        legs = fixed_loop.legs(spec)
        assert len(legs) == 4
        cross, upper = car.chassis.rear_cross_member, car.chassis.upper_fore_aft
        bars = [loop_ring.Part.makeCylinder(cross.section.outer_diameter / 2, 1000, FreeCAD.Vector(cross.x, -500, cross.z),
                                            FreeCAD.Vector(0, 1, 0))]
        bars += [loop_ring.Part.makeCylinder(scene.chassis.upper_fore_aft.section.outer_diameter / 2, 1000,
                                             FreeCAD.Vector(loop.x - 500, side * upper.half_spacing, upper.z), FreeCAD.Vector(1, 0, 0))
                 for side in (1, -1)]
        shape.translate(FreeCAD.Vector(*center))
        for bar in bars:
            assert come_within(shape, bar, 1e-3), "the cope lies on the member"
            assert shape.common(bar).Volume < 1.0, "and does not enter it"


def test_pins_are_there_or_leave_their_holes_open(cars):
    car, scene = cars["full_bodied_automatic"]
    loop = car.containment.loops[0]
    full = split_loop.spec(loop, scene)
    for spec in (full, replace(full, pins_split=1), replace(full, pins_feet=0)):
        shape = split_loop.build(spec)
        single(shape)
        for seat, pinned in split_loop.split_pins(spec) + split_loop.foot_pins(spec):
            assert shape.isInside(seat, 1e-6, True) is pinned
    assert [pinned for _, pinned in split_loop.split_pins(replace(full, pins_split=1))] == [True, False]


@pytest.mark.parametrize("form", ["tube", "strap"])
@pytest.mark.parametrize("split,feet", [(2, 2), (1, 2), (0, 2), (2, 1), (0, 0)])
def test_pins_are_counted_on_the_shape(cars, form, split, feet):
    car, scene = cars["full_bodied_automatic"]
    loop = replace(car.containment.loops[0], form=form, strap_thickness=6.35, strap_width=50.8, pins_split=split, pins_feet=feet)
    found = pins(split_loop.build(split_loop.spec(loop, scene)))
    assert found == (split + feet, 4 - split - feet)


def test_a_fixed_loop_has_no_pins(built):
    assert all(pins(shape) == (0, 0) for loop, _, shape in built if loop.kind == "fixed")


def test_a_split_loop_is_parted_at_mid_height(built):
    for loop, spec, shape in built:
        if loop.kind == "split":
            wall = FreeCAD.Vector(0, spec.ring.inner_width / 2 + 0.5 * spec.ring.wall, 0)
            slug = FreeCAD.Vector(0, (spec.ring.inner_width + spec.ring.depth) / 2, 0)
            assert not shape.isInside(wall, 1e-6, True), "the tube's wall is cut"
            assert shape.isInside(slug, 1e-6, True), "the slug passes through"
            assert shape.isInside(wall + FreeCAD.Vector(0, 0.02, 2.0), 1e-6, True)


@pytest.mark.parametrize("height", [7.0, 9.5, 5.5, 7.015])
def test_halves_and_slugs_are_sewn_to_one_solid(height):
    """Pappus: the bar along the center line but for the kerfs, and the slugs in them."""
    one = ring(7.0, height)
    made, _bores = split_loop._halves(one)
    single(made)
    bar, slug = (math.pi * radius ** 2 for radius in (one.depth / 2, one.bore_radius))
    assert made.isClosed() and made.Volume == pytest.approx(bar * (one.length - 2 * split_loop.KERF) + slug * 2 * split_loop.KERF, rel=1e-8)


@pytest.mark.parametrize("height", [7.0, 9.0, 5.5])
def test_a_split_strap_is_parted_at_mid_height(height):
    """The strap's thickness is cut by the kerf on both sides, half of it above and half below; the lugs outside hold the halves."""
    strap = ring(7.0, height, "strap", depth=0.25, along=2.0)
    shape = split_loop.build(split_loop.Spec(strap, -220.0, 2, 2))
    single(shape)
    inner, half = strap.inner_width / 2, split_loop.KERF / 2
    for side in (1, -1):
        for x in (-0.9, 0.0, 0.9):
            def holds(share, z, x=x, side=side):
                return shape.isInside(FreeCAD.Vector(x * INCH, side * (inner + share * strap.depth), z), 1e-6, True)
            for share in (0.05, 0.5, 0.95):
                assert not holds(share, 0.0) and not holds(share, 0.9 * half) and not holds(share, -0.9 * half)
                assert (holds(share, half + 0.3) and holds(share, -half - 0.3)) or share > 0.9, "the halves end at the kerf"
            assert holds(1.5, 0.0), "a lug"
    whole = bare(strap)
    assert math.degrees(closed_angle(shape, (0, 0, 0))) == pytest.approx(360.0, abs=1e-6), "as with slugs: the lugs close it"
    removed = whole.cut(shape).Volume
    assert removed == pytest.approx(2 * split_loop.KERF * strap.depth * strap.width, rel=2e-3)


def test_feet_stand_on_the_floor_tubes(built):
    for loop, spec, shape in built:
        if loop.kind == "split":
            assert shape.copy(True, False).optimalBoundingBox(False).ZMin == pytest.approx(spec.floor, abs=1e-3)


def test_random_loops_are_single_solids(cars):
    rng = random.Random(3)
    car, scene = cars["open_clutch"]
    for count in range(14):
        kind = rng.choice(["split", "fixed"])
        form = rng.choice(["tube", "tube", "strap"])
        wide = rng.uniform(4.5, 9.0) * INCH
        loop = model.Loop(name="any", kind=kind, x=rng.choice([21.0, rng.uniform(15.0, 45.0)]) * INCH, form=form,
                          inner_width=wide, inner_height=wide * rng.choice([1.0, rng.uniform(0.7, 1.5)]),
                          center_y=rng.uniform(-1, 1) * INCH, center_z=rng.uniform(10.5, 13.5) * INCH,
                          section=model.Section(outer_diameter=rng.uniform(0.75, 1.5) * INCH, wall=rng.uniform(0.049, 0.12) * INCH),
                          strap_thickness=rng.uniform(0.125, 0.375) * INCH, strap_width=rng.uniform(1.0, 3.0) * INCH,
                          open_angle=rng.choice([0.0, 0.0, rng.uniform(0.05, 1.5)]), pins_split=rng.randint(0, 4),
                          pins_feet=rng.randint(0, 2))
        module = MODULES[kind]
        shape = module.build(module.spec(loop, scene))
        single(shape)
        measured = closed_angle(shape, (0, 0, 0))
        assert measured == pytest.approx(2 * math.pi - loop.open_angle, abs=0.003), (count, loop)


@pytest.mark.parametrize("change,words", [
    ({"inner_diameter": None}, "inner_diameter is missing"),
    ({"section": None}, "section is missing"),
    ({"form": "strap"}, "strap_thickness and strap_width"),
    ({"open_angle": 3.0}, "open_angle is 172 deg"),
    ({"section": model.Section(outer_diameter=20.0, wall=10.0)}, "leaves no bore"),
])
def test_impossible_loops_are_one_sentence(cars, change, words):
    car, scene = cars["full_bodied_automatic"]
    with pytest.raises(ValueError, match=words) as raised:
        split_loop.spec(replace(car.containment.loops[0], **change), scene)
    assert "\n" not in str(raised.value) and "containment.loops[front]" in str(raised.value)


def test_specs_are_plain_and_hashable(built):
    assert len({hash(spec) for _, spec, _ in built}) == len(built)
    for _, spec, _ in built:
        assert all(type(value) in (float, int, str, bool, tuple, loop_ring.Ring) for value in vars(spec).values())
        assert not any(isinstance(value, np.generic) for value in list(vars(spec).values()) + list(vars(spec.ring).values()))
