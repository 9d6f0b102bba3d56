"""Sweeps against closed forms and fine sampling; the service paths and figures of the demo cars."""
from __future__ import annotations

import math
from dataclasses import replace

import FreeCAD as App
import numpy as np
import Part
import pytest
from conftest import ROOT

from crankline import carfile, model
from crankline.checks import engine, rules, service, shapes, sweep
from crankline.checks.clearance import Body, Cache
from crankline.checks.sweep import Step
from crankline.features import make, read
from crankline.geometry import cross_member
from crankline.mechanics import scene
from crankline.record import filled

INCH = 25.4
X, Z = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)


def V(*xyz):
    return App.Vector(*map(float, xyz))


def box(size, low=(0, 0, 0)):
    return Part.makeBox(*map(float, size), V(*low))


def swept(moving, staying, *steps, **more):
    named = [Step(f"step {i}", *step) for i, step in enumerate(steps)]
    path = sweep.sweep([Body("moving", moving, "m")], [Body("part", staying, "p")], named, **more)
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
    assert path.blocked is one and one.blocked == pytest.approx(40.0, abs=2 * sweep.ENTERED)
    assert one.step == "step 0"


def test_a_thin_wall_is_not_jumped_over():
    """0.3 mm of sheet in the way of a 2 mm rod, over half a metre."""
    path, one = swept(box((2, 2, 2)), box((0.3, 100, 100), (333.3, -40, -40)), (X, 500.0))
    assert one.blocked == pytest.approx(331.3, abs=2 * sweep.ENTERED)


def test_the_second_step_is_looked_at_with_its_corner():
    path, one = swept(box((20, 20, 20)), box((100, 100, 5), (100, -40, -60)), (X, 90.0), ((0.0, 0.0, -1.0), 100.0))
    assert one.step == "step 1" and one.blocked == pytest.approx(90.0 + 55.0, abs=2 * sweep.ENTERED)
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
    assert one.blocked == pytest.approx(0.381 / math.sin(math.radians(2.0)), abs=2 * sweep.ENTERED)
    up = lean.Rotation.multVec(V(0, 0, 1))
    _path, along = swept(plate, tab, (tuple(up), 60.0))
    assert along.blocked is None and along.distance == pytest.approx(0.381, abs=1e-9)


def test_shapes_are_not_taken_for_convex():
    """A bar runs inside a channel, 2 mm from each flank: the channel's hull would block it."""
    channel = box((400, 60, 60)).cut(box((400, 40, 50), (0, 10, 10))).Solids[0]
    path, one = swept(box((50, 36, 20), (-80, 12, 20)), channel, (X, 450.0))
    assert path.blocked is None and one.distance == pytest.approx(2.0, abs=1e-6)


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
        samples = []
        for along in np.arange(0.0, 220.01, 1.0):
            shape = moving.copy()
            shape.translate(V(*(np.array(way) * along)))
            samples.append((shape.distToShape(ring)[0], along))
        least = min(samples)
        if least[0] < 1e-6:
            first = next(along for distance, along in samples if distance < 1e-6)
            assert one.blocked == pytest.approx(first, abs=1.0 + 2 * sweep.ENTERED)
        elif least[0] < sweep.REACH:
            assert least[0] - 0.5 - one.within <= one.distance <= least[0] + one.within + 1e-6
        else:
            assert one.distance is None


# ------------------------------------------------------------------------------------------------------- the cars


def automatic(**member):
    car = carfile.read(ROOT / "demo_assemblies" / "full_bodied_automatic.yaml")
    return replace(car, mounts=replace(car.mounts, cross_member=replace(car.mounts.cross_member, **member))) if member else car


