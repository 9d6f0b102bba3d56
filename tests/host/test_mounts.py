"""Mounts as a document's parts: which there are, what they hang on, what is built again, what is refused; hardware counts."""
from __future__ import annotations

import math
from dataclasses import replace

import cars
import FreeCAD as App
import numpy as np
import Part
import pytest
from conftest import ROOT

from crankline import carfile, catalog, model, record
from crankline.features import base, made_from, make, read
from crankline.features.hardware import hardware, total
from crankline.features.joint_hardware import HardwareLine
from crankline.geometry import (
    front_plate,
    limiter,
    limiter_strut,
    loop_ring,
    mid_plate,
    openings,
    plate_foot,
    rail_clamp,
    split_loop,
    tie_tab,
)
from crankline.mechanics import scene as scenes
from crankline.record import filled

INCH = 25.4
A, B = "full_bodied_automatic", "open_clutch"
STRUT = model.LimiterStrut(plate_y=7.4 * INCH, plate_z=-2.0 * INCH)
STARTER = model.Opening(y=-6.0 * INCH, z=-4.2 * INCH, diameter=3.0 * INCH)


def car_of(name):
    return carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml")


def with_mounts(car, **changes):
    return replace(car, mounts=replace(car.mounts, **changes))


def with_front(car, **changes):
    return replace(car, plates=replace(car.plates, front=replace(car.plates.front, **changes)))


def with_mid(car, **changes):
    return replace(car, plates=replace(car.plates, mid=replace(car.plates.mid, **changes)))


def loaded():
    """Demo A with everything that is optional about its mounts."""
    car = with_mounts(car_of(A), limiter_strut=STRUT)
    car = with_front(car, foot_tube=model.Section(outer_diameter=1.0 * INCH, wall=0.083 * INCH), foot_bolt=0.4375 * INCH,
                     foot_web=0.25 * INCH,
                     lightening_holes=((-7.0 * INCH, -2.2 * INCH, 40.0),))
    car = with_mid(car, starter=STARTER, lightening_holes=((0.0, 9.5 * INCH, 50.0), (5.0 * INCH, 9.0 * INCH, 40.0)))
    return replace(car, engine=replace(car.engine, overrides=("front_openings",), front_openings=((0.0, 4.2 * INCH, 3.5 * INCH),)))


@pytest.fixture
def document():
    opened = []

    def make_one(car):
        made = cars.document(car, "mounts")
        opened.append(made)
        return made, read.only_layout(made)

    yield make_one
    for made in opened:
        App.closeDocument(made.Name)


def views(layout):
    return {view.key: view for view in read.snapshot(layout).parts}


# ------------------------------------------------------------------------------------------------------ documents

def test_everything_optional_is_kept_sound_and_read_back(document):
    car = loaded()
    made, layout = document(car)
    # Its engine has an opening that the catalog's row has not, which is told.
    assert [item.kind for item in read.snapshot(layout).unsound] == ["catalogue"]
    assert record.difference(read.car(layout), car) == []
    parts = views(layout)
    assert {"limiter_strut", "limiter_bracket", "limiter_seat", "plate_foot/left", "tie_tab/right", "receiver"} <= set(parts)
    assert all(view.shape.isValid() and len(view.shape.Solids) == 1 for view in parts.values())
    assert all(view.mass for view in parts.values()
               if view.kind.startswith(("limiter", "tie", "receiver", "plate_foot", "transmission_mount")))
    # Through the car file and back.
    again = carfile.read_text(carfile.write_text(read.car(layout)))
    assert record.difference(again, car) == []


def test_a_wide_front_plate_is_clamped_by_tabs_of_its_own(document):
    _made, layout = document(car_of(B))
    parts = views(layout)
    keys = {key for key, view in parts.items() if view.kind == "rail_tab"}
    assert keys == {f"{stem}/{side}_{face}" for stem in ("rail_tab", "front_tab") for side in ("left", "right")
                    for face in ("front", "rear")}
    assert not any(key.startswith("plate_foot") for key in parts)
    gap = filled(read.car(layout)).mounts.rail_tabs.gap
    for face in ("front", "rear"):
        tab, plate = parts[f"front_tab/left_{face}"].shape, parts["front_plate"].shape
        assert tab.distToShape(plate)[0] == pytest.approx(gap, abs=1e-6)
        assert tab.distToShape(parts["rail/left"].shape)[0] < 0.05


