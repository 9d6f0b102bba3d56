"""Clearances against closed forms, what the cache spares, and the findings that come of it. Against brute-force booleans:
test_interference_sweep.py."""
from __future__ import annotations

import math
import random
from dataclasses import replace

import cars
import FreeCAD as App
import numpy as np
import Part
import pytest
from oracles import near

from crankline import model
from crankline.checks import evaluate
from crankline.features import read
from crankline.measure import distance, host_measurer, overlap
from crankline.measure import kept as kept_module
from crankline.measure.distance import Body, Kept
from crankline.rules import rule_sets
from crankline.snapshot import Unsound

INCH = 25.4
DEMOS = ("full_bodied_automatic", "open_clutch")


def V(*xyz):
    return App.Vector(*map(float, xyz))


def box(size, low=(0, 0, 0)):
    return Part.makeBox(*map(float, size), V(*low))


def measure(a, b, cache=None):
    return distance.between(Body("a", a, "a"), Body("b", b, "b"), cache or Kept())


# ------------------------------------------------------------------------------------------------------- closed forms


def test_apart_gives_the_distance_and_the_two_points():
    """Corner to corner: the diagonal of the gap (3, 4, 12) is 13."""
    found = measure(box((10, 10, 10)), box((5, 5, 5), (13, 14, 22)))
    assert (found.kind, found.distance) == ("apart", pytest.approx(13.0, abs=1e-9))
    np.testing.assert_allclose(found.points, [(10, 10, 10), (13, 14, 22)], atol=1e-9)


def test_contact_is_no_penetration():
    """Face on face with no vertex in common, and a cylinder lying on a plane."""
    for other in (box((2, 2, 2), (4, 4, 10)), Part.makeCylinder(3.0, 5.0, V(2, 5, 13), V(1, 0, 0))):
        found = measure(box((10, 10, 10)), other)
        assert (found.kind, found.distance) == ("contact", 0.0)


def test_parts_face_to_face_along_a_plane_need_no_intersection():
    """A step and what stands on it, which also stands beside it: boxes that overlap along every axis, in any frame."""
    step = box((100, 100, 50)).fuse(box((50, 100, 100))).removeSplitter()
    place = App.Placement(V(900, -30, 200), App.Rotation(V(1, 2, 3), 40.0))
    for sunk, held, expected in ((0.0, False, None), (1.0, False, "penetration"), (0.0, True, "inside")):
        other = box((20, 60, 20), (15, 20, 70)) if held else box((90, 80, 70), (60, 10, 50 - sunk))
        shapes = [shape.copy() for shape in (step, other)]
        for shape in shapes:
            shape.Placement = place
        for order in (1, -1):
            kept = Kept()
            found = overlap.deeper_than(*[Body(key, shape, key) for key, shape in zip("ab", shapes[::order])], 0.1, kept)
            if expected is None:
                assert (found, kept.booleans) == (None, 0)
            else:
                assert found is not None and found.kind == expected and (held or found.depth == pytest.approx(sunk, abs=1e-6))


def test_a_corner_on_a_tube_is_a_contact_there():
    tube, leg = Part.makeCylinder(20.0, 200.0, V(0, 0, -100)), box((30, 10, 6), (19, -5, 0))
    coped = leg.cut(tube).Solids[0]
    kept = Kept()
    found = distance.air(Body("leg", coped, "leg"), Body("tube", tube, "tube"), kept)
    assert (found.kind, found.distance, kept.distances) == ("contact", 0.0, 0)
    assert all(math.hypot(*point[:2]) == pytest.approx(20.0, abs=1e-6) for point in found.points)
    beside = leg.copy()
    beside.translate(V(2, 0, 0))
    found = distance.air(Body("leg", beside, "beside"), Body("tube", tube, "tube"), kept)
    assert (found.kind, found.distance) == ("apart", pytest.approx(1.0, abs=1e-9))


def test_a_coped_tube_touches_what_it_is_coped_to():
    header = Part.makeCylinder(20.0, 200.0, V(0, 0, -100))
    bar = Part.makeCylinder(15.0, 100.0, V(0, 0, 0), V(1, 0, 0)).cut(header).Solids[0]
    assert measure(header, bar).kind == "contact"