def test_plan_gap_of_the_automatic():
    """Offset by 3.5 in the gap is 3.47 in; a straight tube in line with the footwell tube is fouled by 0.03 in (trade facts that
    the task gives as check values). By hand: 83.5 + 0.25 sin 2 - 19.175 cos 2 - 7.2 sin 2 = 64.094 in, less the tube's front."""
    car = automatic()
    place = scene.of(car)
    rear = 83.5 + 0.25 * math.sin(math.radians(2)) - 19.175 * math.cos(math.radians(2)) - 7.2 * math.sin(math.radians(2))
    assert service.pan_rear_edge(place)[0] / INCH == pytest.approx(rear, abs=1e-9)
    assert service.plan_gap(place, car.mounts.cross_member) / INCH == pytest.approx(3.47, abs=0.005)
    straight = automatic(offset=0.0).mounts.cross_member
    assert service.plan_gap(place, straight) / INCH == pytest.approx(-0.03, abs=0.005)


@pytest.mark.parametrize("member, inches, state", [
    (dict(reference="chassis_x", offset=60.0 * INCH), 3.469, "passed"),          # straight across, 3.5 in behind the footwell tube
    (dict(offset=0.0), -0.031, "open")])
def test_plan_gap_measured_on_the_shapes(member, inches, state):
    car = automatic(**member)
    place = scene.of(car)
    document = make.document(automatic(), "plan_gap")
    now = read.snapshot(read.only_layout(document))
    tube = cross_member.build(cross_member.spec(car.mounts.cross_member, place))
    now = replace(now, car=car, scene=place, parts=(now.part("transmission"), replace(now.part("cross_member"), shape=tube, digest="new")))
    rule = next(item for item in rules.select(["clearance"]).rules if item.id == "SRV-PAN-GAP")
    found, = engine.evaluate([rule], now, shapes.HostMeasurer())
    App.closeDocument(document.Name)
    assert found.measured == pytest.approx(inches, abs=0.002)
    assert found.measured * INCH == pytest.approx(service.plan_gap(place, car.mounts.cross_member), abs=0.01)
    assert (found.state, found.limit) == (state, pytest.approx(1.25 + 0.125)) and len(found.points) == 2


