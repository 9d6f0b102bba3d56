"""Set-up stands: the cradle holds the bar on the crank centerline, the feet sit on the rails, and nothing else is in the way."""
from __future__ import annotations

import math
from dataclasses import replace

import every_kind_of_part
import FreeCAD
import numpy as np
import pytest
from oracles import come_within

from crankline import model
from crankline.features import plan, registry
from crankline.geometry import engine_envelope, setup_bar, setup_stand
from crankline.mechanics import scene as scenes
from crankline.mechanics.chassis import completed
from crankline.record import filled
from crankline.sheets import flat_patterns, stroke_letters

INCH = 25.4
STANDS = model.SetUpStands(bar=model.Section(outer_diameter=2.75 * INCH, wall=0.25 * INCH))


def cars():
    """Both cars, the second on double rails whose upper ones carry the plates, and one that leans every way; each with its stands."""
    for name, car in every_kind_of_part.cars().items():
        yield name, car
        if name == "automatic":
            yield "askew", replace(car, placement=replace(car.placement, yaw=math.radians(0.4), roll=math.radians(0.5), lateral=6.0))


CASES = [(name, scenes.of(car), car, end) for name, car in cars() for end in setup_stand.ENDS]
EACH = pytest.mark.parametrize(("name", "scene", "car", "end"), CASES, ids=[f"{name} {end}" for name, _scene, _car, end in CASES])


def standing(shape, frame):
    """A shape of the engine frame in the car frame."""
    from crankline.features.base import host_placement
    moved = shape.copy()
    moved.Placement = host_placement(frame)
    return moved


@EACH
def test_volume_against_the_closed_form(name, scene, car, end):
    """Trapezoids less half rounds, walls of the cradle and holes."""
    spec = setup_stand.spec(STANDS, scene, end)
    low = 2.0 * spec.half_width * (spec.shoulder - spec.foot) + max(spec.foot - spec.bottom, 0.0) * 2.0 * spec.foot_inside
    cheeks = (2.0 * spec.half_width + 2.0 * (spec.cradle + setup_stand.CHEEK)) / 2.0 * (spec.top - spec.shoulder)
    cradle = math.pi * spec.cradle ** 2 / 2.0 + 2.0 * spec.cradle * (spec.top - spec.seat - spec.cradle)
    holes = (1 if end == "front" else 2) * math.pi * setup_stand.HOLE ** 2 / 4.0
    shape = setup_stand.build(spec)
    assert shape.isValid() and len(shape.Solids) == 1
    assert shape.Volume == pytest.approx((low + cheeks - cradle - math.pi * spec.notch ** 2 - holes) * spec.thickness, rel=1e-9)


@EACH
def test_the_bar_lies_in_the_cradle_on_the_crank_centerline(name, scene, car, end):
    """The bar touches and does not cut; lifted by two hundredths of a millimeter it is free; its ends are past both plates."""
    spec = setup_stand.spec(STANDS, scene, end)
    made, bar = setup_stand.build(spec), standing(setup_bar.build(setup_bar.spec(STANDS, scene)), scene.engine_frame)
    assert come_within(made, bar, 0.005) and made.common(bar).Volume < 0.05
    lifted = bar.copy()
    lifted.translate(FreeCAD.Vector(0.0, 0.0, 0.02))
    assert not come_within(made, lifted, 0.01)
    ends = setup_bar.spec(STANDS, scene)
    rear, front = (scene.engine_point(*point) for point in (ends.start, ends.end))
    assert rear[0] < spec.x and spec.x + spec.thickness < front[0]
    y, z = setup_stand.axis_at(scene, spec.x)
    along = scene.engine_frame.rotation[:, 0]
    off = np.array([spec.x, y, z]) - scene.engine_point(0.0)
    assert np.linalg.norm(off - off @ along * along) < 1e-9


THERE = ("rail", "upper_rail", "upright", "mid_plate", "front_plate", "protector", "rail_tab", "front_tab", "plate_foot")
"""What may be on the block and on the rails when stands are used; the rest comes later."""


