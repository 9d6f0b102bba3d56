"""Sweeps against closed forms and fine sampling; the service paths and figures of the demo cars."""
from __future__ import annotations

import math
from dataclasses import replace

import cars
import FreeCAD as App
import numpy as np
import Part
import pytest
from oracles import first_way, sampled

from crankline import model
from crankline.checks import evaluate
from crankline.features import read
from crankline.geometry import cross_member
from crankline.measure import host_measurer, removal, swept_path
from crankline.measure.distance import Body, Kept
from crankline.measure.swept_path import Step
from crankline.mechanics import scene
from crankline.progress import drained
from crankline.record import filled
from crankline.rules import rule_sets

INCH = 25.4
X, Z = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)


def V(*xyz):
    return App.Vector(*map(float, xyz))


def box(size, low=(0, 0, 0)):
    return Part.makeBox(*map(float, size), V(*low))


def swept(moving, staying, *steps, **more):
    named = [Step(f"step {i}", *step) for i, step in enumerate(steps)]
    path = drained(swept_path.sweep([Body("moving", moving, "m")], [Body("part", staying, "p")], named, **more))
    return path, path.passes[0]


# ------------------------------------------------------------------------------------------------------- closed forms


def test_passing_a_post():
    """A box passes a round post whose nearest line is 7 mm beside its way: 7 mm, where the post is abreast."""
    post = Part.makeCylinder(5.0, 100.0, V(150, 32, -50))
    path, one = swept(box((20, 20, 20)), post, (X, 300.0))
    assert path.blocked is None and not one.at_rest
    assert 7.0 - 1e-9 <= one.distance <= 7.0 + one.within and 130.0 <= one.along <= 150.0
    assert math.dist(*one.points) == pytest.approx(one.distance, abs=1e-6)


def test_a_wall_blocks_where_it_is_met():
    path, one = swept(box((20, 20, 20)), box((10, 100, 100), (60, -40, -40)), (X, 300.0))
    assert path.blocked is one and one.blocked == pytest.approx(40.0, abs=2 * swept_path.ENTERED)
    assert one.step == "step 0"


def test_a_thin_wall_is_not_jumped_over():
    """0.3 mm of sheet in the way of a 2 mm rod, over half a meter."""
    path, one = swept(box((2, 2, 2)), box((0.3, 100, 100), (333.3, -40, -40)), (X, 500.0))
    assert one.blocked == pytest.approx(331.3, abs=2 * swept_path.ENTERED)


def test_the_second_step_is_looked_at_with_its_corner():
    path, one = swept(box((20, 20, 20)), box((100, 100, 5), (100, -40, -60)), (X, 90.0), ((0.0, 0.0, -1.0), 100.0))
    assert one.step == "step 1" and one.blocked == pytest.approx(90.0 + 55.0, abs=2 * swept_path.ENTERED)
    assert path.travel == pytest.approx(190.0)


def test_sliding_on_a_face_does_not_block_and_leaving_does_not_count():
    _path, slides = swept(box((20, 20, 20)), box((500, 20, 10), (0, 0, -10)), (X, 300.0))
    assert slides.blocked is None and slides.at_rest and slides.distance == 0.0
    path, leaves = swept(box((20, 20, 20)), box((10, 20, 20), (-12, 0, 0)), (X, 300.0))
    assert leaves.at_rest and leaves.distance == pytest.approx(2.0) and path.closest is None


def test_a_leaning_plate_lifted_straight_up_meets_the_tab_behind_it():
    """Gap over the sine of the lean: 0.381 mm at 2 degrees is 10.92 mm of lift."""
    lean = App.Placement(V(0, 0, 0), App.Rotation(V(0, 1, 0), 2.0))
    plate, tab = box((6, 100, 200)), box((5, 50, 80), (-5.381, 20, 0))
    plate.Placement = tab.Placement = lean
    _path, one = swept(plate, tab, (Z, 60.0))
    assert one.blocked == pytest.approx(0.381 / math.sin(math.radians(2.0)), abs=2 * swept_path.ENTERED)
    up = lean.Rotation.multVec(V(0, 0, 1))
    _path, along = swept(plate, tab, (tuple(up), 60.0))
    assert along.blocked is None and along.distance == pytest.approx(0.381, abs=1e-9)