@pytest.mark.parametrize("depth", [0.01, 3.0])
def test_penetration_tells_depth_and_both_ends(depth):
    found = measure(box((10, 10, 10)), box((10, 8, 8), (10 - depth, 1, 1)))
    assert found.kind == "penetration"
    assert found.distance == pytest.approx(-depth, abs=1e-6) and found.depth == pytest.approx(depth, abs=1e-6)
    assert sorted(point[0] for point in found.points) == pytest.approx([10 - depth, 10], abs=1e-6)


def test_depth_is_taken_along_the_axes_of_a_leaning_part():
    """A plate that leans 2 degrees goes 5 mm deep along its own normal, whatever the car's axes say."""
    plate = box((10, 100, 100))
    plate.Placement = App.Placement(V(0, 0, 0), App.Rotation(V(0, 1, 0), 2.0))
    block = box((100, 20, 20), (5, 40, 40))
    block.Placement = plate.Placement
    assert measure(plate, block).depth == pytest.approx(5.0, abs=1e-4)


def test_a_solid_inside_another_is_told_from_one_inside_its_bore():
    assert measure(box((10, 10, 10)), box((2, 2, 2), (4, 4, 4))).kind == "inside"
    # Its corners lie 4 mm under every face.
    assert measure(box((2, 2, 2), (4, 4, 4)), box((10, 10, 10))).depth == pytest.approx(4.0, abs=1e-6)
    bore = Part.makeCylinder(50.0, 300.0).cut(Part.makeCylinder(45.0, 300.0)).Solids[0]
    shaft = Part.makeCylinder(30.0, 200.0, V(0, 3, 50))
    found = measure(bore, shaft)
    assert (found.kind, found.distance) == ("apart", pytest.approx(45 - 30 - 3, abs=1e-6))


def tube(diameter, wall, length, base, axis):
    bar = Part.makeCylinder(diameter / 2.0, length, V(*base), V(*axis))
    return bar.cut(Part.makeCylinder(diameter / 2.0 - wall, length, V(*base), V(*axis)))


@pytest.mark.parametrize("height", [-10.0, 5.0, 30.0])
def test_a_tube_in_a_pan_is_as_deep_as_it_stands_over_its_bottom(height):
    """Not as deep as its wall is thick: what both have in common is no more than that."""
    pan, member = box((300, 200, 100), (-150, -100, 0)), tube(31.75, 1.65, 600.0, (0, -300, height), (0, 1, 0))
    assert measure(pan, member).depth == pytest.approx(height + 31.75 / 2.0, abs=1e-3)


def test_two_tubes_that_cross_are_as_deep_as_bars():
    """Their walls have no more than 2 mm in common; 30 mm of shift would part them, and a bar's middle lies half of that deep."""
    one, other = tube(40.0, 2.0, 400.0, (-200, 0, 0), (1, 0, 0)), tube(40.0, 2.0, 400.0, (0, -200, 10.0), (0, 1, 0))
    assert 15.0 <= measure(one, other).depth <= 30.0


@pytest.mark.parametrize("pushed, low, high", [(0.3, 0.2, 0.3), (1.0, 0.7, 1.01)])
def test_a_coped_end_pushed_into_its_tube_is_as_deep_as_it_was_pushed(pushed, low, high):
    """The bore that is filled ends where the cope begins."""
    rail = tube(41.3, 2.0, 300.0, (-150, 0, 0), (1, 0, 0))
    branch = tube(30.0, 2.0, 100.0, (0, 0, 0), (0, 0, 1)).cut(Part.makeCylinder(41.3 / 2.0 - pushed, 300.0, V(-150, 0, 0), V(1, 0, 0)))
    assert low <= measure(branch, rail).depth <= high


def test_what_stands_in_a_bore_is_not_met_by_a_filling():
    """A shaft through the wall of an enclosure that it could stand in: no deeper than it reaches beyond the bore."""
    enclosure, shaft = tube(152.0, 1.65, 300.0, (0, 0, 0), (1, 0, 0)), tube(95.0, 3.0, 800.0, (-200, 0, 60.0), (1, 0, 0))
    assert 1.65 < measure(enclosure, shaft).depth < 95.0


