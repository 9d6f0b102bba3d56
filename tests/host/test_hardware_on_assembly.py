"""Hardware that has no holes in the parts: dowels, pad spacers, screws and rivets that are drilled on assembly, counted from the
geometry."""
from __future__ import annotations

import json
import math
from dataclasses import replace

import jsonschema
import pytest
from conftest import ROOT
from oracles import report_schema

from crankline import carfile
from crankline.features.hardware import hardware, total
from crankline.features.joint_hardware import HardwareLine, along
from crankline.geometry import firewall, tunnel
from crankline.mechanics import scene as scenes
from crankline.record import filled
from crankline.reports import numbers

INCH = 25.4
A, B = "full_bodied_automatic", "open_clutch"


def car_of(name):
    return carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml")


def rows(car, start):
    return [line for line in hardware(car) if line.row.startswith(start)]


@pytest.mark.parametrize("name, row, out", [(A, "dowel 5/8", 0.75), (B, "dowel 1/2", 0.70)])
def test_two_dowels_stand_out_of_the_block(name, row, out):
    """Sizes as the catalogue's engine of the demo has them, inches."""
    car = car_of(name)
    line, = rows(car, "dowel")
    assert (line.row, line.count, line.known) == (row, 2, True) and line.length == pytest.approx(out * INCH)
    assert {"engine", "mid_plate", "transmission"} <= set(line.where) and ("protector" in line.where) == (name == A)


def test_a_dowel_that_the_catalogue_lacks_is_listed_as_such():
    car = car_of(A)
    engine = car.engine
    holes = tuple((y, z, 15.0 if abs(d - filled(engine).dowel_diameter) < 0.01 else d) for y, z, d in engine.rear_holes)
    changed = replace(car, engine=replace(engine, dowel_diameter=15.0, dowel_length=22.0, rear_holes=holes))
    assert rows(changed, "dowel") == [HardwareLine("dowel 0.591 in", 2, ("transmission", "mid_plate", "protector", "engine"), 22.0, False)]


def test_pad_spacers_are_listed_for_as_many_pads_as_there_may_be():
    car = car_of(A)
    line, = rows(car, "converter pad spacer")
    assert line.count == 6 and line.length == pytest.approx(0.370 * INCH) and not line.known and "common practice" in line.note
    assert rows(car_of(B), "converter") == []
    without = replace(car, transmission=replace(car.transmission, pad_spacers=0.0))
    assert rows(without, "converter") == []
    assert [row[2] for row in total(hardware(car)) if row[0] == "converter pad spacer"] == [6]


def test_each_mount_of_the_enclosure_has_its_screws():
    for name in (A, B):
        car = car_of(name)
        lines = [line for line in hardware(car) if "enclosure" in line.where]
        at_tail = [line.where for line in hardware(car) if line.row == "set of bolts, or clamp band" and line.count == 1]
        assert at_tail == [("enclosure_mount/front_top", "enclosure_mount/front_bottom", "transmission")] * (name == B)
        assert sorted(line.where[0] for line in lines) == [f"enclosure_mount/{end}_{side}" for end in ("front", "rear")
                                                           for side in ("bottom", "top")]
        assert all((line.row, line.count) == ("button-head screw 1/4-20", 2) for line in lines)
        assert all("common practice" in line.note and "drilled on assembly" in line.note for line in lines)
        bare = replace(car, containment=replace(car.containment, enclosure=None))
        assert not any("enclosure" in line.where for line in hardware(bare))


@pytest.mark.parametrize("inches, count", [(0.5, 1), (2.0, 1), (2.1, 2), (6.0, 2), (6.1, 3), (10.0, 3), (30.0, 8)])
def test_an_edge_has_a_fastener_every_four_inches(inches, count):
    """By hand: an inch from either end, then no more than 4 in from one to the next."""
    assert along(inches * INCH) == count


