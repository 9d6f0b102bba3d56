"""The instruction sheet without a host: steps by what the car has, readings that are the model's, torques against published tables."""
from __future__ import annotations

import re
from dataclasses import replace

import every_kind_of_part
import pytest
from snapshot_fakes import automatic, clutch

from crankline import model, units
from crankline.features import hardware, plan
from crankline.features.part_kind import Hold, Supply
from crankline.features.registry import declaration
from crankline.measure.part_marks import Marked
from crankline.mechanics import scene as scenes
from crankline.mechanics import set_up
from crankline.mechanics.chassis import completed
from crankline.record import filled
from crankline.sheets import instruction_finishing as finishing
from crankline.sheets import instruction_steps, instructions, safety_messages, torques
from crankline.sheets.drawing import Polyline, SheetError, Text
from crankline.sheets.instruction_step import PLACE, Kit
from crankline.snapshot import PartView, Snapshot

CAPTIONS = {"Shop", "Title", "Projection", "Drawn by", "Car", "Car data", "Scale", "Approved by", "Document type", "Dwg no.", "Rev.",
            "Date of issue", "Units", "Sheet"}


def kit_of(car, look_alikes=True):
    """A car's kit with a mark of its own for every part, left and right tabs sharing theirs."""
    scene = scenes.of(car)
    scene = replace(scene, chassis=completed(scene.chassis, car.car.wheelbase))
    rows = [row for row in plan.plan(car, scene) if row.has_shape]
    parts = tuple(PartView(row.key, row.kind, row.label, "4130N", 1.0, None, "chassis", f"digest of {row.key}",
                           reference=declaration(row.kind, row.key).reference) for row in rows)
    groups: dict[str, list[str]] = {}
    for row in rows:
        own = declaration(row.kind, row.key)
        if own.supply is Supply.KIT:
            groups.setdefault(f"{own.mark} {row.key.replace('left', '').replace('right', '')}", []).append(row.key)
    marked = [Marked(f"{name.split()[0]}-{number}", tuple(keys)) for number, (name, keys) in enumerate(sorted(groups.items()), 1)]
    tabs = [item for item in marked if item.mark.startswith("RT")]
    if look_alikes and len(tabs) == 2:
        other = {tabs[0].mark: tabs[1].mark, tabs[1].mark: tabs[0].mark}
        marked = [replace(item, look_alikes=(other[item.mark],)) if item.mark in other else item for item in marked]
    return Kit(Snapshot(car, scene, parts), tuple(marked))


def steps(car):
    with units.read_in(car.car.units):
        return [step for section in instruction_steps.sections(kit_of(car)) for step in section.steps]


def titles(car):
    return [step.title for step in steps(car)]


def drawn_box(_step, box):
    return [Polyline(((box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1)), "thin", True)]


def test_work_goes_in_the_order_of_the_trade():
    found = titles(automatic())
    order = ["Hang the block protector", "Hang the mid plate", "Set the height", "Level it across", "Set the pitch", "Set axle to block"]
    assert len(set(found)) == len(found) and all(title in found for title in order)
    for before, after in (("Count the kit", "Level the chassis"), ("Hang the mid plate", "Bolt up the transmission"),
                          ("Set the pitch", "Set axle to block"), ("Set axle to block", "STOP: read it all again"),
                          ("STOP: read it all again", "Tack the plate feet"), ("Tack the rail tabs", "STOP: did it move?"),
                          ("Tack the receiver", "Tack loop front"), ("Tack loop rear", "Slide in the enclosure"),
                          ("STOP: measure the driveline", "Weld the front"), ("Weld the rail tabs", "Pull the shims"),
                          ("Pull the shims", "Pull the engine"), ("Pull the engine", "Finish the welds"),
                          ("Put the engine back", "STOP: last check"), ("Take up the weight", "Tail bolts out, cross bolt out")):
        assert found.index(before) < found.index(after), (before, after)


def without(car, **changes):
    return replace(car, containment=replace(car.containment, **changes))