def test_what_must_be_cut_off_when_axle_to_block_changes(document):
    """Welded and following the powertrain: tabs, feet, support tube with its tabs, seat of the strut. Loops and members stay."""
    _made, layout = document(with_mounts(car_of(A), limiter_strut=STRUT))
    parts = views(layout).values()
    cut = {view.key for view in parts if view.welded and view.moves_with == "powertrain"}
    assert cut == {"support_tube", "tie_tab/left", "tie_tab/right", "plate_foot/left", "plate_foot/right", "limiter_seat",
                   *(f"rail_tab/{side}_{face}" for side in ("left", "right") for face in ("front", "rear"))}
    assert {"cross_member", "loop/rear"} <= {view.key for view in parts if view.welded and view.moves_with == "chassis"}
    # The receiver stays on its member but leans after the tail; it must be cut off too.
    assert {view.key for view in parts if view.welded and view.moves_with == "between"} == {"receiver"}


def test_only_what_a_change_touches_is_built_again(document):
    made, layout = document(with_mounts(car_of(A), limiter_strut=STRUT))

    def built(name, attribute, value):
        base.counts.clear()
        setattr(made.getObject(name), attribute, value)
        made.recompute()
        assert read.snapshot(layout).unsound == ()
        return {key.split(" ", 1)[1] for key in base.counts if key.startswith("builds ")}

    assert built("FrontPlate", "FootTubeWall", 0.120 * INCH) == {"plate_foot/left", "plate_foot/right"}
    assert built("LimiterStrut", "SectionWall", 2.0) == {"limiter_strut"}
    assert built("LimiterStrut", "Run", 11.0 * INCH) == {"limiter_strut", "limiter_seat"}
    assert built("LimiterStrut", "PlateY", 7.5 * INCH) == {"limiter_strut", "limiter_bracket", "front_plate"}
    assert built("MidPlate", "StarterDiameter", 60.0) >= {"mid_plate"}
    assert built("TransmissionMount", "TabThickness", 0.25 * INCH) == {"transmission_mount"}
    assert built("TransmissionMount", "CrossBolt", 0.4375 * INCH) == {"transmission_mount", "receiver"}
    assert built("SupportTube", "BehindPlate", 1.0 * INCH) == {"support_tube", "tie_tab/left", "tie_tab/right"}
    # Raised or lowered it takes the tie bolts along, and with them the plate.
    assert built("SupportTube", "AboveCrank", 13.3 * INCH) == {"support_tube", "mid_plate", "tie_tab/left", "tie_tab/right"}
    assert built("TransmissionMount", "Material", "A36") == set()


def test_service_state_and_delivery_of_the_transmission_mount(document):
    made, layout = document(car_of(A))
    mount = made.getObject("TransmissionMount")
    volume = mount.Shape.Volume
    start, end = mount.TrimLineStart, mount.TrimLineEnd
    assert (start - end).Length == pytest.approx(3.5 * INCH) and mount.SlideTravel.Value > 0.0
    base.counts.clear()
    mount.ServiceState = "folded"
    made.recompute()
    assert base.counts["builds"] == 0
    parts = views(layout)
    assert mount.Shape.BoundBox.YMin > parts["receiver"].shape.BoundBox.YMax
    for other in ("cross_member", "receiver"):
        assert parts["transmission_mount"].shape.common(parts[other].shape).Volume < 1e-3, other
    mount.ServiceState, mount.AsDelivered = "mounted", True
    made.recompute()
    # The tab is longer by the allowance, and the trim line stays where it was.
    given = filled(car_of(A)).mounts.transmission
    assert mount.Shape.Volume - volume == pytest.approx(given.blank_allowance * 3.5 * INCH * given.tab_thickness, rel=1e-3)
    assert (mount.TrimLineStart - start).Length < 1e-9 and (mount.TrimLineEnd - end).Length < 1e-9
    scene = read.snapshot(layout).scene
    local = scene.engine_frame.to_local(np.array(start))
    pad = scene.transmission.mount_pad
    assert local[2] == pytest.approx(-pad.below_axis, abs=1e-6) and local[0] < -(scene.stack.total + pad.from_bell)