def test_shapes_are_not_taken_for_convex():
    """A bar runs inside a channel, 2 mm from each flank: the channel's hull would block it."""
    channel = box((400, 60, 60)).cut(box((400, 40, 50), (0, 10, 10))).Solids[0]
    path, one = swept(box((50, 36, 20), (-80, 12, 20)), channel, (X, 450.0))
    assert path.blocked is None and one.distance == pytest.approx(2.0, abs=1e-6)


TIP = dict(axis=(0.0, 1.0, 0.0), about=(0.0, 0.0, 0.0))


def tipped(moving, staying, *steps, **more):
    path = drained(swept_path.sweep([Body("moving", moving, "m")], [Body("part", staying, "p")], steps, **more))
    return path, path.passes[0]


def test_a_step_moves_points_as_the_host_turns_them():
    step = Step("both", (0.6, 0.0, -0.8), 100.0, 0.7, (0.0, 0.6, 0.8), (30.0, -20.0, 10.0))
    for share in (0.0, 0.3, 1.0):
        turn = App.Placement(V(0, 0, 0), App.Rotation(V(0, 0.6, 0.8), math.degrees(0.7 * share)), V(30, -20, 10))
        place = App.Placement(V(60 * share, 0, -80 * share), App.Rotation()).multiply(turn)
        point = np.array([5.0, 6.0, 7.0, 1.0])
        np.testing.assert_allclose((step.motion(share) @ point)[:3], tuple(place.multVec(V(5, 6, 7))), atol=1e-9)


def test_no_point_goes_farther_than_the_way_along_a_path():
    steps = [Step("a", (1.0, 0.0, 0.0), 80.0, 0.4, (0.0, 1.0, 0.0), (10.0, 0.0, 5.0)), Step("b", (0.0, 0.0, -1.0), 50.0),
             Step("c", (0.0, 0.0, -1.0), 0.0, -0.9, (1.0, 0.0, 0.0), (0.0, 10.0, 0.0))]
    points = np.random.default_rng(2).uniform(-60, 60, (200, 3))
    corners = np.array([[x, y, z] for x in (-60, 60) for y in (-60, 60) for z in (-60, 60)], dtype=float)
    course = swept_path.Course(steps, corners)
    along = np.linspace(0.0, course.ends[-1], 400)
    places = np.array([points @ course.pose(s)[:3, :3].T + course.pose(s)[:3, 3] for s in along])
    gone = np.linalg.norm(np.diff(places, axis=0), axis=-1).max(axis=1)
    assert (gone <= np.diff(along) * (1 + 1e-9) + 1e-9).all() and gone.max() > 0.5 * np.diff(along)[0]
    # Between two poses of a step no point stands off its chord by more than is stated.
    for first, last in ((0.0, course.ends[1]), (course.ends[2], course.ends[3])):
        (one, two), bulge = course.stretch(first, last)
        a, b = (points @ pose[:3, :3].T + pose[:3, 3] for pose in (one, two))
        for share in np.linspace(0.0, 1.0, 21):
            pose = course.pose(first + share * (last - first))
            off = np.linalg.norm(points @ pose[:3, :3].T + pose[:3, 3] - (a + share * (b - a)), axis=1)
            assert off.max() <= bulge + 1e-9