def test_a_ring_around_a_tube():
    """Torus and coaxial cylinder: ring radius less tube radius less section radius."""
    ring = Part.makeTorus(100.0, 11.0, V(500, 0, 0), V(1, 0, 0))
    found = measure(ring, Part.makeCylinder(47.6, 1000.0, V(0, 0, 0), V(1, 0, 0)))
    assert found.distance == pytest.approx(100.0 - 11.0 - 47.6, abs=1e-6)


def test_lowest_point():
    tube = Part.makeCylinder(20.0, 100.0, V(0, 0, 90), V(1, 0, 0))
    height, point = distance.lowest(tube)
    assert height == pytest.approx(70.0, abs=1e-6) and point[2] == pytest.approx(70.0, abs=1e-6)


def test_the_lowest_point_goes_along_where_a_body_is_shifted_and_is_found_anew_where_it_is_turned():
    kept, made = Kept(), Part.makeCone(10.0, 25.0, 40.0)
    for place, turn in (((0, 0, 0), 0.0), ((500, -30, 71), 0.0), ((500, -30, 71), 35.0), ((-4, 8, 12), 35.0)):
        made.Placement = App.Placement(V(*place), App.Rotation(V(1, 2, 0), turn))
        height, point = distance.lowest_of(Body("part", made, "part"), kept)
        assert height == pytest.approx(distance.lowest(made)[0], abs=1e-7) and point[2] == pytest.approx(height, abs=1e-7)
        assert made.distToShape(Part.Vertex(*point))[0] < 1e-7


def test_order_does_not_matter_and_the_cache_spares_everything():
    rng = random.Random(4)
    bodies = [Body(f"part/{i}", box([rng.uniform(5, 30) for _ in range(3)], [rng.uniform(0, 60) for _ in range(3)]), str(i))
              for i in range(12)]
    kept = Kept()
    first = near(bodies, 10.0, kept)
    calls = kept.distances, kept.booleans
    assert first and near(bodies[::-1], 10.0, kept) == first
    assert (kept.distances, kept.booleans) == calls
    # All moved together: the same answers, carried along.
    move = App.Placement(V(100, 20, 5), App.Rotation(V(1, 2, 3), 30.0))
    moved = []
    for body in bodies:
        shape = body.shape.copy()
        shape.Placement = move.multiply(shape.Placement)
        moved.append(replace(body, shape=shape))
    again = near(moved, 10.0, kept)
    carried = [one for one in again if (one.a, one.b) in {(other.a, other.b) for other in first}]
    assert len(carried) >= len(first)
    for one in carried:
        other = next((o for o in first if (o.a, o.b) == (one.a, one.b)), None)
        if other is not None:
            assert one.distance == other.distance
            np.testing.assert_allclose(one.points, [tuple(move.multVec(V(*p))) for p in other.points], atol=1e-6)
    # One of them moved: only its pairs are measured again, and where it stood before is still known.
    calls = kept.distances, kept.booleans
    shifted = bodies[3].shape.copy()
    shifted.translate(V(0.5, 0, 0))
    elsewhere = [replace(b, shape=shifted) if b.key == "part/3" else b for b in bodies]
    near(elsewhere, 10.0, kept)
    alone = Kept()
    for other in elsewhere:
        if other.key != "part/3":
            near([elsewhere[3], other], 10.0, alone)
    assert (kept.distances - calls[0], kept.booleans - calls[1]) == (alone.distances, alone.booleans)
    calls = kept.distances, kept.booleans
    assert near(bodies, 10.0, kept) == first and (kept.distances, kept.booleans) == calls


