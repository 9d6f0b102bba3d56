"""What stands between loops, enclosure and tunnel: mounts that meet tube and loop or tail, openings of the tunnel for what goes
through it."""
from __future__ import annotations

import math
import time
from dataclasses import replace

import cars
import FreeCAD
import numpy as np
import Part
import pytest
from conftest import ROOT
from oracles import come_within, tunnel_section_area, tunnel_volume

from crankline import carfile, model
from crankline.features.base import host_placement
from crankline.geometry import enclosure, enclosure_mount, fixed_loop, measure, shaft_envelope, split_loop, transmission_envelope, tunnel
from crankline.mechanics import scene as scenes
from crankline.record import filled

INCH = 25.4
CARS = ("full_bodied_automatic", "open_clutch")
BUILDERS = {"fixed": fixed_loop, "split": split_loop}
PLACES = [(end, side) for end in enclosure_mount.ENDS for side in enclosure_mount.SIDES]
V = FreeCAD.Vector


@pytest.fixture(scope="module", params=cars.EACH)
def car(request):
    return filled(carfile.read(ROOT / "demo_assemblies" / f"{request.param}.yaml"))


@pytest.fixture(scope="module")
def scene(car):
    return scenes.of(car)


def placed(shape, frame):
    shape.Placement = host_placement(frame)
    return shape


def single(shape):
    assert shape.ShapeType == "Solid" and shape.isValid() and len(shape.Solids) == 1 and shape.Volume > 0


def loop_solid(loop, scene):
    made = BUILDERS[loop.kind].build(BUILDERS[loop.kind].spec(loop, scene))
    made.translate(V(*map(float, scene.loop_center(loop))))
    return made


def tail(scene):
    return placed(transmission_envelope.build(transmission_envelope.spec(scene.transmission, scene)), scene.engine_frame)


def mount(record, scene, loops, end, side):
    """(spec, the mount where it stands in the car)."""
    spec = enclosure_mount.spec(record, scene, loops, end, side)
    return spec, placed(enclosure_mount.build(spec), enclosure_mount.frame(record, scene, loops, end))


def tube_of(record, scene, loops):
    return placed(enclosure.build(enclosure.spec(record, scene, loops)), enclosure.frame(record, scene, loops))


def meets(a, b, deepest):
    """Two parts touch and enter each other by no more than a depth, taken as volume over the area of what they share."""
    assert come_within(a, b, 1e-6)
    common = a.common(b)
    if common.Volume > 1e-3:
        assert common.Volume / (common.Area / 2.0) < deepest


# --- mounts -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("end, side", PLACES)
def test_a_mount_is_one_solid_that_meets_the_tube_and_what_carries_it(car, scene, end, side):
    record, loops = car.containment.enclosure, car.containment.loops
    spec, shape = mount(record, scene, loops, end, side)
    single(shape)
    tube, loop = tube_of(record, scene, loops), enclosure_mount.carrier(record, loops, end)
    meets(shape, tube, 1e-3)
    assert (loop is None) == (record.front_support == "transmission_tail" and end == "front")
    meets(shape, tail(scene) if loop is None else loop_solid(loop, scene), 1e-3 if loop is None else enclosure_mount.FIT)
    middle = scene.shaft_at(record.x_front if loop is None else loop.x)[2]
    box = shape.copy(True, False).optimalBoundingBox(False)
    assert box.ZMin > middle if side == "top" else box.ZMax < middle
    assert record.mount_width - 1e-3 < box.YLength < 1.2 * record.mount_width, "its sides stand square to the tube"
    # Neither shaft nor bore is entered.
    inside = FreeCAD.Base.Vector(*scene.shaft_at(record.x_rear))
    assert not shape.isInside(inside, 1e-6, True)


@pytest.mark.parametrize("end", enclosure_mount.ENDS)
def test_the_top_mount_goes_off_with_the_top_half(car, scene, end):
    record, loops = car.containment.enclosure, car.containment.loops
    loop = enclosure_mount.carrier(record, loops, end)
    if loop is None or loop.kind != "split":
        return
    center = scene.loop_center(loop)
    for side, sign in (("top", 1.0), ("bottom", -1.0)):
        box = mount(record, scene, loops, end, side)[1].BoundBox
        assert (box.ZMin - center[2]) * sign > 0.0 and (box.ZMax - center[2]) * sign > 0.0