@pytest.fixture(scope="module")
def cars():
    made = {}
    for name in ("full_bodied_automatic", "open_clutch"):
        document = make.document(carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml"), f"service_{name}")
        made[name] = read.snapshot(read.only_layout(document))
    yield made
    for name in made:
        App.closeDocument(f"service_{name}")


def known(now, *kinds):
    return {part.key: (part.kind, Body(part.key, part.shape, f"{part.kind} {part.digest}"))
            for part in now.parts if not kinds or part.kind in kinds}


def test_the_steps_of_the_transmission(cars):
    now = cars["full_bodied_automatic"]
    setup = service.setup("transmission", known(now), now.scene, now.car)
    back, down = setup.steps
    assert back.travel == pytest.approx(1.25 * INCH)
    np.testing.assert_allclose(back.direction, -now.scene.engine_frame.axis, atol=1e-12)
    assert down.direction == (0.0, 0.0, -1.0)
    box_ = now.part("transmission").shape.copy(True, False).optimalBoundingBox(False)
    top = box_.ZMax + back.direction[2] * back.travel - down.travel
    rails = now.scene.chassis.rails
    assert top == pytest.approx(rails.height - rails.section.outer_diameter / 2 - service.UNDER, abs=1e-6)
    stays = {body.key for body in setup.staying}
    assert "driveshaft" not in stays and "shaft_envelope" not in stays and "loop/front" not in stays
    assert {"loop/rear", "enclosure", "tunnel", "cross_member", "transmission_mount", "mid_plate"} <= stays


def test_the_folded_mount_is_where_its_geometry_says(cars):
    from crankline.geometry import transmission_mount
    now = cars["full_bodied_automatic"]
    setup = service.setup("transmission", known(now), now.scene, now.car)
    folded = next(body.shape for body in setup.staying if body.key == "transmission_mount")
    mounts = filled(now.car).mounts
    spec = transmission_mount.spec(mounts.transmission, mounts.cross_member, now.scene)
    local = transmission_mount.build(spec)
    local.Placement = transmission_mount.folded(spec)
    center = now.scene.engine_point(*local.CenterOfMass)
    np.testing.assert_allclose(tuple(folded.CenterOfMass), center, atol=1e-6)


@pytest.mark.parametrize("name", ["full_bodied_automatic", "open_clutch"])
def test_the_way_of_the_transmission_is_blocked_where_sampling_says(cars, name):
    """Down past the cross member: the travel at which the tail meets it equals that of positions taken one by one."""
    now = cars[name]
    bodies = known(now, "transmission", "cross_member")
    path = service.run("transmission", bodies, now.scene, now.car)
    one, = path.passes
    assert path.blocked is one and one.step == "down"
    member, transmission = bodies["cross_member"][1].shape, bodies["transmission"][1].shape

    def volume(along):
        shape = transmission.copy()
        shape.translate(V(*sweep.at(path.steps, along)[0]))
        return shape.common(member).Volume

    assert volume(one.blocked - 0.3) == pytest.approx(0.0, abs=1e-2) and volume(one.blocked + 0.3) > 1e-2


def test_the_engine_lifts_along_its_plates_and_not_straight_up(cars):
    now = cars["full_bodied_automatic"]
    bodies = known(now, "engine", "mid_plate", "front_plate", "protector", "rail_tab", "rail")
    cache = Cache()
    along = service.run("engine", bodies, now.scene, now.car, cache)
    assert along.blocked is None and along.travel == pytest.approx(15 * INCH)
    straight = service.run("engine_straight_up", bodies, now.scene, now.car, cache)
    first = straight.blocked
    assert first.part in ("rail_tab/left_rear", "rail_tab/right_rear")
    gap = filled(now.car.mounts.rail_tabs).gap
    assert first.blocked == pytest.approx(gap / math.sin(now.scene.pitch), abs=0.25)


def test_with_the_transmission_on_the_support_tube_is_in_the_way(cars):
    now = cars["open_clutch"]
    bodies = known(now, "engine", "mid_plate", "transmission", "support_tube")
    path = service.run("engine_with_transmission", bodies, now.scene, now.car)
    assert path.blocked.part == "support_tube"


def test_the_finding_says_what_blocks_where(cars):
    now = cars["full_bodied_automatic"]
    rule = next(item for item in rules.select(["service"]).rules if item.id == "SRV-TRANSMISSION")
    some = replace(now, parts=tuple(part for part in now.parts if part.kind in ("transmission", "cross_member", "mid_plate")))
    measurer = shapes.HostMeasurer()
    found, = engine.evaluate([rule], some, measurer)
    assert (found.state, found.severity, found.subjects) == ("open", "warning", ("cross_member", "transmission"))
    assert 0.0 < found.measured < found.limit and len(found.points) == 2 and "in the way" in found.how
    without = replace(some, parts=tuple(part for part in some.parts if part.kind != "cross_member"))
    clear, = engine.evaluate([rule], without, measurer)
    assert (clear.state, clear.margin) == ("passed", 0.0)
    nothing = replace(some, parts=())
    assert [item.state for item in engine.evaluate([rule], nothing, measurer)] == ["not-applicable"]
    assert [item.state for item in engine.evaluate([rule], some, None)] == ["not-evaluated"]


def test_no_path_is_one_sentence(cars):
    now = cars["full_bodied_automatic"]
    with pytest.raises(service.NoPath, match="no transmission"):
        service.setup("transmission", {}, now.scene, now.car)
    with pytest.raises(ValueError, match="allowed"):
        service.setup("sideways", {}, now.scene, now.car)


def test_the_joint_passes_the_bore(cars):
    now = cars["full_bodied_automatic"]
    rule = next(item for item in rules.select(["clearance"]).rules if item.id == "SRV-SHAFT")
    found, = engine.evaluate([rule], now, shapes.HostMeasurer())
    enclosure: model.Enclosure = now.car.containment.enclosure
    swing = filled(now.car.driveshaft).joint_swing_diameter
    expected = (enclosure.outer_diameter - 2 * enclosure.wall - swing) / 2
    assert found.measured * INCH == pytest.approx(expected, abs=1e-6) and found.state == "passed"