@pytest.mark.parametrize("car, gone", [
    (without(automatic(), enclosure=None), {"Slide in the enclosure", "Tack the enclosure mounts", "Weld the enclosure mounts"}),
    (without(automatic(), tunnel=None), {"Fit the tunnel", "Take the tunnel off"}),
    (replace(automatic(), plates=replace(automatic().plates, protector=None)), {"Hang the block protector"}),
    (replace(automatic(), mounts=replace(automatic().mounts, limiter_strut=None)),
     {"Bolt on the limiter bracket", "Tack the limiter seat", "Weld the limiter seat"}),
    (without(automatic(), loops=tuple(loop for loop in automatic().containment.loops if loop.kind == "fixed")),
     {"Tack loop front", "Tack loop second", "Open the split loops"}),
    (replace(automatic(), mounts=replace(automatic().mounts, transmission=None)),
     {"Trim the mount tab", "Bolt the mount to the tail", "Tack the receiver", "Try the mount", "Take the tunnel off", "Open the split "
                                                                                                                       "loops",
      "Take the driveshaft out", "Take up the weight", "Tail bolts out, cross bolt out", "Slide down and fold",
      "Transmission back and out"}),
], ids=["enclosure", "tunnel", "protector", "limiter strut", "split loops", "mount"])
def test_what_a_car_has_not_is_no_step(car, gone):
    assert set(titles(automatic())) - set(titles(car)) == gone


def test_clutch_and_automatic_plate_feet_and_tabs_are_told_apart():
    first, other = ({step.title: step for step in steps(car)} for car in (automatic(), clutch()))
    stands = next(step for step in steps(on_stands()) if step.title == "Try the bare block on its set-up stands")
    assert "Try the bare block on its set-up stands" not in first and [check.name for check in stands.checks] == [
        "Axle to rear face of rear set-up stand", "Axle to rear face of front set-up stand"]
    assert "converter" in first["Bolt up the transmission"].action and "clutch" in other["Bolt up the transmission"].action
    assert "Tack the plate feet" in first and "Tack the front tabs" not in first
    assert "Tack the front tabs" in other and "Tack the plate feet" not in other
    assert "tail" in other["Tack the enclosure mounts"].action and "tail" not in first["Tack the enclosure mounts"].action


def on_stands():
    """With set-up stands."""
    stands = model.SetUpStands(bar=model.Section(outer_diameter=70.0, wall=6.0))
    return replace(automatic(), mounts=replace(automatic().mounts, setup_stands=stands))


@pytest.mark.parametrize("car", [automatic(), clutch(), *every_kind_of_part.cars().values()],
                         ids=["automatic", "clutch", *(f"{name} with all" for name in every_kind_of_part.NAMES)])
def test_every_made_part_is_named_fitted_welded_and_checked_against_the_set_up_sheet(car):
    kit = kit_of(car)
    with units.read_in("in"):
        found = [step for section in instruction_steps.sections(kit) for step in section.steps]
    assert set(kit.made) - {key for step in found if not step.apart for key in step.parts} == set(), "no step fits these"
    tacked = {key for step in found if "ack " in step.action for key in step.parts} & set(kit.made) - set(kit.at_tail)
    welded = {key for step in found if step.tools == ("welder",) for key in step.parts}
    assert {key for key in tacked if kit.holding(key, Hold.WELDED)} - welded == set(), "these are tacked and never welded"
    for step in found:
        for item in kit.marked:
            if set(item.keys) & set(step.parts):
                assert item.mark in step.action or item.mark in kit.unnamed(step) or step.apart, (step.title, item.mark)
    readings = {one.name: one for one in set_up.readings(filled(car), scenes.of(car))}
    known = [check for step in found for check in step.checks if check.name in readings]
    assert all(check == readings[check.name] for check in known)
    for title in ("STOP: read it all again", "STOP: did it move?", "STOP: measure the powertrain"):
        assert [check.name for step in found if step.title == title for check in step.checks] == list(PLACE)