def test_volume_of_a_mount_in_a_loop_is_that_of_saddle_and_web(car, scene):
    """Saddle: annular sector times its length. Web: what stands above the saddle's outside up to the ring's inside, by quadrature."""
    record, loops = car.containment.enclosure, car.containment.loops
    spec, shape = mount(record, scene, loops, "rear", "top")
    spread = math.asin(spec.width / 2 / spec.radius)
    saddle = spread * spec.thickness * (2 * spec.radius + spec.thickness) * (spec.end - spec.start)
    half = spec.width / 2 - spec.thickness
    y = np.linspace(-half, half, 2001)
    ring, bend = spec.ring, min(spec.ring.inner_width, spec.ring.inner_height) / 2 + enclosure_mount.FIT
    outer = ring.offset_z + np.sqrt(bend**2 - np.maximum(0.0, np.abs(y + spec.center[0]) - ring.offset_y) ** 2)
    height = outer - spec.center[1] - np.sqrt((spec.radius + spec.thickness) ** 2 - y**2)
    web = spec.thickness * float(np.sum((height[1:] + height[:-1]) / 2 * np.diff(y)))
    assert measure.volume(shape) == pytest.approx(saddle + web, rel=4e-3), "the tube leans a degree or two"
    assert spec.end - spec.start == pytest.approx(spec.width, rel=1e-9)


def sliced(shape, normal, at):
    """Area of a section of a shape."""
    return sum(Part.Face(wire).Area for wire in shape.slice(V(*map(float, normal)), float(at)))


NEAR = 0.01
"""Millimeters from an end at which a slice is one on every host; nearer to it 1.1 takes the end itself, which is a face."""


def test_the_sections_of_a_mount_at_the_tail_are_those_of_its_solid():
    """Area of each section against the host's slice of the solid. Near its ends: at an end itself a slice is a face."""
    car = filled(carfile.read(ROOT / "demo_assemblies" / "open_clutch.yaml"))
    scene = scenes.of(car)
    for x_front, size in ((51.5, 7.0), (52.9144, 7.0)):
        record = replace(car.containment.enclosure, x_front=x_front * INCH, outer_diameter=size * INCH)
        for side in enclosure_mount.SIDES:
            spec = enclosure_mount.spec(record, scene, car.containment.loops, "front", side)
            (piece,), shape = enclosure_mount.pieces(spec), enclosure_mount.build(spec)
            middle, rear, front = piece.sections
            assert middle.flat.area == pytest.approx(sliced(shape, (0, 1, 0), 0.0), rel=2e-3)
            assert front.flat.area == pytest.approx(sliced(shape, (1, 0, 0), (spec.over or spec.seat) - NEAR), rel=2e-3)
            axis = (1.0, 0.0, 0.0) if spec.over else spec.axis
            at = NEAR if spec.over else float(np.dot(spec.axis, spec.center)) - spec.seat + NEAR
            assert rear.flat.area == pytest.approx(sliced(shape, axis, at), rel=2e-3)


def test_mounts_are_built_quickly(car, scene):
    record, loops = car.containment.enclosure, car.containment.loops
    specs = [enclosure_mount.spec(record, scene, loops, *place) for place in PLACES]
    start = time.process_time()
    for spec in specs:
        enclosure_mount.build(spec)
    assert time.process_time() - start < 0.5, "some 10 ms each"
    assert all(hash(spec) for spec in specs) and len(set(specs)) >= 2, "what is alike in both ends may be equal"


def test_an_off_centre_and_oblong_loop_is_met_as_well():
    car = filled(carfile.read(ROOT / "demo_assemblies" / "full_bodied_automatic.yaml"))
    scene = scenes.of(car)
    record = replace(car.containment.enclosure, outer_diameter=5.5 * INCH)
    front, second, rear = car.containment.loops
    for wide, high, aside, form in ((9.0, 7.5, 6.0, "tube"), (7.0, 10.0, -4.0, "tube"), (8.0, 8.0, 3.0, "strap")):
        changed = replace(second, kind="fixed", inner_diameter=None, inner_width=wide * INCH, inner_height=high * INCH, center_y=aside,
                          form=form, strap_thickness=6.0, strap_width=45.0)
        loops = (front, changed, rear)
        # A single loop that is near enough leaves the tube to follow the shaft, off that loop's center.
        for given, end in ((loops, "rear"), ((changed, rear), "rear")):
            for side in enclosure_mount.SIDES:
                spec, shape = mount(record, scene, given, end, side)
                single(shape)
                meets(shape, tube_of(record, scene, given), 1e-3)
                meets(shape, loop_solid(changed, scene), enclosure_mount.FIT)