def test_a_turning_arm_passes_a_post_and_meets_a_wall():
    """An arm of 100 mm that turns down about its end: its far edge runs on a circle. A post 8 mm outside is passed by 8 mm; a floor
    60 mm below the axis is met when 100 sin a + 5 cos a = 60 (the arm's lower far edge, 5 mm below its middle)."""
    arm = box((100, 10, 10), (0, -5, -5))
    radius = math.hypot(100.0, 5.0)
    turn = math.radians(30.0)
    post = Part.makeCylinder(4.0, 60.0, V((radius + 12) * math.cos(turn), -30, -(radius + 12) * math.sin(turn)), V(0, 1, 0))
    path, one = tipped(arm, post, Step("tip", X, 0.0, math.radians(70.0), **TIP))
    assert path.blocked is None and 8.0 - 1e-9 <= one.distance <= 8.0 + one.within + 1e-6
    path, one = tipped(arm, box((300, 200, 10), (-100, -100, -70)), Step("tip", X, 0.0, math.radians(70.0), **TIP))
    met = math.asin(60.0 / radius) - math.atan2(5.0, 100.0)
    # The way is counted at the corner of the box, which is at the end of the arm.
    assert one.blocked == pytest.approx(met * math.hypot(100.0, 5.0), abs=2 * swept_path.ENTERED)
    assert path.travel == pytest.approx(math.radians(70.0) * radius)


def test_tipping_against_fine_sampling():
    """Random bodies that tip, shift and then go straight, turned, past a ring on a leg."""
    rng = np.random.default_rng(7)
    ring = Part.makeTorus(60.0, 8.0, V(0, 0, 0), V(1, 0, 0)).fuse(box((10, 10, 60), (-5, -5, -125))).Solids[0]
    seen = {"blocked": 0, "near": 0, "far": 0}
    for _ in range(7):
        low = rng.uniform(-60, 50, 3)
        low[0] = -130.0
        moving = (box(rng.uniform(8, 40, 3), low) if rng.random() < 0.5 else
                  Part.makeCylinder(rng.uniform(3, 12), 40.0, V(*low), V(*rng.normal(size=3))))
        axis = rng.normal(size=3)
        way = np.array([1.0, *rng.uniform(-0.3, 0.3, 2)])
        steps = (Step("tip", (1.0, 0.0, 0.0), 60.0, rng.uniform(-1.0, 1.0), tuple(axis / np.linalg.norm(axis)), tuple(low)),
                 Step("on", tuple(way / np.linalg.norm(way)), 160.0))
        path, one = tipped(moving, ring, *steps)

        def distance(along, moving=moving, course=path.course):
            shape = moving.copy()
            shape.Placement = App.Placement(App.Matrix(*course.pose(along).ravel().tolist())).multiply(shape.Placement)
            return shape.distToShape(ring)[0]

        samples = sampled(distance, np.linspace(0.0, path.travel, 180))
        least, step = min(samples), path.travel / 179
        if least[0] < 1e-6:
            first = next(along for gap, along in samples if gap < 1e-6)
            assert first - step - 2 * swept_path.ENTERED <= one.blocked <= first + 2 * swept_path.ENTERED
            seen["blocked"] += 1
        elif one.blocked is None and least[0] < swept_path.REACH:
            assert least[0] - step / 2 - one.within <= one.distance <= least[0] + one.within + 1e-6
            seen["near"] += 1
        elif one.blocked is None:
            assert one.distance is None or one.distance >= swept_path.REACH - step
            seen["far"] += 1
    assert seen["blocked"] >= 2 and seen["near"] >= 2


def test_what_lies_behind_the_first_block_is_not_looked_at():
    wall, post = box((10, 100, 100), (60, -40, -40)), box((5, 5, 100), (200, 23, -40))
    bodies = [Body("wall", wall, "w"), Body("post", post, "p")]
    path = drained(swept_path.sweep([Body("moving", box((20, 20, 20)), "m")], bodies, [Step("on", X, 300.0)], first_only=True))
    assert path.blocked.part == "wall" and path.blocked.blocked == pytest.approx(40.0, abs=2 * swept_path.ENTERED)
    entered = drained(swept_path.entered([Body("moving", box((20, 20, 20)), "m")], bodies, [Step("on", X, 300.0)]))
    known = {one.part: one.blocked is not None for one in entered}
    assert known == {"wall": True, "post": False}