def test_a_part_of_which_no_step_was_written_is_fitted_and_welded_as_it_declares(monkeypatch):
    monkeypatch.setattr(instruction_steps, "FITTING", tuple(make for make in instruction_steps.FITTING if make.__name__ != "mounted"))
    monkeypatch.setattr(finishing, "LOOPS", ())
    with units.read_in("in"):
        found = {section.title: {step.title: step for step in section.steps} for section in instruction_steps.sections(kit_of(automatic()))}
    other, welds = found["Fit the other parts"], found["Weld in this order"]
    assert list(other) == ["Tack the cross member", "Bolt the transmission mount", "Tack the receiver"]
    assert re.fullmatch(r"Tack RC-\d+ receiver to CM-\d+ cross member\.", other["Tack the receiver"].action)
    assert "loop" in welds["Weld the loop"].action


def test_what_steps_measure_is_on_the_set_up_sheet(monkeypatch):
    """A step that asks for a reading under another name than the set-up sheet's would go without it in silence."""
    asked, there, read = set(), set(), Kit.read
    monkeypatch.setattr(Kit, "read", lambda kit, *names: asked.update(names) or read(kit, *names))
    for car in (automatic(), clutch(), *every_kind_of_part.cars().values()):
        kit = kit_of(car)
        with units.read_in("in"):
            instruction_steps.sections(kit)
        there |= set(kit.readings)
    assert len(asked) > 20 and asked - there == set()


def test_readings_of_the_kit_s_own_follow_the_car():
    """Cross member and support tube by closed form: footwell tube and offset; distance behind the plate less the tube's radius."""
    car = automatic()
    member, tube = car.mounts.cross_member, car.mounts.support_tube
    checks = {check.name: check.value for step in steps(car) for check in step.checks}
    assert checks["Axle to cross member, its middle"] == pytest.approx(car.chassis.footwell_tube.x + member.offset)
    assert checks["Center of cross member above track"] == pytest.approx(member.z)
    assert checks["Rear face of mid plate to support tube"] == pytest.approx(tube.behind_plate - tube.section.outer_diameter / 2.0)
    assert checks["Axle to enclosure, front end"] == pytest.approx(car.containment.enclosure.x_front)


@pytest.mark.parametrize("size", ["A4", "A", "A3", "B"])
@pytest.mark.parametrize("car", [automatic(), clutch()], ids=["automatic", "clutch"])
def test_pages_are_laid_out_and_readable(car, size):
    kit = kit_of(car)
    with units.read_in("in"):
        pages = instructions.sheets(kit, drawn_box, size)      # refuses where texts overlap
        sections = instruction_steps.sections(kit)
        expected = [step for section in sections for step in section.steps]
    texts = [item for page in pages for item in page.items if isinstance(item, Text)]
    assert {item.text for item in texts if item.height < 2.5} <= CAPTIONS
    said = [item.text for item in texts]
    assert all(step.title in said for step in expected)
    numbers = [item.text for item in texts if item.bold and item.height == 2.8 and item.anchor == "middle"]
    assert numbers == [str(number) for number in range(1, len(expected) + 1)]
    read = [check.name for step in expected for check in step.checks]
    assert sorted(text for text in said if text in set(read)) == sorted(read)
    assert "Sign-off" in said and "Torque table" in said
    # The title of a section and its safety messages are on the page of its first step.
    for page in pages:
        said = [item.text for item in page.items if isinstance(item, Text)]
        for section in sections:
            if any(text.endswith(f"   {section.title}") and text[1:4] == "   " for text in said) and "Sign-off" not in said:
                assert section.steps[0].title in said, section.title


def test_a_picture_gets_room_on_every_size():
    seen = []
    kit = kit_of(automatic())
    with units.read_in("in"):
        for size in ("A4", "B"):
            instructions.sheets(kit, lambda step, box: seen.append((step.title, box.width, box.height)) or [], size)
    assert len(seen) > 100 and all(width > 100.0 and height > 40.0 for _title, width, height in seen), seen