def test_a_loop_beyond_the_end_of_the_tube_is_reached(scene, car):
    loops = car.containment.loops
    for gap in (0.0, 0.4, 0.95):
        nearest = min(loops, key=lambda loop: loop.x)
        record = replace(car.containment.enclosure, x_rear=nearest.x + gap * INCH, x_front=nearest.x + 12.0 * INCH, front_support="loop",
                         outer_diameter=6.0 * INCH)
        spec, shape = mount(record, scene, loops, "rear", "top")
        single(shape)
        meets(shape, tube_of(record, scene, loops), 1e-3)
        meets(shape, loop_solid(nearest, scene), enclosure_mount.FIT)


def test_a_tube_that_goes_over_the_tail_is_packed():
    car = filled(carfile.read(ROOT / "demo_assemblies" / "open_clutch.yaml"))
    scene = scenes.of(car)
    for over, size in ((0.8, 7.0), (1.5, 8.0)):
        record = replace(car.containment.enclosure, x_front=(52.1144 + over) * INCH, outer_diameter=size * INCH)
        for side in enclosure_mount.SIDES:
            spec, shape = mount(record, scene, car.containment.loops, "front", side)
            assert spec.over > 0.5 * INCH
            single(shape)
            meets(shape, tube_of(record, scene, car.containment.loops), 0.02)
            meets(shape, tail(scene), 0.02)


@pytest.mark.parametrize("change, end, words", [
    (dict(x_front=50.0 * INCH), "front", "ends 2.1. in behind the output seal"),
    (dict(x_front=52.2 * INCH), "front", "too little to be carried|runs against the transmission's tail"),
    (dict(x_front=53.0 * INCH, outer_diameter=6.0 * INCH), "front", "runs against the transmission's tail"),
    (dict(outer_diameter=7.6 * INCH), "rear", "does not fit into loop rear"),
    (dict(mount_thickness=20.0), "rear", "less than a mount is thick"),
    (dict(mount_width=5.5 * INCH), "rear", "mount_width: 5.500 in does not lie"),
    (dict(x_rear=30.0 * INCH, front_support="loop"), "rear", "there is no loop where its rear should be carried"),
    (dict(front_support="loop", x_rear=45.5 * INCH), "front", "there is no loop where its front should be carried"),
])
def test_what_cannot_be_carried_is_one_sentence(change, end, words):
    car = filled(carfile.read(ROOT / "demo_assemblies" / "open_clutch.yaml"))
    record = replace(car.containment.enclosure, **change)
    with pytest.raises(ValueError, match=words) as raised:
        enclosure_mount.spec(record, scenes.of(car), car.containment.loops, end, "bottom")
    told = str(raised.value)
    assert told.startswith("containment.enclosure") and "\n" not in told and ";" in told


def test_an_opening_wider_than_the_mount_leaves_nothing_to_weld_to(car, scene):
    record, loops = car.containment.enclosure, car.containment.loops
    rear = enclosure_mount.carrier(record, loops, "rear")
    wide = tuple(replace(loop, open_angle=math.radians(60.0)) if loop is rear else loop for loop in loops)
    enclosure_mount.spec(record, scene, wide, "rear", "top")
    with pytest.raises(ValueError, match="is open where the mount at the bottom"):
        enclosure_mount.spec(record, scene, wide, "rear", "bottom")


# --- tunnel -----------------------------------------------------------------------------------------------------------


def with_loop(car, **given):
    """The containment with a welded loop between the others, whose legs go up through the cover."""
    sizes = dict(inner_width=7.5 * INCH, inner_height=8.5 * INCH, section=model.Section(outer_diameter=0.875 * INCH, wall=0.065 * INCH))
    loop = filled(model.Loop(name="middle", kind="fixed", x=33.3 * INCH, **(sizes | given)))
    return replace(car.containment, loops=car.containment.loops + (loop,))


@pytest.mark.parametrize("given", [{}, dict(form="strap", section=None, strap_thickness=6.35, strap_width=50.8)], ids=["tube", "strap"])
def test_legs_of_a_welded_loop_go_through_slots(car, scene, given):
    containment = with_loop(car, **given)
    spec = tunnel.spec(containment.tunnel, containment, scene)
    shape = tunnel.build(spec)
    single(shape)
    assert [slot.side for slot in spec.slots] == [-1, 1] and not spec.notches
    assert shape.Volume == pytest.approx(tunnel_volume(spec), rel=1e-7)
    whole = tunnel_section_area(spec) * spec.length
    assert tunnel_volume(spec) < whole and tunnel_volume(spec) == pytest.approx(whole, rel=0.15)
    solid = loop_solid(containment.loops[-1], scene)
    assert solid.distToShape(shape)[0] > 0.8 * tunnel.SLOT_ROOM, "so they have nothing in common"
    # Without its openings the cover would stand in the legs.
    closed = tunnel.build(replace(spec, slots=()))
    assert solid.common(closed).Volume > 100.0
    assert tunnel.closed_volume(replace(spec, slots=())) == pytest.approx(closed.Volume, rel=1e-9) and tunnel.closed_volume(spec) is None