@pytest.mark.parametrize("name", (A, B))
def test_tie_bolts_leave_room_for_their_tabs_at_every_height_of_the_tube(name):
    """Tie bolts follow the tube, so no height of it refuses a tab; leg, bend and a bolt diameter of flat stand between, 3/4 in at least."""
    car = car_of(name)
    for height in np.arange(10.0, 26.0, 0.05):
        support = replace(car.mounts.support_tube, above_crank=float(height) * INCH, behind_plate=2.0 * INCH)
        mid = replace(car.plates.mid, above_crank=support.above_crank + 0.8 * INCH)
        scene = scenes.of(replace(car, plates=replace(car.plates, mid=mid)))
        for thickness in (0.125 * INCH, 0.1875 * INCH, 0.25 * INCH, 0.5 * INCH):
            for bolt in (0.25 * INCH, 0.375 * INCH, 10.0, 0.5 * INCH, 0.75 * INCH):
                tabs = replace(car.mounts.rail_tabs, thickness=thickness, bolt=bolt, width=2.5 * INCH)
                tab = tie_tab.spec(mid, tabs, support, scene, "left")
                drop = tab.z_top - tab.hole_z
                assert drop == pytest.approx(max(0.75 * INCH, 2.0 * thickness + bolt), abs=1e-9)
                assert tie_tab.section(tab).area > thickness * drop


@pytest.mark.parametrize("changes", [{"thickness": 0.25 * INCH}, {"bolt": 0.5 * INCH}, {"bolt": 10.0},
                                     {"thickness": 0.375 * INCH, "bolt": 0.5 * INCH}])
def test_thicker_tabs_and_larger_bolts_are_made(document, changes):
    """The bolt goes through tab and plate, its head clear of the bend."""
    car = car_of(A)
    car = with_mid(with_mounts(car, rail_tabs=replace(car.mounts.rail_tabs, **changes)), half_width=15.5 * INCH)
    _made, layout = document(car)
    assert read.snapshot(layout).unsound == ()
    scene, tabs, parts = scenes.of(car), filled(car.mounts.rail_tabs), views(layout)
    tab = tie_tab.spec(car.plates.mid, tabs, car.mounts.support_tube, scene, "left")
    local = {}
    for key in ("mid_plate", "tie_tab/left"):
        local[key] = parts[key].shape.copy()
        local[key].Placement = App.Placement()
    bolt = Part.makeCylinder(tabs.bolt / 2.0, 100.0, App.Vector(-50.0, tab.y, tab.hole_z), App.Vector(1.0, 0.0, 0.0))
    head = Part.makeCylinder(tabs.bolt, 50.0, App.Vector(tab.x_front - tab.thickness, tab.y, tab.hole_z), App.Vector(-1.0, 0.0, 0.0))
    assert all(bolt.common(shape).Volume == 0.0 for shape in local.values())
    assert head.common(local["tie_tab/left"]).Volume < 1e-6


# ------------------------------------------------------------------------------------------------ fields of the plates

def test_starter_opening_joins_the_centre_opening_or_stands_alone():
    car = car_of(A)
    tabs, support = car.mounts.rail_tabs, car.mounts.support_tube
    plain = mid_plate.flat(mid_plate.spec(car.plates.mid, tabs, support, scenes.of(car)))
    joined = with_mid(car, starter=STARTER)
    flat = mid_plate.flat(mid_plate.spec(joined.plates.mid, tabs, support, scenes.of(joined)))
    # Exact: what the starter's circle adds to the centre's is its area less the lens that both share.
    d, r, s = math.hypot(STARTER.y, STARTER.z), car.plates.mid.center_opening / 2, STARTER.diameter / 2
    lens = (r * r * math.acos((d * d + r * r - s * s) / (2 * d * r)) + s * s * math.acos((d * d + s * s - r * r) / (2 * d * s))
            - math.sqrt((-d + r + s) * (d + r - s) * (d - r + s) * (d + r + s)) / 2)
    sharp = sum(item.area for item in openings.merged(((0.0, 0.0, 2 * r), (STARTER.y, STARTER.z, 2 * s)), 0.0))
    assert sharp == pytest.approx(math.pi * (r * r + s * s) - lens, rel=1e-12)
    # Both cusps are rounded, which takes a little more.
    assert 0.0 < plain.area - flat.area - (math.pi * s * s - lens) < 30.0
    # The transmission may ask for it; the plate's own word goes first.
    asked = replace(car, transmission=replace(car.transmission, starter=model.Opening(y=STARTER.y, z=STARTER.z, diameter=60.0)))
    spec = mid_plate.spec(asked.plates.mid, tabs, support, scenes.of(asked))
    assert spec.openings[1][2] == 60.0
    both = with_mid(asked, starter=STARTER)
    assert mid_plate.spec(both.plates.mid, tabs, support, scenes.of(both)).openings[1][2] == STARTER.diameter