def test_what_is_kept_goes_by_the_shape_and_not_by_its_name_or_object():
    """Two parts of one make, as they stand to a third: one of them is measured, by the host."""
    kept, plate = Kept(), Body("plate", box((100, 100, 10)), "plate")
    first = distance.between(Body("tab/left", Part.makeSphere(2.0, V(50, 50, 14)), "tab"), plate, kept)
    calls = kept.distances
    again = distance.between(Body("tab/right", Part.makeSphere(2.0, V(50, 50, 14)), "tab"), replace(plate, shape=plate.shape.copy()), kept)
    assert kept.distances == calls and (again.a, again.b) == ("plate", "tab/right") and again.distance == first.distance
    # Another shape in the same place is another mark.
    edited = distance.between(Body("tab/right", Part.makeSphere(2.0, V(50, 50, 16)), "tab edited"), plate, kept)
    assert edited.distance == pytest.approx(4.0) and kept.distances > calls


def test_the_store_forgets_what_was_used_least_recently(monkeypatch):
    monkeypatch.setattr(kept_module, "SHAPES", 3)
    monkeypatch.setattr(kept_module, "PAIRS", 3)
    kept = Kept()
    for name in "abcd":
        kept.of("size", name, lambda name=name: name)
        kept.between("gap", (name, name), np.eye(4), lambda name=name: name)
    assert kept.of("size", "d", lambda: "new") == "d" and kept.of("size", "a", lambda: "new") == "new"
    assert kept.between("gap", ("d", "d"), np.eye(4), lambda: "new") == "d"
    assert kept.between("gap", ("a", "a"), np.eye(4), lambda: "new") == "new"
    assert len(kept) <= 6


def test_a_body_without_a_mark_is_not_remembered():
    kept = Kept()
    for size in (10, 20):
        found = distance.between(Body("a", box((size, 10, 10))), Body("b", box((5, 5, 5), (30, 0, 0)), "b"), kept)
        assert found.distance == pytest.approx(30 - size)
    assert kept.of("faces", "", lambda: "measured") == "measured" and kept.distances >= 2


# ------------------------------------------------------------------------------------------------------- whole cars


@pytest.fixture(scope="module")
def documents():
    made = {name: cars.document(name, f"clearance_{name}") for name in DEMOS}
    yield made
    for document in made.values():
        App.closeDocument(document.Name)


def snapshot(document):
    return read.snapshot(read.only_layout(document))


def rule(rule_id, **settings):
    found = next(item for item in rule_sets.select(["clearance", "ground_clearance"]).rules if item.id == rule_id)
    return replace(found, settings=tuple(sorted({**dict(found.settings), **settings}.items()))) if settings else found


def judge(rule_id, now, measurer=None):
    return evaluate.evaluate([rule(rule_id)], now, measurer or host_measurer.HostMeasurer())


def moved(now, key, by):
    """The snapshot with one part elsewhere."""
    def shifted(part):
        shape = part.shape.copy()
        shape.translate(V(*by))
        return replace(part, shape=shape)
    return replace(now, parts=tuple(shifted(part) if part.key == key else part for part in now.parts))


def only(now, *keys):
    return replace(now, parts=tuple(part for part in now.parts if part.key in keys))


def test_interference_names_both_parts_depth_and_points(documents):
    now = only(snapshot(documents["full_bodied_automatic"]), "transmission", "cross_member", "rail/left", "footwell_tube/left")
    passed, = judge("CLR-INTERFERENCE", now)
    assert (passed.state, passed.measured, passed.severity) == ("passed", 0.0, "error")
    up = moved(now, "cross_member", (100.0, 0.0, 20.0))
    found = judge("CLR-INTERFERENCE", up)
    both = next(item for item in found if item.subjects == ("cross_member", "transmission"))
    assert both.state == "open" and both.measured > 0.0 and len(both.points) == 2 and set(both.digests) == set(both.subjects)
    common = now.part("transmission").shape.common(up.part("cross_member").shape)
    for point in both.points:
        assert common.distToShape(Part.Vertex(*point))[0] < 30.0
    assert "deep (at least: measured into the tube, taken as a bar)" in both.how


def test_a_joint_may_overlap_by_what_its_kind_allows(documents):
    """A tab on its rail is welded: half a millimeter is a fit, more is interference."""
    now = only(snapshot(documents["full_bodied_automatic"]), "rail/left", "rail_tab/left_front")
    for down, state in ((0.0, "passed"), (0.3, "passed"), (3.0, "open")):
        found = judge("CLR-INTERFERENCE", moved(now, "rail_tab/left_front", (0.0, 0.0, -down)))
        assert [item.state for item in found] == [state], (down, found)