def test_far_parts_are_told_as_beyond_reach():
    path, one = swept(box((20, 20, 20)), box((20, 20, 20), (100, 90, 0)), (X, 300.0))
    assert one.distance is None and path.closest is None


def test_the_resolution_is_bounded():
    with pytest.raises(ValueError, match="5 mm"):
        swept(box((1, 1, 1)), box((1, 1, 1), (5, 0, 0)), (X, 10.0), resolution=6.0)


def test_against_fine_sampling():
    """Random boxes and cylinders past a ring on legs: the minimum of samples every mm is met within what is stated."""
    rng = np.random.default_rng(11)
    ring = Part.makeTorus(60.0, 8.0, V(0, 0, 0), V(1, 0, 0)).fuse(box((10, 10, 60), (-5, -5, -125))).Solids[0]
    for _ in range(6):
        low = rng.uniform(-90, 60, 3)
        low[0] = -120.0
        moving = box(rng.uniform(5, 30, 3), low)
        if rng.random() < 0.5:
            moving = Part.makeCylinder(rng.uniform(3, 12), 25.0, V(*low), V(*rng.normal(size=3)))
        way = rng.uniform(0.3, 1.0), *rng.uniform(-0.3, 0.3, 2)
        way = tuple(np.array(way) / np.linalg.norm(way))
        _path, one = swept(moving, ring, (way, 220.0))

        def distance(along, moving=moving, way=way):
            shape = moving.copy()
            shape.translate(V(*(np.array(way) * along)))
            return shape.distToShape(ring)[0]

        samples = sampled(distance, np.arange(0.0, 220.01, 1.0))
        least = min(samples)
        if least[0] < 1e-6:
            first = next(along for gap, along in samples if gap < 1e-6)
            assert one.blocked == pytest.approx(first, abs=1.0 + 2 * swept_path.ENTERED)
        elif least[0] < swept_path.REACH:
            assert least[0] - 0.5 - one.within <= one.distance <= least[0] + one.within + 1e-6
        else:
            assert one.distance is None


# ------------------------------------------------------------------------------------------------------- the cars


def automatic(**member):
    car = cars.demo(cars.AUTOMATIC)
    return replace(car, mounts=replace(car.mounts, cross_member=replace(car.mounts.cross_member, **member))) if member else car


def pan_rear_edge(place):
    """Middle of the lower rear edge of the transmission pan, car frame: it is the rearmost, because the pan leans with the crank."""
    pan = place.transmission.pan
    return place.engine_point(-(place.stack.total + pan.from_bell_rear), 0.0, -pan.below_axis)


def plan_gap(place, member):
    """Along the car, from the pan's rear edge to the front of a cross member that is straight behind the pan; negative where they
    overlap."""
    return float(pan_rear_edge(place)[0]) - (cross_member.station(member, place.chassis) + member.section.outer_diameter / 2)


def test_plan_gap_of_the_automatic():
    """Offset by 3.5 in the gap is 3.47 in; a straight tube in line with the footwell tube is fouled by 0.03 in (trade facts that
    the task gives as check values). By hand: 83.5 + 0.25 sin 2 - 19.175 cos 2 - 7.2 sin 2 = 64.094 in, less the tube's front."""
    car = automatic()
    place = scene.of(car)
    rear = 83.5 + 0.25 * math.sin(math.radians(2)) - 19.175 * math.cos(math.radians(2)) - 7.2 * math.sin(math.radians(2))
    assert pan_rear_edge(place)[0] / INCH == pytest.approx(rear, abs=1e-9)
    assert plan_gap(place, car.mounts.cross_member) / INCH == pytest.approx(3.47, abs=0.005)
    straight = automatic(offset=0.0).mounts.cross_member
    assert plan_gap(place, straight) / INCH == pytest.approx(-0.03, abs=0.005)