@pytest.mark.parametrize("name", ["askew", "clutch"])
def test_it_sits_on_the_rails_and_meets_nothing_that_is_there_when_it_is_used(name):
    """Beside the block, whose crank is out and whose damper is off with it, plates, tabs and uprights."""
    car = dict(cars())[name]
    scene = scenes.of(car)
    shapes = [(end, setup_stand.build(setup_stand.spec(STANDS, scene, end))) for end in setup_stand.ENDS]
    block = engine_envelope.build(replace(engine_envelope.spec(filled(car).engine, scene), damper_length=0.0))
    others = [("block", standing(block, scene.engine_frame))]
    for key, part in plan.described(car, scene).items():
        role = part.feature.declaration(key).role
        if role in THERE:
            shape = part.feature.geometry.build(part.spec(scene))
            others.append((role, shape if part.frame(scene) is None else standing(shape, part.frame(scene))))
    on = "upper_rail" if car.chassis.rails.kind == "double" else "rail"
    assert {"block", on} < {role for role, _shape in others}
    for end, made in shapes:
        near = made.BoundBox
        near.enlarge(2.0)
        for role, shape in others:
            if role == on:
                assert come_within(made, shape, 1e-6) and made.common(shape).Volume < 1e-3, (end, role)
            elif near.intersect(shape.BoundBox):
                assert not come_within(made, shape, 1.0), (end, role)


def sentence(stands, end="rear", change=None):
    car = every_kind_of_part.cars()["automatic"]
    car = change(car) if change else car
    with pytest.raises(ValueError) as told:
        setup_stand.spec(stands, scenes.of(car), end)
    return str(told.value)


def test_what_cannot_be_made_is_one_sentence():
    wide = replace(STANDS, bar=model.Section(outer_diameter=20.0 * INCH, wall=INCH))
    assert sentence(wide).startswith("mounts.setup_stands.bar.outer_diameter: a cradle for 20.000 in reaches")
    assert "behind_block: the rear plate runs into the plates behind the block" in sentence(replace(STANDS, behind_block=0.5 * INCH))
    assert "ahead_of_block: the front plate at X = " in sentence(replace(STANDS, ahead_of_block=70.0 * INCH), "front")
    assert "runs into chassis.uprights at X = 82.00 in" in sentence(replace(STANDS, behind_block=1.75 * INCH))
    assert "past the end of the rails" in sentence(replace(STANDS, behind_block=75.0 * INCH))

    def bare(car):
        return replace(car, chassis=replace(car.chassis, rails=replace(car.chassis.rails, height=None)))

    assert sentence(STANDS, change=bare) == ("chassis.rails needs half_spacing and height before set-up stands can be made; give both")


def test_front_and_rear_are_told_apart_and_lettered():
    """Without pitch the plates are alike but for their holes."""
    car = every_kind_of_part.cars()["automatic"]
    level = replace(car, placement=replace(car.placement, pitch=0.0))
    scene = scenes.of(replace(level, chassis=completed(filled(level.chassis), level.car.wheelbase)))
    front, rear = (setup_stand.spec(STANDS, scene, end) for end in setup_stand.ENDS)
    assert front.seat == pytest.approx(rear.seat, abs=1e-9) and len(setup_stand.flat(front).holes) + 1 == len(setup_stand.flat(rear).holes)
    for spec in (front, rear):
        piece, = setup_stand.pieces(spec)
        assert piece.lettering[0] == spec.end.upper() and spec.end in piece.note
        file = flat_patterns.CutFile("SU-1.dxf", "SU-1", piece, 1, "A36")
        strokes = [sum(1 for _ in stroke_letters.strokes(text, 8.0)) for text in ("SU-1", *piece.lettering)]
        assert len(file.etched) == sum(strokes) and min(strokes) > 0
        points = [point for stroke in file.etched for point in stroke]
        assert all(piece.flat.outer.holds(*point) for point in points)


def test_stands_weigh_and_are_no_part_of_the_car():
    for kind in ("setup_stand", "setup_bar"):
        part = registry.declared()[kind]
        assert part.reference and part.supply.value == "made" and not part.keeps_clear and not part.near_driver