def test_plate_feet_by_their_own_fields():
    car = loaded()
    scene, front, tabs = scenes.of(car), filled(car.plates.front), car.mounts.rail_tabs
    spec = plate_foot.spec(front, tabs, scene, "left")
    assert (spec.tube_diameter, spec.tube_wall, spec.thickness) == (1.0 * INCH, 0.083 * INCH, 0.25 * INCH)
    assert all(d == pytest.approx(0.4375 * INCH + rail_clamp.HOLE_CLEARANCE) for _, _, d in spec.holes)
    plate = front_plate.flat(front_plate.spec(front, tabs, scene, STRUT))
    for y, z, d in spec.holes:
        assert any(math.hypot(h.y - y, h.z - z) < 1e-9 and h.diameter == d for h in plate.holes)
    three = with_front(car, foot_bolts=3).plates.front
    assert len(plate_foot.spec(three, tabs, scene, "left").holes) == 3
    # Absent: as the rail tabs'.
    old = car_of(A)
    spec = plate_foot.spec(replace(old.plates.front, foot_web=None), old.mounts.rail_tabs, scenes.of(old), "left")
    assert spec.thickness == old.mounts.rail_tabs.thickness and spec.tube_diameter == pytest.approx(1.5 * INCH)


# -------------------------------------------------------------------------------------------------------- refusals

def _front_spec(car):
    return front_plate.flat(front_plate.spec(car.plates.front, car.mounts.rail_tabs, scenes.of(car), car.mounts.limiter_strut))


def _mid_spec(car):
    return mid_plate.flat(mid_plate.spec(car.plates.mid, car.mounts.rail_tabs, car.mounts.support_tube, scenes.of(car)))


def _strut_spec(car):
    return limiter_strut.spec(car.mounts.limiter_strut, scenes.of(car))


REFUSED = [
    ("plates.front.foot_half_spacing", lambda c: with_front(c, foot_half_spacing=None), _front_spec),
    ("plates.front.half_width", lambda c: with_front(c, kind="wide"), _front_spec),
    ("engine.front_holes", lambda c: replace(c, engine=replace(c.engine, front_holes=None)), _front_spec),
    ("plates.front", lambda c: replace(c, engine=replace(c.engine, front_openings=((0.0, 6.0 * INCH, 5.3 * INCH),))), _front_spec),
    ("plates.front.lightening_holes", lambda c: with_front(c, lightening_holes=((20.0 * INCH, 0.0, 30.0),)), _front_spec),
    ("mounts.limiter_strut.plate_y", lambda c: with_mounts(c, limiter_strut=replace(STRUT, plate_y=9.6 * INCH)), _front_spec),
    ("mounts.limiter_strut.plate_z", lambda c: with_mounts(c, limiter_strut=replace(STRUT, plate_z=5.0 * INCH)), _strut_spec),
    ("mounts.limiter_strut.run", lambda c: with_mounts(c, limiter_strut=replace(STRUT, run=80.0)), _strut_spec),
    ("mounts.limiter_strut.run", lambda c: with_mounts(c, limiter_strut=replace(STRUT, run=5.5 * INCH)), _strut_spec),
    ("mounts.limiter_strut.section",
     lambda c: with_mounts(c, limiter_strut=replace(STRUT, section=model.Section(outer_diameter=10.0, wall=6.0))),
     _strut_spec),
    ("plates.mid.starter", lambda c: with_mid(c, starter=model.Opening(y=-14.0 * INCH, z=-2.0 * INCH, diameter=90.0)), _mid_spec),
    ("plates.mid.lightening_holes", lambda c: with_mid(c, lightening_holes=((0.0, 6.0 * INCH, 40.0),)), _mid_spec),
    ("plates.front.foot_tube", lambda c: with_front(c, foot_tube=model.Section(outer_diameter=20.0, wall=10.0)),
     lambda c: plate_foot.spec(c.plates.front, c.mounts.rail_tabs, scenes.of(c), "left")),
    ("mounts.support_tube.behind_plate", lambda c: with_mounts(c, support_tube=replace(c.mounts.support_tube, behind_plate=5.0)),
     lambda c: tie_tab.spec(c.plates.mid, c.mounts.rail_tabs, c.mounts.support_tube, scenes.of(c), "left")),
    ("mounts.transmission", lambda c: with_mounts(c, cross_member=None), lambda c: make.document(c, "refused")),
    ("mounts.limiter_strut", lambda c: replace(with_mounts(c, limiter_strut=STRUT), plates=replace(c.plates, front=None)),
     lambda c: make.document(c, "refused")),
]