@pytest.mark.one_host
@pytest.mark.parametrize("member, inches, state", [
    (dict(reference="chassis_x", offset=60.0 * INCH), 3.469, "passed"),          # straight across, 3.5 in behind the footwell tube
    (dict(offset=0.0), -0.031, "open")])
def test_plan_gap_measured_on_the_shapes(member, inches, state):
    car = automatic(**member)
    place = scene.of(car)
    document = cars.document(cars.AUTOMATIC, "plan_gap")
    now = read.snapshot(read.only_layout(document))
    tube = cross_member.build(cross_member.spec(car.mounts.cross_member, place))
    now = replace(now, car=car, scene=place, parts=(now.part("transmission"), replace(now.part("cross_member"), shape=tube, digest="new")))
    rule = next(item for item in rule_sets.select(["clearance"]).rules if item.id == "SRV-PAN-GAP")
    found, = evaluate.evaluate([rule], now, host_measurer.HostMeasurer())
    App.closeDocument(document.Name)
    assert found.measured == pytest.approx(inches, abs=0.002)
    assert found.measured * INCH == pytest.approx(plan_gap(place, car.mounts.cross_member), abs=0.01)
    assert (found.state, found.limit) == (state, pytest.approx(1.25 + 0.125)) and len(found.points) == 2


@pytest.fixture(scope="module")
def demos():
    """Snapshots of the demos by name."""
    documents = {name: cars.document(name, f"service_{name}") for name in cars.DEMOS}
    yield {name: read.snapshot(read.only_layout(document)) for name, document in documents.items()}
    for document in documents.values():
        App.closeDocument(document.Name)


def known(now, *kinds):
    return {part.key: (part.kind, Body(part.key, part.shape, f"{part.kind} {part.digest}"))
            for part in now.parts if not kinds or part.kind in kinds}


@pytest.mark.one_host
def test_the_steps_of_the_transmission(demos):
    now = demos["full_bodied_automatic"]
    setup = removal.setup("transmission", known(now), now.scene, now.car)
    back, down = setup.steps
    assert back.travel == pytest.approx(1.25 * INCH)
    np.testing.assert_allclose(back.direction, -now.scene.engine_frame.axis, atol=1e-12)
    assert down.direction == (0.0, 0.0, -1.0)
    box_ = now.part("transmission").shape.copy(True, False).optimalBoundingBox(False)
    top = box_.ZMax + back.direction[2] * back.travel - down.travel
    rails = now.scene.chassis.rails
    assert top == pytest.approx(rails.height - rails.section.outer_diameter / 2 - removal.UNDER, abs=1e-6)
    stays = {body.key for body in setup.staying}
    assert "driveshaft" not in stays and "shaft_envelope" not in stays and "loop/front" not in stays
    assert {"loop/rear", "enclosure", "tunnel", "cross_member", "transmission_mount", "mid_plate"} <= stays


def test_the_folded_mount_is_where_its_geometry_says(demos):
    from crankline.geometry import transmission_mount
    now = demos["full_bodied_automatic"]
    setup = removal.setup("transmission", known(now), now.scene, now.car)
    folded = next(body.shape for body in setup.staying if body.key == "transmission_mount")
    mounts = filled(now.car).mounts
    spec = transmission_mount.spec(mounts.transmission, mounts.cross_member, now.scene)
    local = transmission_mount.build(spec)
    local.Placement = transmission_mount.folded(spec)
    center = now.scene.engine_point(*local.CenterOfMass)
    np.testing.assert_allclose(tuple(folded.CenterOfMass), center, atol=1e-6)