@pytest.mark.parametrize("name", (A, B))
def test_screws_of_the_tunnel_follow_from_its_panel_line(name):
    car, scene = filled(car_of(name)), scenes.of(car_of(name))
    start, end = tunnel.panel_line(tunnel.spec(car.containment.tunnel, car.containment, scene))
    length = math.dist(start, end) / INCH
    line, = (line for line in hardware(car_of(name)) if line.where == ("tunnel",))
    assert line.row == "button-head screw no. 10" and line.count == 2 * (math.ceil((length - 2.0) / 4.0) + 1)
    assert (length - 2.0) / (line.count / 2 - 1) <= 4.0 < (length - 2.0) / (line.count / 2 - 2)
    assert "common practice" in line.note and "4 in" in line.note
    at_loops = [line for line in hardware(car_of(name)) if line.where[0] == "tunnel" and line.where[1:]]
    assert [(line.count, line.where[1]) for line in at_loops] == [(4, f"loop/{loop.name}") for loop in car.containment.loops]
    assert all("never drill the loop" in line.note for line in at_loops)
    bare = replace(car_of(name), containment=replace(car_of(name).containment, tunnel=None))
    assert not any("tunnel" in line.where for line in hardware(bare))


def test_no_screw_stands_in_an_opening_of_the_tunnel():
    """A welded loop amid the cover: on either side its slot parts the line, and what is left of it is the line less the slot."""
    car, scene = filled(car_of(A)), scenes.of(car_of(A))
    plain = tunnel.spec(car.containment.tunnel, car.containment, scene)
    slot = tunnel.Slot(900.0, 960.0, 1, 80.0, plain.center(960.0)[1] - 0.1, 600.0)
    slotted = replace(plain, slots=(slot,))
    whole, = tunnel.panel_runs(plain, 1)
    assert whole == pytest.approx(tunnel.panel_line_length(plain)) and tunnel.panel_runs(slotted, -1) == pytest.approx((whole,))
    rear, front = tunnel.panel_runs(slotted, 1)
    step = whole / plain.length
    assert (rear, front) == pytest.approx(((900.0 - plain.x_rear) * step, (plain.x_front - 960.0) * step))
    # Through an end: one stretch is left. A notch parts the line only where it reaches up to it, and then on both sides.
    assert tunnel.panel_runs(replace(plain, slots=(replace(slot, x_front=plain.x_front + 5.0),)), 1) == pytest.approx((rear,))
    low, high = tunnel.Notch(900.0, 960.0, plain.floor + 20.0), tunnel.Notch(900.0, 960.0, plain.center(900.0)[1] + 5.0)
    assert tunnel.panel_runs(replace(plain, notches=(low,)), 1) == pytest.approx((whole,))
    assert all(tunnel.panel_runs(replace(plain, notches=(high,)), side) == pytest.approx((rear, front)) for side in (1, -1))


@pytest.mark.parametrize("name", (A, B))
def test_rivets_of_the_firewall_follow_from_its_outer_edge(name):
    """The edge is read off the solid: its bounding box has the sides' height and the top's width."""
    car, scene = filled(car_of(name)), scenes.of(car_of(name))
    box = firewall.build(firewall.spec(car.plates.mid, car.mounts.rail_tabs, scene)).BoundBox
    edge = (2.0 * box.ZLength + box.YLength) / INCH
    line, = (line for line in hardware(car_of(name)) if "firewall" in line.where)
    assert line.row == "blind rivet 1/8" and line.count == math.ceil((edge - 2.0) / 4.0) + 1 and "common practice" in line.note
    open_car = replace(car_of(name), chassis=replace(car_of(name).chassis, firewall=None))
    assert not any("firewall" in line.where for line in hardware(open_car))


@pytest.mark.parametrize("name", (A, B))
def test_the_report_holds_the_list_as_its_schema_says(name):
    listed = json.loads(json.dumps(numbers.hardware_figures(car_of(name)), allow_nan=False))
    jsonschema.validate(listed, report_schema()["properties"]["hardware"])
    assert {line["note"] for line in listed} >= {"", "common practice, drilled on assembly"}
    assert all(line["count"] > 0 for line in listed)