@pytest.mark.parametrize("field, change, build", REFUSED, ids=[f"{i}-{row[0]}" for i, row in enumerate(REFUSED)])
def test_wrong_combinations_are_one_sentence(field, change, build):
    car = change(car_of(A))
    before = set(App.listDocuments())
    with pytest.raises(ValueError) as caught:
        build(car)
    text = str(caught.value)
    assert text.startswith(field) and ";" in text and "\n" not in text and not text.endswith("."), text
    assert set(App.listDocuments()) == before


def test_a_wrong_combination_in_the_document_names_the_part_and_leaves_the_rest(document):
    made, layout = document(car_of(B))
    made.getObject("FrontPlate").FrontPlateKind = "narrow"
    made.recompute()
    told = {note.key: note.message for note in read.snapshot(layout).unsound if note.kind == "invalid"}
    assert "plates.front.foot_half_spacing is missing" in told["front_plate"]
    assert "narrow front plate is mounted on plate feet" in told["front_tab/left_front"]
    assert set(told) == {"front_plate", *(f"front_tab/{side}_{face}" for side in ("left", "right") for face in ("front", "rear"))}


# -------------------------------------------------------------------------------------------------------- hardware

def test_hardware_of_demo_a():
    lines = hardware(car_of(A))
    # The catalog has no spacers for a converter's pads.
    assert {line.row for line in lines if not line.known} == {"converter pad spacer"}

    def count(row, *where):
        return sum(line.count or 0 for line in lines if line.row.startswith(row) and set(where) <= set(line.where))

    # Two bolts a rail through both tabs and the plate, each with a locknut and two washers.
    for side in ("left", "right"):
        tabs = ("mid_plate", f"rail_tab/{side}_front", f"rail_tab/{side}_rear")
        assert (count("hex bolt 3/8-16", *tabs), count("locknut 3/8-16", *tabs), count("washer 3/8", *tabs)) == (2, 2, 4)
        assert count("hex bolt 3/8-16", "front_plate", f"plate_foot/{side}") == 2
        assert count("hex bolt 3/8-16", f"tie_tab/{side}") == 1
    # 0.25 + 2 x (0.015 + 0.1875) in of parts, two washers, nut and two threads make 1.253 in: the next quarter is 1 1/2 in.
    clamp = next(line for line in lines if line.row == "hex bolt 3/8-16" and "rail_tab/left_front" in line.where)
    assert clamp.length == pytest.approx(1.5 * INCH)
    # The catalogue's rear face has six bolts of 7/16 in beside its dowels, the front face six of 3/8 in.
    assert count("hex bolt 7/16-14", "protector", "mid_plate", "engine") == 6
    assert {line.length for line in lines if line.row == "hex bolt 7/16-14"
            and "mid_plate" in line.where} == {car_of(A).transmission.bell_bolts.length}
    assert count("hex bolt 3/8-16", "front_plate", "engine") == 6
    assert count("hex bolt 7/16-14", "transmission_mount", "transmission") == 2
    assert (count("hex bolt 3/8-16", "receiver"), count("locknut 3/8-16", "receiver")) == (1, 1)
    assert count("quick-release pin 5/16") == 8 and count("quick-release pin 5/16", "loop/rear") == 0
    # Sums keep every piece.
    assert sum(row[2] for row in total(lines)) == sum(line.count for line in lines)
    assert all(isinstance(line, HardwareLine) and line.count > 0 for line in lines)