@pytest.mark.parametrize("name", ["full_bodied_automatic", "open_clutch"])
def test_the_way_of_the_transmission_is_blocked_where_sampling_says(demos, name):
    """Down past the cross member: the travel at which the tail meets it equals that of positions taken one by one."""
    now = demos[name]
    bodies = known(now, "transmission", "cross_member")
    path = first_way("transmission", bodies, now.scene, now.car)
    one, = path.passes
    assert path.blocked is one and one.step == "down"
    member, transmission = bodies["cross_member"][1].shape, bodies["transmission"][1].shape

    def volume(along):
        shape = transmission.copy()
        shape.translate(V(*path.course.pose(along)[:3, 3]))
        return shape.common(member).Volume

    assert volume(one.blocked - 0.3) == pytest.approx(0.0, abs=1e-2) and volume(one.blocked + 0.3) > 1e-2


def test_the_engine_lifts_along_its_plates_and_not_straight_up(demos):
    now = demos["full_bodied_automatic"]
    bodies = known(now, "engine", "mid_plate", "front_plate", "protector", "rail_tab", "rail")
    cache = Kept()
    along = first_way("engine", bodies, now.scene, now.car, cache)
    assert along.blocked is None and along.travel == pytest.approx(15 * INCH)
    straight = first_way("engine_straight_up", bodies, now.scene, now.car, cache)
    first = straight.blocked
    assert first.part in ("rail_tab/left_rear", "rail_tab/right_rear")
    gap = filled(now.car.mounts.rail_tabs).gap
    assert first.blocked == pytest.approx(gap / math.sin(now.scene.pitch), abs=0.25)


def test_with_the_transmission_on_the_support_tube_is_in_the_way(demos):
    now = demos["open_clutch"]
    bodies = known(now, "engine", "mid_plate", "transmission", "support_tube")
    path = first_way("engine_with_transmission", bodies, now.scene, now.car)
    assert path.blocked.part == "support_tube"


def entered_at_samples(path, moving, staying, count=80):
    """Keys of what any of the moving bodies has volume in common with, at positions taken one by one."""
    met = set()
    boxes = {body.key: body.shape.copy(True, False).optimalBoundingBox(False) for body in staying}
    copies = [(body.shape.copy(), body.shape.Placement) for body in moving]
    for along in np.linspace(0.0, path.travel, count):
        place = App.Placement(App.Matrix(*path.course.pose(along).ravel().tolist()))
        for shape, at_rest in copies:
            shape.Placement = place.multiply(at_rest)
            box_ = shape.BoundBox
            met |= {other.key for other in staying if other.key not in met and box_.intersect(boxes[other.key])
                    and shape.common(other.shape).Volume > 1.0}
    return met


@pytest.fixture(scope="module")
def transmission_judged(demos):
    """What the rule on the automatic's transmission finds, and the way out that it found it on."""
    rule = next(item for item in rule_sets.select(["service"]).rules if item.id == "SRV-TRANSMISSION")
    outcomes, way_out = [], removal.way_out

    def noted(*given):
        outcomes.append((yield from way_out(*given)))
        return outcomes[-1]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(removal, "way_out", noted)
        found, = evaluate.evaluate([rule], demos["full_bodied_automatic"], host_measurer.HostMeasurer())
    outcome, = outcomes
    return found, outcome


@pytest.fixture(scope="module")
def transmission_out(transmission_judged):
    """The automatic's transmission, taken out."""
    return transmission_judged[1]


def test_the_transmission_of_the_automatic_comes_out(demos, transmission_out):
    """Turned a quarter, its pan to one side, tipped over the receiver, forward under the engine and down; never straight down."""
    now = demos["full_bodied_automatic"]
    assert transmission_out.path.blocked is None and transmission_out.way == "turned_nose_down"
    assert [one.way for one in transmission_out.failed] == ["straight_down", "nose_down"]
    assert transmission_out.failed[0].part in ("receiver", "cross_member") and transmission_out.failed[1].part == "receiver"
    tips = [step.tip for step in transmission_out.path.steps if step.axis == (0.0, 1.0, 0.0)]
    assert math.radians(20.0) < sum(tips) <= removal.TIP_LIMIT
    # Positions taken one by one, as volumes in common: nothing that is left is entered, and it is out at the end.
    setup = removal.setup("transmission", known(now), now.scene, now.car)
    assert set(transmission_out.off) <= set(setup.removable)
    left = [body for body in setup.staying if not any(body.key.startswith(key.partition("/")[0]) for key in transmission_out.off)]
    met = entered_at_samples(transmission_out.path, setup.moving, left)
    assert not met
    last = setup.moving[0].shape.copy()
    pose = transmission_out.path.course.pose(transmission_out.path.travel)
    last.Placement = App.Placement(App.Matrix(*pose.ravel().tolist())).multiply(last.Placement)
    rails = now.scene.chassis.rails
    assert last.optimalBoundingBox(False).ZMax <= rails.height - rails.section.outer_diameter / 2 - removal.UNDER + 2.0
    assert transmission_out.lowest < 0.0, "it comes below the track's height: the car must be raised"