def test_the_removable_top_lifts_off_past_the_legs(car, scene):
    """The part above the panel line, moved straight up by 6 in: the slots reach that line, so no leg is met on the way."""
    containment = with_loop(car)
    spec = tunnel.spec(containment.tunnel, containment, scene)
    (x0, _y, z0), (x1, _y, z1) = tunnel.panel_line(spec)
    assert max(slot.low for slot in spec.slots) < min(z0, z1) + abs(z1 - z0)
    loop, shape = containment.loops[-1], tunnel.build(spec)
    x = loop.x
    line = z0 + (z1 - z0) * (x - x0) / (x1 - x0)
    top = shape.common(tunnel.Part.makeBox(200, 2000, 2000, V(x - 100, -1000, line)))
    solid = loop_solid(loop, scene)
    for rise in (10.0, 40.0, 80.0, 150.0):
        assert top.translated(V(0, 0, rise)).common(solid).Volume == 0.0, rise


def test_openings_are_taken_from_the_developed_area(car, scene):
    containment = with_loop(car)
    spec = tunnel.spec(containment.tunnel, containment, scene)
    closed = tunnel.developed_area(replace(spec, slots=()))
    # Each slot: its length along the car times the arc from the leg's inner edge down to the panel line, which is level to a degree or two.
    radius, found = spec.radius + spec.thickness / 2, 0.0
    for slot in spec.slots:
        y, z = spec.center((slot.x_rear + slot.x_front) / 2)
        found += (slot.x_front - slot.x_rear) * (radius * math.acos((slot.inner - slot.side * y) / radius) + z - slot.low)
    assert closed - tunnel.developed_area(spec) == pytest.approx(found, rel=3e-3)
    assert tunnel.developed_area(spec) * spec.thickness == pytest.approx(tunnel.build(spec).Volume, rel=2e-3)


def test_the_rear_cross_member_runs_through_notches(car, scene):
    """A member ahead of the rear loop: its tube passes the sides and stays clear of them."""
    member = replace(scene.chassis.rear_cross_member, x=29.0 * INCH, z=6.2 * INCH)
    moved = replace(scene, chassis=replace(scene.chassis, rear_cross_member=member))
    spec = tunnel.spec(car.containment.tunnel, car.containment, moved)
    shape = tunnel.build(spec)
    single(shape)
    assert len(spec.notches) == 1 and shape.Volume == pytest.approx(tunnel_volume(spec), rel=1e-7)
    bar = tunnel.Part.makeCylinder(member.section.outer_diameter / 2, 1000, V(member.x, -500, member.z), V(0, 1, 0))
    assert bar.distToShape(shape)[0] == pytest.approx(tunnel.SLOT_ROOM, abs=1e-6)


def test_demos_need_no_opening(car, scene):
    spec = tunnel.spec(car.containment.tunnel, car.containment, scene)
    assert spec.slots == () and spec.notches == ()
    assert measure.volume(tunnel.build(spec)) == pytest.approx(tunnel_volume(spec), rel=1e-9)


# --- demo cars --------------------------------------------------------------------------------------------------------


def test_a_demo_shows_clean_containment(car, scene):
    """Half an inch from what the shaft sweeps to enclosure, loops and tunnel, and nothing of all that in the driver's box."""
    swept = placed(shaft_envelope.build(shaft_envelope.spec(car.driveshaft, scene)), scene.shaft_frame)
    record, loops = car.containment.enclosure, car.containment.loops
    cover = tunnel.build(tunnel.spec(car.containment.tunnel, car.containment, scene))
    around = [tube_of(record, scene, loops), cover, *(loop_solid(loop, scene) for loop in loops)]
    for shape in around:
        assert not come_within(swept, shape, 0.5 * INCH)
    box = car.car.driver_envelope
    driver = tunnel.Part.makeBox(box.x_front - box.x_rear, box.y_left - box.y_right, box.z_high - box.z_low,
                                 V(box.x_rear, box.y_right, box.z_low))
    for shape in (*around, *(mount(record, scene, loops, *place)[1] for place in PLACES)):
        assert not come_within(driver, shape, 0.05 * INCH)