def test_hardware_counts_agree_with_the_holes_that_are_drilled(document):
    """Every bolt hole of the mid and front plate has its bolt: dowels, large openings and lightening holes have none."""
    car = loaded()
    _made, layout = document(car)
    flats = {key: pieces[0].flat for key, pieces in made_from.pieces(layout).items() if key in ("mid_plate", "front_plate")}
    lines = hardware(car)
    dowels = sum(abs(d - filled(car.engine).dowel_diameter) < 0.01 for _, _, d in car.engine.rear_holes)
    drilled = {"mid_plate": len(flats["mid_plate"].holes) - dowels - len(car.plates.mid.lightening_holes),
               "front_plate": len(flats["front_plate"].holes) - len(car.plates.front.lightening_holes)}
    for key, holes in drilled.items():
        assert sum(line.count for line in lines if line.row.startswith("hex bolt") and key in line.where) == holes, key
    strut = [line for line in lines if "limiter_strut" in line.where]
    assert {line.row: line.count for line in strut if line.row.split()[0] in ("rod", "jam", "misalignment")
            and "limiter_seat" in line.where} == {
        "rod end 3/8": 1, "jam nut 3/8": 1, "misalignment spacer 3/8": 2}
    assert {"limiter_strut", "limiter_seat"} <= {key for line in strut for key in line.where}
    assert set().union(*(line.where for line in lines)) <= {obj.Key for obj in read.members(layout)}


def bores(shape):
    """(diameter, axis as (a point of it, direction)) of every full round hole of a shape: concave cylinders, walls apart on one axis once.
    Read off the solid's faces alone; bends and rounded corners do not run full circle."""
    found = {}
    for face in shape.Faces:
        if face.Surface.TypeId != "Part::GeomCylinder":
            continue
        u0, u1, v0, v1 = face.ParameterRange
        middle, axis = face.valueAt(0.5 * (u0 + u1), 0.5 * (v0 + v1)), face.Surface.Axis
        inward = face.Surface.Center - middle
        inward -= axis * inward.dot(axis)
        if face.normalAt(0.5 * (u0 + u1), 0.5 * (v0 + v1)).dot(inward) <= 0.0:
            continue
        axis = axis * (1.0 if (round(axis.x, 6), round(axis.y, 6), round(axis.z, 6)) > (0.0, 0.0, 0.0) else -1.0)
        foot = face.Surface.Center - axis * face.Surface.Center.dot(axis)
        # Faces of one wall share their axis; each wall runs full circle, so all of them run a whole number of circles.
        key = tuple(round(value, 2) + 0.0 for value in (2.0 * face.Surface.Radius, *foot, *axis))
        found[key] = found.get(key, 0.0) + u1 - u0
    return [key for key, angle in found.items() if angle > 2.0 * math.pi - 1e-6]


def double(car):
    rails = replace(car.chassis.rails, kind="double", upper_height=14.0 * INCH)
    return with_mid(replace(car, chassis=replace(car.chassis, rails=rails)), kind="double_rail")


def odd(car):
    """Other counts everywhere."""
    car = with_mounts(car, rail_tabs=replace(car.mounts.rail_tabs, bolts_per_rail=3),
                      transmission=replace(car.mounts.transmission, tail_bolts=4))
    return with_front(car, foot_bolts=3) if car.plates.front.kind == "narrow" else car


COUNTED = {"demo A": lambda: car_of(A), "demo B": lambda: car_of(B), "everything optional": loaded,
           "two rails a side, other counts": lambda: odd(double(car_of(A))), "wide, other counts": lambda: odd(car_of(B)),
           "bare": lambda: with_mounts(car_of(B), limiter_strut=None, transmission=None, support_tube=None)}

TO_CHOOSE = ("converter pad spacer", "set of bolts, or clamp band")
"""Rows that name what the builder chooses, and no fastener of the catalog."""