def test_what_must_come_off_is_in_the_way_with_it_in_place(demos, transmission_out):
    now = demos["full_bodied_automatic"]
    setup = removal.setup("transmission", known(now), now.scene, now.car)
    loose = [body for body in setup.staying if body.key in transmission_out.off]
    assert loose and entered_at_samples(transmission_out.path, setup.moving, loose, 160) == set(transmission_out.off)


@pytest.mark.parametrize("name", [pytest.param("full_bodied_automatic", marks=pytest.mark.one_host), "open_clutch"])
def test_the_driveshaft_draws_out_through_enclosure_and_loop(demos, name):
    """As thick as its joint swing; all that is drawn of it lies within that, and positions one by one enter nothing."""
    now = demos[name]
    setup = removal.setup("driveshaft", known(now), now.scene, now.car)
    found = drained(removal.way_out("driveshaft", known(now), now.scene, now.car))
    swinging, drawn = setup.moving[0].shape, now.part("driveshaft").shape
    assert drawn.common(swinging).Volume == pytest.approx(drawn.Volume, rel=2e-3)
    assert found.path.blocked is None and not found.off
    front = drawn.optimalBoundingBox(False).XMax + found.path.course.pose(found.path.travel)[0, 3]
    for kind in ("enclosure", "fixed_loop"):
        assert all(front < part.shape.optimalBoundingBox(False).XMin for part in now.kind(kind))
    assert not entered_at_samples(found.path, setup.moving, [body for body in setup.staying if body.key != "transmission"], 15)


def test_a_bore_under_the_swing_blocks_the_driveshaft(demos):
    """An enclosure whose bore is 4 mm smaller than the joint swing: they run against its front end."""
    now = demos["full_bodied_automatic"]
    tube = host_measurer.HostMeasurer().tube(now.part("enclosure").shape)
    swing = filled(now.car.driveshaft).joint_swing_diameter
    along = V(*np.subtract(tube.front, tube.rear))
    small = Part.makeCylinder(tube.outer_diameter / 2, along.Length, V(*tube.rear), along).cut(
        Part.makeCylinder(swing / 2 - 2.0, along.Length, V(*tube.rear), along))
    bodies = {**known(now, "driveshaft", "fixed_loop"), "enclosure": ("enclosure", Body("enclosure", small.Solids[0], "small"))}
    found = drained(removal.way_out("driveshaft", bodies, now.scene, now.car))
    assert found.path.blocked.part == "enclosure"


@pytest.mark.one_host
@pytest.mark.parametrize("name", ["full_bodied_automatic", "open_clutch"])
def test_the_engine_lifts_with_the_firewall_off(demos, name):
    now = demos[name]
    setup = removal.setup("engine", known(now), now.scene, now.car)
    found = drained(removal.way_out("engine", known(now), now.scene, now.car, off=("firewall",)))
    assert found.path.blocked is None and set(found.off) <= {"firewall"}
    left = [body for body in setup.staying if body.key not in found.off]
    # What touches at rest slides on: a film of a weld fit or a trimmed edge is no obstacle.
    assert not entered_at_samples(found.path, setup.moving, left, 12)