@pytest.mark.parametrize("step, state", [(-0.01, "open"), (0.01, "passed")])
def test_a_required_clearance_on_either_side_of_its_limit(documents, step, state):
    """The cross member is brought up to the pan's rear face, 3/4 in away and a hundredth of a millimeter more or less."""
    now = only(snapshot(documents["full_bodied_automatic"]), "transmission", "cross_member")
    measured, = judge("CLR-TRANSMISSION-PAN", now)
    assert measured.state == "passed"
    there = np.array(measured.points[0 if measured.how.startswith("transmission") else 1])
    toward = np.array(measured.points[0]) - np.array(measured.points[1])
    if np.linalg.norm(np.array(measured.points[1]) - there) < 1e-9:
        toward = -toward
    gap = measured.measured * INCH
    toward = toward / np.linalg.norm(toward)
    low, high = 0.0, gap                       # along this way the distance falls steadily
    for _ in range(40):
        middle = 0.5 * (low + high)
        at, = judge("CLR-TRANSMISSION-PAN", moved(now, "cross_member", toward * middle))
        low, high = (middle, high) if at.measured * INCH > 0.75 * INCH + step else (low, middle)
    found, = judge("CLR-TRANSMISSION-PAN", moved(now, "cross_member", toward * low))
    assert found.state == state and found.margin * INCH == pytest.approx(step, abs=1e-3)


def test_what_a_car_does_not_have_is_not_applicable(documents):
    now = snapshot(documents["open_clutch"])
    assert [item.state for item in judge("CLR-TRANSMISSION-PAN", only(now, "transmission", "rail/left"))] == ["not-applicable"]
    assert [item.state for item in judge("CLR-SHAFT", only(now, "rail/left"))] == ["not-applicable"]


def test_what_is_unsound_or_not_a_shape_is_not_evaluated(documents):
    now = only(snapshot(documents["full_bodied_automatic"]), "rail/left", "rail/right")
    sick = replace(now, unsound=(Unsound("rail/left", "stale", "it is older than its inputs"),))
    assert {item.subjects: item.state for item in judge("CLR-INTERFERENCE", sick)} == {("rail/left",): "not-evaluated"}
    odd = replace(now, parts=tuple(replace(part, shape="no shape") for part in now.parts))
    assert {item.state for item in judge("CLR-INTERFERENCE", odd)} == {"not-evaluated"}
    assert [item.state for item in evaluate.evaluate([rule("CLR-INTERFERENCE")], now, None)] == ["not-evaluated"]


def test_ground_clearance_by_zone(documents):
    """Rails end ahead of the front zone's edge; what is lowest there is measured there only, and the oil pan does not count."""
    car = snapshot(documents["full_bodied_automatic"])
    edge = car.car.car.wheelbase - 12 * INCH
    low = Part.makeBox(100.0, 10.0, 10.0, V(edge - 50.0, 0, 60.0)).fuse(Part.makeBox(50.0, 10.0, 20.0, V(edge - 50.0, 0, 40.0))).Solids[0]
    part = replace(car.part("rail/left"), key="rail/low", shape=low, digest="low")
    now = replace(car, parts=(part, car.part("engine")))
    front, = judge("GND-FRONT", now)
    rest, = judge("GND-REST", now)
    assert (front.subjects, front.measured * INCH, front.state) == (("rail/low",), pytest.approx(60.0, abs=1e-5), "open")
    assert (rest.subjects, rest.measured * INCH, rest.state) == (("rail/low",), pytest.approx(40.0, abs=1e-5), "open")
    pan, = judge("CLR-PAN-GROUND", now)
    depth = car.scene.engine.pan
    expected = min(car.scene.engine_point(x, 0.0, -depth.depth)[2] for x in (depth.x_rear, depth.x_front))
    assert pan.measured * INCH == pytest.approx(expected, abs=1e-5)