@pytest.mark.parametrize("name", COUNTED)
def test_every_hole_of_every_part_has_its_bolt(document, name):
    """Bolts of the list, part by part, against the round holes of the solids, counted from their faces."""
    car = COUNTED[name]()
    _made, layout = document(car)
    lines, parts = hardware(car), views(layout)
    assert {item.kind for item in read.snapshot(layout).unsound} <= {"catalogue"}
    assert all(line.known for line in lines if line.row not in TO_CHOOSE)
    bolts = [line for line in lines if line.row.startswith("hex bolt")]
    counted = 0
    for key, view in parts.items():
        own = [line for line in bolts if key in line.where]
        sizes = {catalog.hardware(line.row).diameter for line in own}
        holes = [bore for bore in bores(view.shape) if any(size - 0.01 <= bore[0] <= size + 1.0 for size in sizes or {9.525, 11.1125})]
        if key not in ("engine", "transmission", "protector"):
            # Tie-down ears stay on the mid plate of a car that has no support tube to tie it to: their two holes stay empty.
            empty = 2 if key == "mid_plate" and car.mounts.support_tube is None else 0
            assert len(holes) == sum(line.count for line in own) + empty, key
            counted += len(holes)
    # The protector shares the block's pattern, less what its crank opening covers.
    assert counted > 20
    nuts, through = (sum(line.count for line in lines if line.row.startswith(word)) for word in ("locknut", "hex bolt"))
    tapped = sum(line.count for line in bolts if {"engine", "transmission"} & set(line.where))
    assert nuts == through - tapped
    assert sum(line.count for line in lines if line.row.startswith("washer")) == 2 * nuts + tapped
    # Every tab, foot and bracket has a bolt.
    for key, view in parts.items():
        if view.kind in ("rail_tab", "plate_foot", "tie_tab", "limiter_bracket", "limiter_seat", "receiver", "transmission_mount"):
            assert any(key in line.where for line in bolts), key


@pytest.mark.parametrize("split, feet, bought", [(None, None, (2, 2)), (1, 0, (1, 0)), (4, 2, (4, 2)), (8, 8, (4, 2))])
def test_pins_are_bought_for_the_seats_that_a_loop_has(split, feet, bought):
    car = car_of(B)
    loop = replace(next(item for item in car.containment.loops if item.kind == "split"), pins_split=split, pins_feet=feet)
    car = replace(car, containment=replace(car.containment, loops=(loop,)))
    pins = [line.count for line in hardware(car) if line.row.startswith("quick-release pin")]
    assert pins == [count for count in bought if count]
    # The solid of a tube loop without any of them has as many holes as it has seats; a pin fills its own.
    made = split_loop.spec(loop, scenes.of(car))
    empty = [len([b for b in bores(split_loop.build(replace(made, pins_split=s, pins_feet=f))) if abs(b[0] - loop_ring.PIN) < 0.02])
             for s, f in ((made.pins_split, made.pins_feet), (0 if made.pins_split <= 2 else 3, 0))]
    assert empty[1] - empty[0] == (bought[0] if made.pins_split <= 2 else 1) + bought[1]


def test_a_bolt_that_the_catalogue_lacks_is_listed_as_such():
    lines = hardware(with_mounts(car_of(A), rail_tabs=replace(car_of(A).mounts.rail_tabs, bolt=9.0)))
    odd = [line for line in lines if not line.known and line.row != "converter pad spacer"]
    assert odd and {line.row for line in odd} == {"bolt 0.354 in", "nut 0.354 in", "washer 0.354 in"}


def test_catalogue_of_hardware_is_whole():
    """Each bolt has its nut and washer, its thread and grade exist, and sizes rise with the diameter."""
    for name in catalog.names("hardware"):
        item = catalog.hardware(name)
        assert catalog.hardware_name(item.kind, item.diameter) == name
        if item.kind == "bolt":
            assert catalog.fastener(item.thread).diameter == pytest.approx(item.diameter) and catalog.grade(item.grade) and item.step
            for kind in ("nut", "washer"):
                assert catalog.hardware(catalog.hardware_name(kind, item.diameter)).height > 0.0
        if item.kind == "nut":
            assert 0.8 < item.height / item.diameter < 1.4
    assert limiter.BALL_WIDTH > limiter.EYE_WIDTH
