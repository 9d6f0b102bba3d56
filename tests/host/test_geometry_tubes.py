"""Chassis tubes, support tube, cross member, transmission mount, enclosure, tunnel and firewall on both demo cars."""
from __future__ import annotations

import math
import random
from collections import Counter
from dataclasses import replace

import cars
import FreeCAD
import numpy as np
import Part
import pytest
from closed_forms import least_wall, off_square
from conftest import ROOT
from oracles import come_within, tunnel_section_area

from crankline import carfile, model
from crankline.features.digest import canonical, digest
from crankline.geometry import (
    chassis_tube,
    coped_tube,
    cross_member,
    enclosure,
    firewall,
    fixed_loop,
    measure,
    mount_faces,
    mount_layout,
    receiver,
    split_loop,
    support_tube,
    transmission_mount,
    tube,
    tunnel,
)
from crankline.mechanics import scene as scenes
from crankline.mechanics.chassis import upright_station
from crankline.mechanics.frames import Frame
from crankline.record import filled

INCH = 25.4
V = FreeCAD.Vector
CARS = ("full_bodied_automatic", "open_clutch")
LOOPS = {"split": split_loop, "fixed": fixed_loop}


@pytest.fixture(scope="module")
def read():
    return {name: carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml") for name in CARS}


@pytest.fixture(params=cars.EACH)
def car(request, read):
    return read[request.param]


@pytest.fixture
def scene(car):
    return scenes.of(car)


def single(shape) -> None:
    assert shape.ShapeType == "Solid" and shape.isValid() and len(shape.Solids) == 1 and shape.Volume > 0


def box(shape):
    return shape.copy(True, False).optimalBoundingBox(False)


def standing(shape, frame):
    """The shape in the car frame."""
    moved = shape.copy()
    moved.Placement = FreeCAD.Placement(FreeCAD.Matrix(*np.asarray(frame.matrix).ravel())).multiply(shape.Placement)
    return moved


def placements(car, count: int, seed: int):
    """Seeded placements in the window of the trade: 78-88 in, 9-11.5 in, 0-3.5 deg."""
    rng = random.Random(seed)
    for _ in range(count):
        yield replace(car, placement=replace(car.placement, axle_to_block=rng.uniform(78, 88) * INCH, pitch_mode="fixed",
                                             crank_height=rng.uniform(9, 11.5) * INCH, pitch=math.radians(rng.uniform(0, 3.5))))


# ------------------------------------------------------------------------------------------------------------- tube

def test_straight_tube_has_the_volume_and_mass_of_the_tables():
    # 1-1/4 x 0.065 in tube: 0.824 lb/ft of steel at 0.2836 lb/in3 (weight per foot as tube tables print it: 10.69 t (D - t)).
    made = tube.build(tube.Spec((0, 0, 0), (0, 304.8, 0), 1.25 * INCH, 0.065 * INCH))
    single(made)
    assert made.Volume == pytest.approx(tube.volume(1.25 * INCH, 0.065 * INCH, 304.8), rel=1e-9)
    assert made.Volume / INCH ** 3 * 0.2836 == pytest.approx(0.824, rel=2e-3)


@pytest.mark.parametrize("angle", [90.0, 60.0])
def test_coped_tube_against_quadrature(angle):
    """Volume left by a cope: every fiber of the tube ends on the header, integrated over the annulus."""
    outer, wall, header, length = 15.0, 1.65, 20.0, 300.0
    slope = math.radians(angle)
    direction = (math.cos(slope), math.sin(slope), 0.0)
    made = tube.build(tube.Spec((0, 0, 0), (length, 0, 0), 2 * outer, wall, (tube.Header((0, 0, 0), direction, 2 * header),)))
    single(made)
    radius, turn = np.meshgrid(outer - wall + (np.arange(400) + 0.5) / 400 * wall, (np.arange(800) + 0.5) / 800 * 2 * np.pi)
    y, z = radius * np.cos(turn), radius * np.sin(turn)
    # Distance of (x, y, z) from the header's line in its plane: |x sin a - y cos a|; the fiber ends at the larger root in x.
    ends = (np.sqrt(header ** 2 - z ** 2) + y * math.cos(slope)) / math.sin(slope)
    expected = ((length - ends) * radius).sum() * (wall / 400) * (2 * np.pi / 800)
    assert made.Volume == pytest.approx(expected, rel=1e-3)


def random_copes(count, seed):
    """Tubes coped at both ends to headers that pass off center, out of square and anywhere in space. The sizes are a Latin hypercube: each
    of their ranges is taken in as many steps as there are tubes, so that few of them cover what many drawn freely would."""
    rng = np.random.default_rng(seed)
    steps = rng.permuted(np.tile(np.arange(count), (6, 1)), axis=1).T
    for share in (steps + rng.random((count, 6))) / count:
        outer, length = 18 + 27 * share[0], 120 + 680 * share[1]
        header, slope = outer * (0.9 + 1.1 * share[2]), math.pi / 4 * (1 + 2 * share[3])
        off = 0.95 * (2 * share[4] - 1) * (outer + header) / 2
        turned = np.linalg.qr(rng.normal(size=(3, 3)))[0]
        moved = rng.uniform(-500, 2500, 3)
        direction = turned @ (math.sin(slope), 0.0, math.cos(slope))
        headers = tuple(tube.Header(tuple(turned @ (0.0, off, z) + moved), tuple(direction), header) for z in (0.0, length))
        yield tube.Spec(tuple(moved), tuple(turned @ (0.0, 0.0, length) + moved), outer, 1 + 2 * share[5], headers)


def chords(spec, angles=2000, rings=16):
    """Volume of a tube coped to a header at its start and one at its end, fiber by fiber, by the midpoint rule: its length less what
    lies in the headers."""
    start, end = np.array(spec.start), np.array(spec.end)
    length = np.linalg.norm(end - start)
    along = (end - start) / length
    across = np.linalg.svd(along[None])[2][1:]
    turn = (np.arange(angles) + 0.5) / angles * math.tau
    total = 0.0
    for radius in spec.outer_diameter / 2 - spec.wall + spec.wall * (np.arange(rings) + 0.5) / rings:
        fibre = start + radius * (np.cos(turn)[:, None] * across[0] + np.sin(turn)[:, None] * across[1])
        left = np.full(angles, length)
        for header in spec.headers:
            axis = np.array(header.direction) / np.linalg.norm(header.direction)
            # |p + t a| = radius, both measured square to the header.
            p, a = (v - np.multiply.outer(v @ axis, axis) for v in (fibre - np.array(header.point), along))
            b, c = p @ a / (a @ a), ((p ** 2).sum(axis=1) - (header.diameter / 2) ** 2) / (a @ a)
            half = np.sqrt(np.maximum(b * b - c, 0.0))
            near, far = np.clip(-half - b, 0.0, length), np.clip(half - b, 0.0, length)
            if (half > 0.0).all():      # Cut off all round: what lies beyond the header falls off.
                near, far = (np.zeros(angles), far) if header is spec.headers[0] else (near, np.full(angles, length))
            left -= far - near
        total += left.sum() * radius
    return total * math.tau / angles * spec.wall / rings


def test_volume_of_random_copes_against_quadrature(solids, seed):
    """The host's own integral is off by more than 0.1 % on some of them, and some of its booleans are wrong at the first attempt (of one
    tube in a hundred). ``--solids N`` takes 10 N."""
    for number, spec in enumerate(random_copes(10 * solids(4), seed(3))):
        made, expected = tube.build(spec), chords(spec)
        single(made)
        assert measure.volume(made) == pytest.approx(expected, rel=1e-3), number
        assert measure.volume(made) == pytest.approx(tube.quadrature(spec), rel=1e-3), number


HALF, WHOLE, LEANING = (tube.Header(point, direction, 40.0) for point, direction in
                        (((-12.0, 0, 0), (0, 0, 1)), ((2.0, 0, 0), (0, 0, 1)), ((1.0, 0, 3.0), (0.3, 0.4, 1))))
EQUAL = tube.Header((0, 0, 0), (0.2, 0.3, 1), 30.0)


def at_the_other_end(header, length=400.0):
    """The same header seen from the last end of a tube along y."""
    x, y, z = header.point
    return tube.Header((x, length - y, z), header.direction, header.diameter)


def along_y(*headers):
    return tube.Spec((0, 0, 0), (0, 400.0, 0), 30, 2, headers)


def elsewhere(spec):
    """The tube turned and moved."""
    turned = np.linalg.qr(np.random.default_rng(8).normal(size=(3, 3)))[0]
    turned *= np.linalg.det(turned)

    def at(point, move=1.0):
        return tuple((turned @ point + move * np.array([300.0, -200.0, 900.0])).tolist())
    return tube.Spec(at(spec.start), at(spec.end), spec.outer_diameter, spec.wall,
                     tuple(tube.Header(at(one.point), at(one.direction, 0.0), one.diameter) for one in spec.headers))


def surfaces(shape):
    """Area on each kind of surface, by its radius."""
    found = Counter()
    for face in shape.Faces:
        found[type(face.Surface).__name__, round(getattr(face.Surface, "Radius", 0.0), 6)] += face.Area
    return dict(found)


@pytest.mark.parametrize("spec", [along_y(HALF), along_y(WHOLE), along_y(at_the_other_end(HALF)), along_y(at_the_other_end(LEANING)),
                                  along_y(HALF, at_the_other_end(HALF)), along_y(LEANING, at_the_other_end(HALF)), along_y(EQUAL),
                                  elsewhere(along_y(HALF, at_the_other_end(EQUAL))), along_y(EQUAL, at_the_other_end(WHOLE)),
                                  elsewhere(along_y(LEANING, at_the_other_end(WHOLE)))])
def test_a_plain_cope_is_put_together_from_its_faces(spec):
    """The same solid as the boolean, with the same faces; its volume is that of its fibers (which no solid is asked for)."""
    made, cut = coped_tube.build(spec), tube._cut(spec)
    single(made)
    assert measure.volume(made) == pytest.approx(tube.quadrature(spec, 6000, 12), rel=3e-6)
    assert measure.volume(made) == pytest.approx(measure.volume(cut), rel=1e-7)
    assert made.Area == pytest.approx(cut.Area, rel=1e-4) and (made.CenterOfMass - cut.CenterOfMass).Length < 0.5   # The host's.
    assert surfaces(made) == pytest.approx(surfaces(cut), rel=0.02)      # The host splits some in two, and is off where it integrates.
    ours, theirs = (one.copy(True, False).optimalBoundingBox(False) for one in (made, cut))
    for name in ("XMin", "XMax", "YMin", "YMax", "ZMin", "ZMax"):
        assert getattr(ours, name) == pytest.approx(getattr(theirs, name), abs=1e-5)
    for header in spec.headers:      # Its face there lies on the header.
        faces = [face for face in made.Faces if type(face.Surface).__name__ == "Cylinder" and face.Surface.Radius == header.diameter / 2
                 and (face.CenterOfMass - V(*header.point)).Length < 100.0]
        axis = np.array(header.direction) / np.linalg.norm(header.direction)
        off = np.array([tuple(vertex.Point) for face in faces for vertex in face.Vertexes]) - np.array(header.point)
        off = np.linalg.norm(off - np.outer(off @ axis, axis), axis=1)
        assert len(off) and off == pytest.approx(header.diameter / 2, abs=1e-6)


@pytest.mark.parametrize("spec", [
    along_y(), along_y(tube.Header((0, 0, 0), (0, 0.99, 0.14), 40.0)), along_y(tube.Header((1.0, 0, 0), (0, 0, 1), 30.0)),
    along_y(tube.Header((0, 0, 0), (0, 0, 1), 20.0)), along_y(tube.Header((-12.0, 1.0, 0), (0, 0, 1), 40.0)), along_y(WHOLE, HALF),
    along_y(tube.Header((-34.9, 0, 0), (0, 0, 1), 40.0)), along_y(tube.Header((0, -60.0, 0), (0, 0, 1), 40.0)),
    along_y(tube.Header((0, 150.0, 0), (0, 0, 1), 400.0), tube.Header((0, 250.0, 0), (0, 0, 1), 400.0)),
    replace(along_y(WHOLE), planes=(tube.Plane((0, 400, 0), (0, 1, 0)),))])
def test_a_cope_that_is_not_so_plain_is_left_to_the_boolean(spec):
    assert coped_tube.build(spec) is None


def test_a_cope_that_the_host_gets_wrong_is_made_again(monkeypatch):
    """Each way to make one is right by itself; where one fails, is wrong or leaves nothing the next is taken."""
    spec = along_y(LEANING, at_the_other_end(WHOLE))
    expected, tried = chords(spec), []

    def fails(_spec):
        tried.append("fails")
        raise Part.OCCError("no")

    def wrong(_spec):
        tried.append("wrong")
        return tube.straight(V(*spec.start), V(*spec.end), spec.outer_diameter, spec.wall)

    def nothing(_spec):
        tried.append("nothing")

    places = ((coped_tube, "build", nothing), (tube, "_cut", fails), (tube, "_cut_halves", wrong))
    for count in range(len(places) + 1):
        for room, name, stand_in in places[:count]:
            monkeypatch.setattr(room, name, stand_in)
        assert measure.volume(tube.build(spec)) == pytest.approx(expected, rel=1e-3)
    assert tried == ["nothing", "nothing", "fails", "nothing", "fails", "wrong"]


def test_measured_volume_of_plain_solids():
    bored = Part.makeBox(40, 30, 20).cut(Part.makeCylinder(5, 100, V(20, 15, -10)))
    assert measure.volume(bored) == pytest.approx(24000 - math.pi * 25 * 20, rel=1e-9)
    assert measure.volume(Part.makeSphere(7)) == pytest.approx(4 / 3 * math.pi * 343, rel=1e-6)
    # Two equal cylinders that cross at right angles have 16/3 r^3 in common (Archimedes).
    crossed = [Part.makeCylinder(10, 60, V(0, 0, -30)), Part.makeCylinder(10, 60, V(-30, 0, 0), V(1, 0, 0))]
    assert measure.volume(crossed[0].common(crossed[1]).Solids[0]) == pytest.approx(16 / 3 * 1000, rel=1e-4)
    # A bar of 20 with a cross hole of 8: the hole takes 2 integral 2 sqrt((R^2 - x^2)(r^2 - x^2)) dx.
    x, w = np.polynomial.legendre.leggauss(60)
    x, w = 4 * np.sin(x * math.pi / 2), w * 4 * math.pi / 2 * np.cos(x * math.pi / 2)
    hole = (4 * np.sqrt((100 - x ** 2) * (16 - x ** 2)) * w).sum()
    bar = Part.makeCylinder(10, 60, V(100, 200, 300)).cut(Part.makeCylinder(4, 60, V(70, 200, 330), V(1, 0, 0))).Solids[0]
    assert measure.volume(bar) == pytest.approx(math.pi * 100 * 60 - hole, rel=1e-6)
    # The same, turned from a profile run either way and moved far off: planes of its ends may be left-handed.
    for profile in ([(0, 0), (0, 10), (60, 10), (60, 0)], [(0, 0), (60, 0), (60, 10), (0, 10)]):
        corners = [V(x, 0, radius) for x, radius in profile]
        turned = Part.Face(Part.makePolygon(corners + corners[:1])).revolve(V(), V(1, 0, 0), 360)
        if turned.Volume < 0.0:
            turned.reverse()
        drilled = turned.cut(Part.makeCylinder(4, 60, V(30, -30, 0), V(0, 1, 0))).Solids[0]
        assert measure.volume(drilled) == pytest.approx(math.pi * 100 * 60 - hole, rel=1e-6)
        assert measure.volume(drilled.translated(V(2000, -300, 700))) == pytest.approx(math.pi * 100 * 60 - hole, rel=1e-6)


def test_mitred_tube_keeps_the_length_of_its_centreline():
    # A plane through the end of the centerline takes as much from one side as it leaves on the other (Cavalieri).
    made = tube.build(tube.Spec((-50, 0, 0), (200, 0, 0), 30, 2, (), (tube.Plane((0, 0, 0), (-1.0, 0.4, 0.0)),)))
    single(made)
    assert made.Volume == pytest.approx(tube.volume(30, 2, 200), rel=1e-4)


@pytest.mark.parametrize("spec,words", [
    (tube.Spec((0, 0, 0), (0, 0, 0), 30, 2), "same point"),
    (tube.Spec((0, 0, 0), (9, 0, 0), 30, 15), "leaves no bore"),
    (tube.Spec((0, 0, 0), (9, 0, 0), 30, 2, (tube.Header((0, 0, 0), (0, 1, 0), 400.0),)), "nothing is left"),
])
def test_impossible_tubes_are_one_sentence(spec, words):
    with pytest.raises(ValueError, match=words):
        tube.build(spec)


# ----------------------------------------------------------------------------------------------------------- chassis

def test_chassis_tubes(car):
    found = chassis_tube.specs(car.chassis, car.car.wheelbase)
    assert set(found) == {"rail/left", "rail/right", "upright/left", "upright/right", "footwell_tube", "rear_cross_member",
                          "upper_fore_aft/left", "upper_fore_aft/right"}
    shapes = {key: chassis_tube.build(spec) for key, spec in found.items()}
    for shape in shapes.values():
        single(shape)
    rails = car.chassis.rails
    rail = shapes["rail/left"]
    assert rail.Volume == pytest.approx(tube.volume(rails.section.outer_diameter, rails.section.wall, found["rail/left"].end[0]
                                                    - found["rail/left"].start[0]), rel=1e-9)
    assert box(rail).Center.y == pytest.approx(rails.half_spacing) and box(rail).Center.z == pytest.approx(rails.height)
    bar = {side: Part.makeCylinder(rails.section.outer_diameter / 2, 4000, V(0, sign * rails.half_spacing, rails.height), V(1, 0, 0))
           for side, sign in (("left", 1), ("right", -1))}
    for side in ("left", "right"):
        for key in (f"upright/{side}", "footwell_tube", "rear_cross_member"):
            assert come_within(shapes[key], bar[side], 0.02), f"{key} touches its rail"
            assert shapes[key].common(bar[side]).Volume < 1.0, f"{key} is coped to its rail"


def test_a_double_rail_chassis_has_four_rails(car):
    chassis = replace(car.chassis, rails=replace(car.chassis.rails, kind="double", upper_height=12.0 * INCH))
    found = chassis_tube.specs(chassis, car.car.wheelbase)
    assert found["upper_rail/left"].start[2] == 12.0 * INCH
    assert found["upright/left"].start[2] == 12.0 * INCH


def test_what_cannot_be_placed_is_left_out_and_said(car):
    chassis = replace(car.chassis, firewall=None, uprights=replace(car.chassis.uprights, x=None),
                      footwell_tube=replace(car.chassis.footwell_tube, z=None))
    found, said = chassis_tube.specs(chassis, car.car.wheelbase), chassis_tube.missing(chassis)
    assert not any(key.startswith(("upright", "footwell")) for key in found)
    assert set(said) == {"upright", "footwell_tube"} and all("give" in words for words in said.values())
    assert chassis_tube.missing(car.chassis) == {}


def test_rails_that_end_behind_their_start_are_refused(car):
    chassis = replace(car.chassis, rails=replace(car.chassis.rails, x_front=100.0))
    with pytest.raises(ValueError, match=r"chassis\.rails\.x_front"):
        chassis_tube.specs(chassis, car.car.wheelbase)


# -------------------------------------------------------------------------------------------------------- cross member

def test_cross_member_and_footwell_tube_meet(car, scene):
    spec = cross_member.spec(car.mounts.cross_member, scene)
    made = cross_member.build(spec)
    single(made)
    assert made.Volume == pytest.approx(tube.volume(spec.outer_diameter, spec.wall, cross_member.developed_length(spec)), rel=1e-6)
    found = chassis_tube.specs(car.chassis, car.car.wheelbase, car.mounts.cross_member)
    assert "footwell_tube" not in found
    for side in ("left", "right"):
        stub = chassis_tube.build(found[f"footwell_tube/{side}"])
        single(stub)
        assert come_within(stub, made, 1e-6) and stub.common(made).Volume < 1e-3


def test_offset_of_the_cross_member_in_plan(read):
    # Demo car A: a straight tube fouls the pan by 0.03 in, the 3.5 in offset leaves 3.47 in (the demo's own figures).
    car = read["full_bodied_automatic"]
    gaps = {}
    for offset in (0.0, -3.5 * INCH):
        member = replace(car.mounts.cross_member, offset=offset)
        scene = scenes.of(car)
        made = cross_member.build(cross_member.spec(member, scene))
        middle = made.common(Part.makeBox(400, 200, 400, V(1400, -100, 0)))
        pan = scene.engine_point(-(scene.stack.total + car.transmission.pan.from_bell_rear), 0.0,
                                 -car.transmission.pan.below_axis)
        gaps[offset] = (pan[0] - box(middle).XMax) / INCH
    assert gaps[0.0] == pytest.approx(-0.03, abs=0.015)
    assert gaps[-3.5 * INCH] == pytest.approx(3.47, abs=0.015)


def test_cross_member_from_a_chassis_station_runs_from_rail_to_rail(car, scene):
    member = replace(car.mounts.cross_member, reference="chassis_x", offset=50.0 * INCH)
    made = cross_member.build(cross_member.spec(member, scene))
    single(made)
    assert box(made).YLength > 2 * car.chassis.rails.half_spacing - car.chassis.rails.section.outer_diameter - 1.0
    assert box(made).Center.x == pytest.approx(50.0 * INCH, abs=1e-6)


def test_random_offsets(car, scene):
    rng = random.Random(5)
    for _ in range(40):
        member = replace(car.mounts.cross_member, offset=rng.uniform(-5.0, 2.0) * INCH)
        single(cross_member.build(cross_member.spec(member, scene)))


def test_a_bow_too_deep_is_refused(car, scene):
    narrow = replace(scene.chassis, rails=replace(scene.chassis.rails, half_spacing=7.0 * INCH))
    with pytest.raises(ValueError, match=r"mounts\.cross_member\.offset"):
        cross_member.spec(replace(car.mounts.cross_member, offset=-9.0 * INCH), replace(scene, chassis=narrow))
    chassis = replace(scene.chassis, footwell_tube=None)
    with pytest.raises(ValueError, match=r"chassis\.footwell_tube\.x is missing"):
        cross_member.spec(car.mounts.cross_member, replace(scene, chassis=chassis))


# -------------------------------------------------------------------------------------------------------- support tube

def test_support_tube_meets_both_uprights(car, scene):
    made = support_tube.build(support_tube.spec(car.mounts.support_tube, scene))
    single(made)
    assert support_tube.meets(car.mounts.support_tube, scene, 1.0) and support_tube.meets(car.mounts.support_tube, scene, -1.0)
    placed = standing(made, scene.engine_frame)
    uprights = car.chassis.uprights
    diameter = scene.chassis.uprights.section.outer_diameter
    for sign in (1, -1):
        bar = Part.makeCylinder(diameter / 2, 1000, V(upright_station(car.chassis), sign * uprights.half_spacing, 100), V(0, 0, 1))
        assert come_within(placed, bar, 0.02) and placed.common(bar).Volume < 1.0


def test_support_tube_over_placements(car):
    for moved in placements(car, 12, 11):
        scene = scenes.of(moved)
        spec = support_tube.spec(car.mounts.support_tube, scene)
        single(support_tube.build(spec))
        ends = scene.engine_frame.to_car([spec.start, spec.end])
        assert ends[:, 1] == pytest.approx([-car.chassis.uprights.half_spacing, car.chassis.uprights.half_spacing], abs=1e-6)


# -------------------------------------------------------------------------------------------------- transmission mount

SIDES = (0, 1, -1)
"""Receiver on top of the cross member, ahead of it, behind it."""


def mount_spec(car, scene, side=None):
    spec = transmission_mount.spec(car.mounts.transmission, car.mounts.cross_member, scene)
    return spec if side is None else replace(spec, side=side)


def receiver_of(spec):
    """The receiver that takes a mount's tube, in the engine frame as the mount."""
    return standing(receiver.build(receiver.taking(spec)), receiver.frame(spec, Frame(np.eye(3), np.zeros(3))))


def hollow(outer, bore, low, high):
    """Volume of an upright tube, closed form."""
    return math.pi / 4 * (outer ** 2 - bore ** 2) * (high - low)


@pytest.mark.parametrize("side", SIDES)
def test_transmission_mount(car, scene, side):
    spec = mount_spec(car, scene, side)
    mount, taker = transmission_mount.build(spec), receiver_of(spec)
    single(mount)
    single(taker)
    assert mount.common(taker).Volume < 1e-6, "the tube slides in its receiver"
    assert box(mount).ZMax == pytest.approx(-car.transmission.mount_pad.below_axis, abs=1e-3), "the tab lies on the pad"
    member = cross_member.build(cross_member.spec(car.mounts.cross_member, scene))
    placed = {name: standing(shape, scene.engine_frame) for name, shape in (("mount", mount), ("receiver", taker))}
    assert come_within(placed["receiver"], member, 0.02), "the receiver is coped to the cross member"
    assert placed["receiver"].common(member).Volume < 1.0 and placed["mount"].common(member).Volume < 1.0
    seat, along = V(*spec.bolt_seat), V(*spec.member_axis)
    for shape in (mount, taker):
        assert not shape.isInside(seat + along * (spec.outer_diameter / 2 - spec.wall / 2), 1e-6, True)
    assert taker.isInside(seat + V(1, 0, 0) * (spec.receiver_diameter / 2 - 1.0), 1e-6, True)
    assert mount.isInside(seat + V(1, 0, 0) * (spec.outer_diameter / 2 - 1.0), 1e-6, True)
    # In double shear: the bolt passes both walls of the receiver and of the tube, edge distance kept in each.
    bolt = Part.makeCylinder(spec.cross_bolt / 2, 100.0, seat - along * 50.0, along)
    assert bolt.common(taker).Volume == 0.0 and bolt.common(mount).Volume == 0.0
    assert seat.z - box(mount).ZMin >= 1.5 * spec.cross_bolt - 1e-6 and spec.receiver_span[1] - seat.z >= 1.5 * spec.cross_bolt - 1e-6
    assert off_square(spec.member_axis, transmission_mount.axis(spec)) < math.radians(0.1)


@pytest.mark.parametrize("side", SIDES)
def test_a_mount_put_together_from_its_faces_is_the_one_of_the_booleans(car, scene, side):
    """With and without flanges, the hole square to the post and not."""
    spec = mount_spec(car, scene, side)
    for one in (spec, replace(spec, member_axis=(0.02, -0.999, 0.04))):
        made, joined = mount_faces.build(one), transmission_mount._joined(one)
        single(made)
        assert surfaces(made) == pytest.approx(surfaces(joined), rel=2e-4) and len(made.Faces) == len(joined.Faces)
        assert measure.volume(made) == pytest.approx(measure.volume(joined), rel=1e-9)
        assert transmission_mount.closed_volume(one) == pytest.approx(measure.volume(made), rel=1e-9)
        assert len(made.Edges) == len(joined.Edges)
        assert tuple(box(made).Center) == pytest.approx(tuple(box(joined).Center), abs=1e-4)


def test_a_mount_whose_parts_run_into_each_other_is_left_to_the_booleans(car, scene):
    spec = mount_spec(car, scene, 0)
    long = replace(spec, pad=(spec.pad[0] + 90.0, *spec.pad[1:]))
    assert mount_layout.flanges(long) and mount_faces.build(long) is not None
    for one in (transmission_mount.as_blank(long), replace(spec, wall=0.9 * spec.outer_diameter / 2),
                replace(spec, bolt_spacing=1.1 * spec.outer_diameter, pad=(spec.head[0], *spec.pad[1:]))):
        assert mount_faces.build(one) is None and transmission_mount.closed_volume(one) is None
        single(transmission_mount.build(one))


@pytest.mark.parametrize("side", SIDES)
def test_mount_and_receiver_volume_in_closed_form(car, scene, side):
    """Tab, flanges and tube less the bolt's hole; a fiber of a tube across a hole of radius b is 2 sqrt(b^2 - x^2) shorter."""
    spec = mount_spec(car, scene, side)
    hole = (spec.cross_bolt + mount_layout.BOLT_CLEARANCE) / 2

    def drilled(outer, bore):
        radius, turn = np.meshgrid((bore + (outer - bore) * (np.arange(200) + 0.5) / 200) / 2, (np.arange(4000) + 0.5) / 4000 * math.tau)
        cut = 2 * np.sqrt(np.maximum(hole ** 2 - (radius * np.cos(turn)) ** 2, 0.0)) * radius
        return cut.sum() * (outer - bore) / 400 * math.tau / 4000
    outer, bore = spec.outer_diameter, spec.outer_diameter - 2 * spec.wall
    strips = sum((b[3] - b[0]) * (b[4] - b[1]) * (b[5] - b[2]) for b in mount_layout.flanges(spec))
    tab = transmission_mount.flat(spec).area * spec.tab_thickness
    expected = tab + strips + hollow(outer, bore, spec.tube_low, spec.under) - drilled(outer, bore)
    assert measure.volume(transmission_mount.build(spec)) == pytest.approx(expected, rel=1e-4)
    if side:
        sleeve, (low, high) = spec.receiver_diameter, spec.receiver_span
        bore = sleeve - 2 * mount_layout.SLEEVE_WALL
        bare = hollow(sleeve, bore, low, high) - drilled(sleeve, bore)
        plates = measure.volume(receiver_of(spec)) - bare
        # The bracket plates lie between member and sleeve: no more than the straight distance between their surfaces.
        most = 2 * mount_layout.SLEEVE_WALL * (high - low) * (abs(spec.aside) - 0.5 * spec.member_diameter * 0.8 - math.sqrt(0.7) * sleeve
                                                              / 2)
        assert 0.0 < plates < most


def test_blank_is_longer_by_its_allowance(car, scene):
    spec = mount_spec(car, scene)
    blank = transmission_mount.as_blank(spec)
    allowance = INCH if car.mounts.transmission.blank_allowance is None else car.mounts.transmission.blank_allowance
    gained = transmission_mount.flat(blank).area - transmission_mount.flat(spec).area
    assert gained == pytest.approx(allowance * transmission_mount.TAB_WIDTH, rel=1e-9)
    more = transmission_mount.build(blank).Volume - transmission_mount.build(spec).Volume
    assert more == pytest.approx(gained * spec.tab_thickness, rel=1e-4)
    assert len(transmission_mount.flat(spec).holes) == car.mounts.transmission.tail_bolts
    # The trim line is the rear edge of the tab as it is in the car.
    (left, rear), (right, same) = transmission_mount.trim_line(spec)
    assert rear == same == spec.tab_span[0] and right - left == pytest.approx(transmission_mount.TAB_WIDTH)
    assert box(transmission_mount.build(spec)).XMin == pytest.approx(spec.pad[0] + rear, abs=1e-3)


@pytest.mark.parametrize("bolts", range(1, 9))
def test_any_number_of_tail_bolts(car, scene, bolts):
    spec = replace(mount_spec(car, scene), tail_bolts=bolts)
    flat = transmission_mount.flat(spec).checked("tab")
    assert len(flat.holes) == bolts and min(least_wall(flat, hole) for hole in flat.holes) > 4.0
    single(transmission_mount.build(spec))


def with_pad(car, **changes):
    return replace(car, transmission=replace(car.transmission, mount_pad=replace(car.transmission.mount_pad, **changes)))


def test_bolt_pattern_of_the_tail_is_the_transmissions(car, scene):
    """Stated at its default it is the same mount, to the digest; another one moves the holes and widens the tab where it must."""
    usual = mount_spec(car, scene)
    stated = with_pad(car, bolt=0.4375 * INCH, bolt_spacing=1.625 * INCH)
    assert digest(mount_spec(stated, scenes.of(stated)), 1) == digest(usual, 1)
    assert "tail_bolt" not in canonical(usual).replace("tail_bolts", "") and "bolt_spacing" not in canonical(usual)
    for bolt, spacing in ((0.375, 1.25), (0.5, 2.0), (0.5, 3.0), (0.625, 4.5)):
        moved = with_pad(car, bolt=bolt * INCH, bolt_spacing=spacing * INCH)
        spec = mount_spec(moved, scenes.of(moved))
        assert digest(spec, 1) != digest(usual, 1)
        assert receiver.taking(spec) == receiver.taking(usual)
        for count in range(1, 9):
            flat = transmission_mount.flat(replace(spec, tail_bolts=count)).checked("tab")
            assert len(flat.holes) == count and {hole.diameter for hole in flat.holes} == {bolt * INCH + mount_layout.BOLT_CLEARANCE}
            assert {abs(hole.y) for hole in flat.holes} == {spacing * INCH / 2}
            assert min(least_wall(flat, hole) for hole in flat.holes) > 0.4 * bolt * INCH
        made = transmission_mount.build(spec)
        single(made)
        assert box(made).YLength == pytest.approx(max(transmission_mount.TAB_WIDTH, (spacing + 3.0 * bolt) * INCH), abs=1e-3)


@pytest.mark.parametrize("bolt, spacing, ok", [(0.5, 1.0, True), (0.5, 0.999, False), (10.0 / INCH, 20.0 / INCH, True),
                                               (0.875, 1.625, False)])
def test_tail_bolts_too_close_for_their_heads_are_one_sentence(car, bolt, spacing, ok):
    moved = with_pad(car, bolt=bolt * INCH, bolt_spacing=spacing * INCH)
    if ok:
        single(transmission_mount.build(mount_spec(moved, scenes.of(moved))))
    else:
        with pytest.raises(ValueError,
                           match=r"transmission\.mount_pad\.bolt_spacing: .* in leaves no room for the heads of bolts .*; give at least"):
            mount_spec(moved, scenes.of(moved))


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("blank", [False, True])
def test_folded_mount_lies_clear(car, scene, side, blank):
    spec = replace(mount_spec(car, scene, side), blank=blank)
    mount, taker = transmission_mount.build(spec), receiver_of(spec)
    mount.Placement = transmission_mount.folded(spec)
    member = cross_member.build(cross_member.spec(car.mounts.cross_member, scene))
    assert mount.common(taker).Volume == pytest.approx(0.0, abs=1e-6)
    placed = standing(mount, scene.engine_frame)
    assert placed.common(member).Volume == pytest.approx(0.0, abs=1e-6)
    assert come_within(placed, member, 0.5), "it lies on the cross member"
    # The tab reaches rearward, away from the pan.
    assert box(placed).XMax - scene.engine_point(*spec.member_point)[0] < max(transmission_mount.TAB_WIDTH, spec.outer_diameter + 40.0)


def test_where_the_receiver_stands(car, scene):
    """On top with room, beside where the pad is low, behind where the tab would reach under the case; the member stays where it is."""
    def side(dx, up):
        pad = scene.engine_point(-(scene.stack.total + car.transmission.mount_pad.from_bell), 0.0, -car.transmission.mount_pad.below_axis)
        member = replace(car.mounts.cross_member, reference="chassis_x", offset=pad[0] - dx * INCH, z=pad[2] - up * INCH)
        made = transmission_mount.spec(car.mounts.transmission, member, scene)
        assert scene.engine_point(*made.member_point)[[0, 2]] == pytest.approx([member.offset, member.z])
        return made.side
    assert side(2.0, 4.0) == 0 and side(0.0, 4.0) == 0 and side(6.0, 3.0) == 0
    assert side(6.0, 1.2) == 1 and side(-0.5, 1.2) == -1
    assert side(-3.0, 4.0) == -1
    # Close behind a pan there is no room for a receiver ahead of the member.
    assert side(1.0, 1.2) == (-1 if car.transmission.pan else 1)


def test_receiver_is_the_same_wherever_the_powertrain_stands_along_the_car(car):
    """In a level car and in a pitched one, while it has its length; where the pad comes down on it, it gets shorter."""
    for pitch in (0.0, 2.0):
        made = []
        for axle in (-0.5, 0.0, 0.5):
            moved = replace(car, placement=replace(car.placement, pitch_mode="fixed", pitch=math.radians(pitch),
                                                   axle_to_block=car.placement.axle_to_block + axle * INCH))
            place = scenes.of(moved)
            spec = mount_spec(moved, place)
            made.append((receiver.taking(spec), standing(receiver.build(receiver.taking(spec)), receiver.frame(spec, place.engine_frame))))
        assert digest(made[0][0], 1) == digest(made[1][0], 1) == digest(made[2][0], 1), pitch
        assert all((one.CenterOfMass - made[1][1].CenterOfMass).Length < 1e-6 for _, one in made), "it stays on its member"
    low = replace(car.mounts.cross_member, z=place.engine_point(*spec.pad)[2] - 2.2 * INCH)
    under = transmission_mount.spec(car.mounts.transmission, low, place)
    assert receiver.taking(under) != receiver.taking(spec)


def test_mount_over_placements(car, solids):
    """Of 200 placements those that are built are the first two with a receiver on each side, with and without a flange (``--solids N``:
    the first N)."""
    built, most = Counter(), solids(2)
    for moved in placements(car, 200, 23):
        scene = scenes.of(moved)
        spec = mount_spec(moved, scene)
        kind = spec.side, spec.flange_depth > 0.0
        if built[kind] == most:
            continue
        built[kind] += 1
        mount, taker = transmission_mount.build(spec), receiver_of(spec)
        single(mount)
        single(taker)
        assert mount.common(taker).Volume < 1e-3
        # The cross bolt with its head can be drawn out to either side.
        seat = V(*spec.bolt_seat)
        for sign in (1, -1):
            way = Part.makeCylinder(0.9 * spec.cross_bolt, 150.0, seat + V(0, sign * spec.receiver_diameter / 2, 0), V(0, sign, 0))
            assert not come_within(way, mount, 0.5)
    assert {side for side, _flanged in built} == {0, 1, -1} and {flanged for _side, flanged in built} == {True, False}


@pytest.mark.parametrize("dx", [-6.0, 0.0, 9.0])
@pytest.mark.parametrize("up", [-4.0, -0.5, 0.0, 0.4, 1.0, 8.0])
def test_impossible_places_of_the_member_are_built_all_the_same(car, scene, dx, up):
    """A cross member inside the tail or above it is for the clearances to find."""
    pad = scene.engine_point(-(scene.stack.total + car.transmission.mount_pad.from_bell), 0.0, -car.transmission.mount_pad.below_axis)
    member = replace(car.mounts.cross_member, reference="chassis_x", offset=pad[0] - dx * INCH, z=pad[2] - up * INCH)
    spec = transmission_mount.spec(car.mounts.transmission, member, scene)
    single(transmission_mount.build(spec))
    single(receiver_of(spec))
    single(transmission_mount.build(transmission_mount.as_blank(spec)))
    assert transmission_mount.slide(spec) >= 0.0


@pytest.mark.parametrize("changes,words", [({"cross_bolt": 0.7 * INCH}, "mounts.transmission.cross_bolt"),
                                           ({"tube": model.Section(outer_diameter=25.0, wall=13.0)}, "mounts.transmission.tube")])
def test_a_mount_that_cannot_be_is_one_sentence(car, scene, changes, words):
    with pytest.raises(ValueError, match=words):
        transmission_mount.spec(replace(car.mounts.transmission, **changes), car.mounts.cross_member, scene)


def test_mount_of_other_sizes_and_a_rolled_powertrain(car):
    for roll, yaw, outer, thickness in ((0.1, 0.05, 1.5, 0.125), (-0.3, 0.0, 0.875, 0.375), (0.0, -0.3, 2.0, 0.1875)):
        moved = replace(car, placement=replace(car.placement, roll=roll, yaw=yaw))
        mount = replace(car.mounts.transmission, tube=model.Section(outer_diameter=outer * INCH, wall=0.083 * INCH), tab_thickness=thickness
                        * INCH)
        spec = transmission_mount.spec(mount, car.mounts.cross_member, scenes.of(moved))
        for side in SIDES:
            single(transmission_mount.build(replace(spec, side=side)))
            single(receiver_of(replace(spec, side=side)))
        assert off_square(spec.member_axis, transmission_mount.axis(spec)) == pytest.approx(abs(roll), abs=0.02)


# ------------------------------------------------------------------------------------- enclosure, tunnel and firewall

def test_enclosure_passes_through_what_carries_it(car, scene):
    record, loops = car.containment.enclosure, car.containment.loops
    spec = enclosure.spec(record, scene, loops)
    made = enclosure.build(spec)
    single(made)
    assert made.Volume == pytest.approx(tube.volume(record.outer_diameter, record.wall, spec.length), rel=1e-9)
    frame = enclosure.frame(record, scene, loops)
    front, rear = enclosure.supporting(record, loops)
    for loop in filter(None, (front, rear)):
        local = frame.to_local(scene.loop_center(loop))
        assert np.hypot(local[1], local[2]) < 1e-9
    if record.front_support == "transmission_tail":
        tip = frame.to_car([spec.length, 0.0, 0.0])
        assert scene.engine_frame.to_local(tip)[1:] == pytest.approx([0.0, 0.0], abs=1e-9)
    placed = standing(made, frame)
    found = enclosure.measure(placed)
    assert (found.length, found.outer_diameter, found.wall) == pytest.approx((spec.length, record.outer_diameter, record.wall), abs=1e-6)
    for loop in loops:
        solid = LOOPS[loop.kind].build(LOOPS[loop.kind].spec(loop, scene))
        solid.translate(V(*scene.loop_center(loop)))
        assert placed.common(solid).Volume < 1e-6, f"the enclosure stands inside loop {loop.name}"


def test_enclosure_without_loops_follows_the_shaft(car, scene):
    rear, front = enclosure.axis_points(replace(car.containment.enclosure, front_support="loop"), scene, ())
    local = scene.shaft_frame.to_local(np.array([rear, front]))
    assert np.abs(local[:, 1:]).max() < 1e-9


def test_enclosure_errors(car, scene):
    with pytest.raises(ValueError, match="x_front"):
        enclosure.spec(replace(car.containment.enclosure, x_front=100.0), scene, car.containment.loops)


def test_tunnel_covers_with_its_clearance(car, scene):
    containment = car.containment
    spec = tunnel.spec(containment.tunnel, containment, scene)
    made = tunnel.build(spec)
    single(made)
    assert made.Volume == pytest.approx(tunnel_section_area(spec) * spec.length, rel=1e-6)
    for loop in containment.loops:
        solid = LOOPS[loop.kind].build(LOOPS[loop.kind].spec(loop, scene))
        solid.translate(V(*scene.loop_center(loop)))
        assert not come_within(solid, made, containment.tunnel.clearance - 0.01), loop.name
    inside = standing(enclosure.build(enclosure.spec(containment.enclosure, scene, containment.loops)),
                      enclosure.frame(containment.enclosure, scene, containment.loops))
    assert not come_within(inside, made, 1e-3)


def test_nothing_to_cover(car, scene):
    with pytest.raises(ValueError, match="no loop and no enclosure"):
        tunnel.spec(car.containment.tunnel, replace(car.containment, loops=(), enclosure=None), scene)


def test_tunnel_over_placements(car):
    for moved in placements(car, 60, 31):
        single(tunnel.build(tunnel.spec(car.containment.tunnel, car.containment, scenes.of(moved))))


def test_firewall_lies_on_the_mid_plate_and_clears_block_and_tabs(car, scene):
    from crankline.geometry import engine_envelope, mid_plate, rail_tab
    spec = firewall.spec(car.plates.mid, car.mounts.rail_tabs, scene)
    made = firewall.build(spec)
    single(made)
    assert made.Volume == pytest.approx(firewall.flat(spec).area * spec.thickness, rel=1e-9)
    # Closed form of the portal: panel less opening, whose two corners are rounded.
    portal = (spec.left - spec.right) * (spec.z_high - spec.z_low) - 2 * spec.opening_half_width * (spec.opening_top - spec.z_low)
    assert firewall.flat(spec).area == pytest.approx(portal + (2 - math.pi / 2) * firewall.CORNER ** 2, rel=1e-9)
    tabs = car.mounts.rail_tabs
    plate = mid_plate.build(mid_plate.spec(filled(car.plates.mid), filled(tabs), car.mounts.support_tube, scene))
    assert come_within(made, plate, 1e-6) and made.common(plate).Volume < 1e-3, "it lies on the plate and not in it"
    block = engine_envelope.build(engine_envelope.spec(scene.engine, scene))
    assert not come_within(made, block, 5.0)
    for side in ("left", "right"):
        tab = rail_tab.build(rail_tab.spec(filled(tabs), scene.stack.mid_plate, -scene.stack.total, scene, side, "front"))
        assert not come_within(made, tab, 5.0)
    assert abs(firewall.gap(car.chassis.firewall, scene)) < 0.5 * 25.4


def with_second_rails(car, mid_kind, upper, pitch, out=0.0):
    """The car with double rails, ``upper`` and ``out`` in inches, and a mid plate that is clamped on both or on the lower ones."""
    rails = replace(car.chassis.rails, kind="double", upper_height=upper * INCH, half_spacing=car.chassis.rails.half_spacing + out * INCH)
    mid = replace(car.plates.mid, kind=mid_kind, half_width=15.0 * INCH)
    return replace(car, chassis=replace(car.chassis, rails=rails), plates=replace(car.plates, mid=mid),
                   placement=replace(car.placement, pitch_mode="fixed", pitch=math.radians(pitch)))


def firewall_and_what_it_must_clear(car):
    """Spec and solid of the firewall, and every rail and rail tab of the car by key, in the car frame."""
    from crankline.geometry import rail_tab
    full, scene = filled(car), scenes.of(car)
    spec = firewall.spec(full.plates.mid, full.mounts.rail_tabs, scene)
    near = {}
    for key, item in chassis_tube.specs(full.chassis, full.car.wheelbase).items():
        if key.startswith(("rail/", "upper_rail/")):
            near[key] = chassis_tube.build(item)
    for side, face, level in ((s, f, v) for s in ("left", "right") for f in rail_tab.FACES for v in ("lower", "upper")):
        if level == "lower" or full.plates.mid.kind == "double_rail":
            tab = rail_tab.spec(full.mounts.rail_tabs, scene.stack.mid_plate, -scene.stack.total, scene, side, face, level)
            near[f"tab {side} {face} {level}"] = standing(rail_tab.build(tab), scene.engine_frame)
    return spec, standing(firewall.build(spec), scene.engine_frame), near


@pytest.mark.parametrize("pitch", [-2.0, 0.0, 2.0, 5.0])
@pytest.mark.parametrize("kind, upper", [("single", 0.0), ("single_rail", 16.0), ("double_rail", 16.0), ("double_rail", 18.5),
                                         ("double_rail", 21.0),
                                         ("single_rail", 23.0)])
def test_firewall_is_cut_around_rails_and_their_tabs(car, kind, upper, pitch):
    # Tabs of the usual width: wide ones leave no strip beside the block of either demo.
    car = replace(car, mounts=replace(car.mounts, rail_tabs=replace(car.mounts.rail_tabs, width=1.75 * INCH)))
    moved = replace(car, placement=replace(car.placement, pitch_mode="fixed", pitch=math.radians(pitch)))
    spec, made, near = firewall_and_what_it_must_clear(moved if kind == "single" else with_second_rails(car, kind, upper, pitch))
    single(made)
    assert len(near) == {"single": 6, "single_rail": 8, "double_rail": 12}[kind]
    for key, shape in near.items():
        assert not come_within(made, shape, firewall.CLEARANCE - 0.5), key
    assert bool(spec.cuts) == (kind != "single"), "there is a strip beside the block in either car, and the panel reaches up to the rail"


@pytest.mark.parametrize("out", [-2.5, -1.5, -0.5])
@pytest.mark.parametrize("upper", [14.0, 17.0, 19.0, 20.0])
def test_firewall_with_rails_close_to_the_block_starts_above_them(car, out, upper):
    from crankline.geometry import engine_envelope
    moved = with_second_rails(car, "single_rail", upper, 1.0, out)
    spec, made, near = firewall_and_what_it_must_clear(moved)
    single(made)
    assert not any(come_within(made, shape, 1e-3) for shape in near.values())
    scene = scenes.of(moved)
    assert made.common(standing(engine_envelope.build(engine_envelope.spec(scene.engine, scene)), scene.engine_frame)).Volume < 1e-6
    # Cut where a strip is left between block and rail, and above the rails where none is.
    rails = moved.chassis.rails
    outside = spec.opening_half_width + firewall.CLEARANCE + rails.section.outer_diameter / 2
    strip = rails.half_spacing - abs(moved.placement.lateral) - outside
    assert (spec.cuts == ()) == (strip < firewall.FLANGE) == (box(made).ZMin > upper * INCH)


def test_no_room_for_a_firewall_above_second_rails_is_one_sentence(car):
    """Rails close to the block, and a mid plate that ends below their tops."""
    moved = filled(with_second_rails(car, "single_rail", 19.5, 0.0, -2.5))
    with pytest.raises(ValueError,
                       match=r"chassis\.firewall: the second rails and their tabs leave no panel .*; set the rails farther out"):
        firewall.spec(replace(moved.plates.mid, above_crank=8.0 * INCH), moved.mounts.rail_tabs, scenes.of(moved))