def test_the_drivers_box(documents):
    now = snapshot(documents["full_bodied_automatic"])
    limits = now.car.car.driver_envelope
    inside = Part.makeBox(20.0, 20.0, 20.0, V(limits.x_rear + 100, limits.y_left - 5.0, limits.z_low + 100))
    part = replace(now.part("tunnel"), shape=inside, digest="inside")
    found, = judge("CLR-DRIVER", replace(now, parts=(part,)))
    assert found.state == "open" and found.measured * INCH == pytest.approx(-5.0, abs=1e-5)
    away = replace(part, shape=Part.makeBox(20, 20, 20, V(limits.x_rear + 100, limits.y_left + 7.0, limits.z_low + 100)), digest="away")
    found, = judge("CLR-DRIVER", replace(now, parts=(away,)))
    assert found.state == "passed" and found.measured * INCH == pytest.approx(7.0, abs=1e-5)


@pytest.mark.parametrize("name", cars.EACH)
def test_groups_measure_the_true_distances(documents, name):
    """Every clearance that is told equals the host's own distance of the whole shapes, or is larger for a region of one."""
    now = snapshot(documents[name])
    measurer = host_measurer.HostMeasurer()
    for rule_id in ("CLR-OIL-PAN", "CLR-BELL", "CLR-DAMPER", "CLR-SHAFT"):
        for item in judge(rule_id, now, measurer):
            if item.state == "not-applicable":
                continue
            a, b = (now.part(key).shape for key in item.subjects)
            whole = a.distToShape(b)[0]
            assert item.measured * INCH >= whole - 1e-6
            if rule_id == "CLR-SHAFT":
                assert item.measured * INCH == pytest.approx(whole, abs=1e-6)
            assert math.dist(*item.points) == pytest.approx(item.measured * INCH, abs=1e-5)


def test_a_second_check_costs_no_host_call(documents):
    """Nor does one of the document as it is read again, nor one by another measurer that shares what is kept."""
    now, measurer = snapshot(documents["full_bodied_automatic"]), host_measurer.HostMeasurer()
    asked = [rule(name) for name in ("CLR-INTERFERENCE", "CLR-SHAFT", "CLR-BELL", "CLR-OIL-PAN", "CLR-DRIVER")]
    first, kept = evaluate.evaluate(asked, now, measurer), measurer.kept
    calls = kept.distances, kept.booleans
    assert evaluate.evaluate(asked, now, measurer) == first
    assert evaluate.evaluate(asked, snapshot(documents["full_bodied_automatic"]), host_measurer.HostMeasurer(kept)) == first
    assert (kept.distances, kept.booleans) == calls and calls[0] > 0


@pytest.fixture(scope="module")
def here_and_there():
    """Snapshots of a car with a starter as it is drawn, and with its powertrain elsewhere."""
    car = cars.demo(cars.AUTOMATIC)
    opening = model.Opening(y=7.0 * INCH, z=-5.0 * INCH, diameter=3.0 * INCH)
    document = cars.document(replace(car, transmission=replace(car.transmission, starter=opening)), "moved")
    layout = read.only_layout(document)
    here = read.snapshot(layout)
    layout.CrankHeight, layout.AxleToBlock = 11 * INCH, 82 * INCH
    document.recompute()
    yield here, read.snapshot(layout)
    App.closeDocument(document.Name)


@pytest.mark.parametrize("rule_id", ["CLR-OIL-PAN", "CLR-TRANSMISSION-PAN", "CLR-BELL", "CLR-DAMPER", "CLR-FIREWALL", "CLR-STARTER"])
def test_regions_move_with_their_part(here_and_there, rule_id):
    """What a measurer remembers of a region goes with the powertrain: it tells the same as one that never saw it elsewhere."""
    here, there = here_and_there
    measurer = host_measurer.HostMeasurer()

    def told(now, measurer):
        found = evaluate.evaluate([rule(rule_id)], now, measurer)
        return {item.subjects: (item.state, round(item.measured, 6), np.round(item.points, 4).tolist()) for item in found}
    before = told(here, measurer)
    assert told(there, measurer) == told(there, host_measurer.HostMeasurer())
    assert before != told(there, measurer)