def test_the_finding_says_what_blocks_where(demos):
    now = demos["full_bodied_automatic"]
    some_rules = [item for item in rule_sets.select(["service"]).rules if item.id in ("SRV-TRANSMISSION", "SRV-TRANSMISSION-ROOM")]
    some = replace(now, parts=tuple(part for part in now.parts if part.kind in ("transmission", "cross_member", "mid_plate", "receiver")))
    measurer = host_measurer.HostMeasurer()
    straight = [replace(rule, settings=tuple((key, ("straight_down",) if key == "ways" else value) for key, value in rule.settings))
                for rule in some_rules]
    found, *none = evaluate.evaluate(straight, some, measurer)
    assert (found.state, found.severity) == ("open", "warning")
    assert found.subjects in (("cross_member", "transmission"), ("receiver", "transmission"))
    assert 0.0 < found.measured < found.limit and len(found.points) == 2 and "in the way" in found.how
    assert [item.state for item in none] == ["not-applicable"], "one fault is one finding"
    clear, room = evaluate.evaluate(straight, replace(some, parts=tuple(part for part in some.parts
                                                                        if part.kind not in ("cross_member", "receiver"))), measurer)
    assert (clear.state, clear.margin) == ("passed", 0.0) and "it comes out" in clear.how and "on stands" in clear.how
    assert room.state == "passed" and "mid_plate" in room.how
    nothing = replace(some, parts=())
    assert {item.state for item in evaluate.evaluate(straight, nothing, measurer)} == {"not-applicable"}
    assert {item.state for item in evaluate.evaluate(straight, some, None)} == {"not-evaluated"}


def test_the_finding_of_the_automatic_names_the_way(transmission_judged):
    found, _outcome = transmission_judged
    assert found.state == "passed" and found.how.startswith("turned nose down: straight back 1.25 in")
    for words in ("it comes out", "closest to", "transmission_mount", "must come off",
                  "straight down: receiver is in the way after"):
        assert words in found.how


def test_no_path_is_one_sentence(demos):
    now = demos["full_bodied_automatic"]
    with pytest.raises(removal.NoPath, match="no transmission"):
        removal.setup("transmission", {}, now.scene, now.car)
    with pytest.raises(ValueError, match="allowed"):
        removal.setup("sideways", {}, now.scene, now.car)


def test_the_joint_passes_the_bore(demos):
    now = demos["full_bodied_automatic"]
    rule = next(item for item in rule_sets.select(["clearance"]).rules if item.id == "SRV-SHAFT")
    found, = evaluate.evaluate([rule], now, host_measurer.HostMeasurer())
    enclosure: model.Enclosure = now.car.containment.enclosure
    swing = filled(now.car.driveshaft).joint_swing_diameter
    expected = (enclosure.outer_diameter - 2 * enclosure.wall - swing) / 2
    assert found.measured * INCH == pytest.approx(expected, abs=1e-6) and found.state == "passed"


@pytest.mark.one_host
def test_the_clutch_cars_transmission_comes_out_once_its_receiver_is_low(demos):
    """It must go back by the length of its input shaft first, with its case over the receiver: where that stands too high it is
    the one thing in the way, and told with its travel. Cut down until the case clears it, the transmission tips out over the member."""
    now = demos["open_clutch"]
    bodies = known(now)
    kind, receiver = bodies["receiver"]
    low = receiver.shape.BoundBox
    cut = receiver.shape.common(Part.makeBox(400, 400, 0.45 * low.ZLength, V(low.XMin - 100, low.YMin - 100, low.ZMin))).Solids[0]
    found = drained(removal.way_out("transmission", {**bodies, "receiver": (kind, Body("receiver", cut, "cut"))}, now.scene, now.car))
    assert found.path.blocked is None and found.way in ("nose_down", "turned_nose_down") and found.failed[0].way == "straight_down"
    assert {"enclosure", "transmission_mount"} <= set(found.off)