def test_a_step_that_does_not_fit_is_refused_in_one_sentence(monkeypatch):
    monkeypatch.setattr(instructions, "LEAST", 500.0)
    with pytest.raises(SheetError, match="choose a larger size"), units.read_in("in"):
        instructions.sheets(kit_of(automatic()), drawn_box, "A4")


def test_safety_messages_are_grouped_the_gravest_first_and_stand_before_their_steps():
    found = instruction_steps.sections(kit_of(automatic()))
    for section in found:
        signals = [signal for signal, _own in safety_messages.grouped(section.messages)]
        assert signals and signals == [signal for signal in safety_messages.SIGNALS if signal in signals]
    every = [message for section in found for message in section.messages]
    grouped = safety_messages.grouped(every)
    assert sum(len(own) for _signal, own in grouped) == len(set(every))
    assert all(message.hazard and message.consequence and message.avoid for message in every)
    by = {section.title: section for section in found}
    assert safety_messages.SHAFT in by["Contain the driveshaft"].messages and safety_messages.WELDS in by["Weld in this order"].messages
    items, low = safety_messages.draw(every, 10.0, 200.0, 150.0)
    assert 200.0 - low == pytest.approx(safety_messages.height(every, 150.0) - 1.0)
    # NOTICE is not about people and has no alert symbol: one triangle for each of the others.
    triangles = [item for item in items if isinstance(item, Polyline) and len(item.points) == 3]
    assert len(triangles) == sum(signal != safety_messages.NOTICE for signal, _own in grouped)


def published(row, grade):
    """Dry torques of coarse threads at 75% of proof, ft lb, as bolt makers' tables print them (K = 0.20)."""
    return {("hex bolt 3/8-16", "SAE 8"): 44.0, ("hex bolt 1/2-13", "SAE 8"): 106.0}[row, grade]


@pytest.mark.parametrize("car", [automatic(), clutch()], ids=["automatic", "clutch"])
def test_torques_against_published_tables(car):
    lines = hardware.hardware(car)
    found = torques.of(lines)
    bolts = [line for line in lines if line.row.startswith("hex bolt")]
    assert [(one.row, one.where, one.count) for one in found] == [(line.row, line.where, line.count) for line in bolts]
    told = [one for one in found if one.torque is not None]
    for one in told:
        assert units.to(one.torque, "torque", "lbf.ft") == pytest.approx(published(one.row, one.grade), abs=0.6)
    assert len(told) > 6
    # What goes into a casting is its maker's to say, and a bolt through a tube is not drawn to crush it.
    by = {one.where: one for one in found}
    assert by["transmission_mount", "transmission"].note == torques.MAKER and by["front_plate", "engine"].note == torques.MAKER
    assert by["receiver", "transmission_mount"].note == torques.SNUG and by["receiver", "transmission_mount"].torque is None


def test_a_bolt_of_no_known_grade_has_no_torque():
    car = automatic()
    odd = replace(car, mounts=replace(car.mounts, rail_tabs=replace(car.mounts.rail_tabs, bolt=9.0)))
    found = [one for one in torques.of(hardware.hardware(odd)) if "mid_plate" in one.where and one.where[1].startswith("rail_tab")]
    assert found and all(one.torque is None and one.note for one in found)


def test_left_and_right_joints_of_one_name_are_one_line_of_the_torque_table():
    with units.read_in("in"):
        texts = [text for page in instructions.sheets(kit_of(clutch()), drawn_box, "A3") for text in page.texts()]
    lines = hardware.hardware(clutch())
    asked = sum(one.count for one in torques.of(lines) if "tie_tab" in " ".join(one.where))
    rows = texts[texts.index("Torque table"):]
    joints = [i for i, text in enumerate(rows) if text.endswith("tie tab") and rows[i + 1].isdigit()]
    assert len(joints) == 1 and int(rows[joints[0] + 1]) == asked == 2
