"""What placement records say of a car: against scikit-learn, by leaving each one out, and where it is refused."""
from __future__ import annotations

from dataclasses import replace

import invented_records
import numpy as np
import pytest
import record_coverage
from test_placement_records import DEMO_RECORDS, demo

from crankline import records
from crankline.mechanics import scene
from crankline.records import features, local_fit, suggestion

INCH = 25.4


@pytest.fixture(scope="module")
def invented():
    return records.load([DEMO_RECORDS])


def query(name="full_bodied_automatic", **given):
    car = demo(name)
    return records.of_car(car, scene.of(car), **given)


@pytest.fixture(scope="module")
def compared(invented):
    return features.table(query(power=1.2e9), invented.entries)


def test_distances_are_those_of_scikit_learn(invented):
    """Without gaps a distance is the Euclidean one of scaled numbers and of a column for each word, whose squared difference is 2."""
    from sklearn.neighbors import NearestNeighbors  # dear, and every process of a run would wait for it
    whole = [entry for entry in invented.entries if None not in [getattr(entry.record, f.field) for f in features.NUMBERS]]
    found = features.table(query(power=1.2e9, displacement=1e7), whole)
    scale = np.sqrt([feature.weight for feature in found.numbers])
    columns, own = found.design()
    numbers = len(found.numbers)
    word_scale = np.sqrt(np.concatenate([[feature.weight] * len({*said}) for feature, said in zip(found.words, found.said)]))
    scales = np.concatenate([scale, word_scale]) / np.sqrt(sum(f.weight for f in (*found.numbers, *found.words)))
    assert len(scales) == columns.shape[1] and numbers == 6
    theirs, order = NearestNeighbors(n_neighbors=10, algorithm="kd_tree").fit(columns * scales).kneighbors((own * scales)[None, :])
    # The demo's class is one of theirs, but for its words a mismatch counts as any other.
    ours = found.distances()
    assert np.sort(ours)[:10] == pytest.approx(theirs[0]) and set(np.argsort(ours)[:10]) == set(order[0])
    between = NearestNeighbors(n_neighbors=len(whole), algorithm="kd_tree").fit(columns * scales).kneighbors(columns * scales)
    assert np.sort(found.between(), axis=1) == pytest.approx(between[0], abs=1e-7)


def test_the_local_fit_is_a_weighted_ridge_of_scikit_learn(compared):
    from sklearn.linear_model import Ridge
    design, point = compared.design()
    y = compared.field_values("axle_to_block")
    weight = local_fit.weights(compared.distances()[None, :])[0] * suggestion._trust(compared)
    theirs = Ridge(alpha=local_fit.RIDGE).fit(design, y, sample_weight=weight)
    assert suggestion.estimate(compared)["axle_to_block"].value == pytest.approx(float(theirs.predict(point[None, :])[0]), abs=1e-6)
    errors, added = local_fit.leave_one_out(design, compared.between(), y, suggestion._trust(compared))
    for i in (0, 17, 71):
        others = np.arange(len(y)) != i
        weight = local_fit.weights(compared.between()[i, others][None, :])[0] * suggestion._trust(compared)[others]
        model = Ridge(alpha=local_fit.RIDGE).fit(design[others], y[others], sample_weight=weight)
        assert errors[i] == pytest.approx(y[i] - float(model.predict(design[i][None, :])[0]), abs=1e-6)
        # What each record counts for: what the estimate moves by when it does.
        moved = [float(Ridge(alpha=local_fit.RIDGE).fit(design[others], one, sample_weight=weight).predict(design[i][None, :])[0])
                 for one in np.eye(others.sum())[:10]]
        mine = local_fit.rows(design[others], weight[None, :], design[i][None, :])[0]
        assert mine[:10] == pytest.approx(moved, abs=1e-9) and added[i] == pytest.approx((mine ** 2).sum())


def test_weights_are_tricube_and_reach_as_far_as_is_said():
    found = local_fit.weights(np.array([[0.0, 1.0, 2.0, 3.0, np.inf]]), neighbors=2, reach=1.5)[0]
    assert found == pytest.approx([1.0, (1 - (1 / 1.5) ** 3) ** 3, 0.0, 0.0, 0.0])
    assert local_fit.weights(np.zeros((1, 3)))[0] == pytest.approx([1.0, 1.0, 1.0])


def test_a_law_without_scatter_is_found():
    """Linear in the features and no ridge to speak of: exact, with no interval."""
    draw = np.random.default_rng(5)
    design, point = draw.normal(size=(60, 3)), draw.normal(size=3)
    apart = np.linalg.norm(design[:, None] - design[None], axis=2)
    y = 7.0 + design @ [1.0, -2.0, 3.0]
    full = local_fit.rows(design, local_fit.weights(np.linalg.norm(design - point, axis=1)[None, :]), point[None, :], ridge=1e-9)
    assert full[0] @ y == pytest.approx(7.0 + point @ [1.0, -2.0, 3.0], abs=1e-6) and full.sum() == pytest.approx(1.0)
    (found,) = local_fit.intervals(design, apart, np.full((60, 1), 7.0), np.ones(60), point, np.linalg.norm(design - point, axis=1))
    assert (found.low, found.value, found.high) == pytest.approx((7.0, 7.0, 7.0))


@pytest.mark.parametrize("seed", [invented_records.SEED, 7])
def test_the_interval_covers_what_it_says_leaving_each_record_out(seed, invented):
    found = record_coverage.leaving_out(invented if seed == invented_records.SEED else record_coverage.collection(seed))
    assert all(0.75 <= share <= 0.85 for share in found.inside.values()), found
    assert found.refused <= 0.08


def test_the_interval_covers_cars_that_no_record_is_of():
    found = [record_coverage.of_cars(record_coverage.collection(seed), seed + 1000, 40) for seed in (31, 32, 33)]
    for field in suggestion.FIELDS:
        assert 0.75 <= np.mean([one.inside[field] for one in found]) <= 0.85, found
    assert np.mean([one.refused for one in found]) <= 0.08


@pytest.mark.parametrize("name", ["full_bodied_automatic", "open_clutch"])
def test_the_demos_are_inside_the_demo_records(name, invented):
    car = query(name)
    found = records.suggest(car, invented)
    assert not found.refused and found.invented == found.count == invented_records.COUNT
    estimate = found.estimates["axle_to_block"]
    assert estimate.low < car.axle_to_block < estimate.high and estimate.high - estimate.low < 9.0 * INCH
    assert found.left_out == ("power", "displacement") and "wheelbase" in found.used
    assert all(near.entry.record.body == car.body and "body" in near.alike for near in found.near)


@pytest.mark.parametrize("left", ["straight", "wheelstand", "spin"])
def test_a_record_of_a_car_is_its_own_nearest(left, invented):
    own = records.Entry("demo_a", query(sixty_foot=1.4, left=left))
    found = records.nearest(query(), records.Collection((*invented.entries, own)), 3)
    assert found[0].entry is own and found[0].distance == found[0].order == 0.0 and found[0].unlike == ()
    assert found[1].distance > 0.1


def test_what_ran_well_comes_before_what_is_as_near(invented):
    car = query()
    twins = {name: replace(car, mass=car.mass + 5.0, left=left, sixty_foot=time) for name, left, time in (
        ("spun", "spin", 1.06), ("stood", "wheelstand", 1.06), ("slow", "straight", 1.20), ("quick", "straight", 1.00),
        ("usual", "straight", 1.06))}
    found = records.nearest(car, records.Collection((*invented.entries, *(records.Entry(*item) for item in twins.items()))), 5)
    order = [near.entry.name for near in found]
    assert order[:2] == ["quick", "usual"] and set(order) == set(twins)
    assert len({round(near.distance, 9) for near in found}) == 1
    assert found[0].sixty_foot_over < 0.0 < found[order.index("slow")].sixty_foot_over


def test_reasons_say_what_is_near_and_what_is_not(invented):
    entry = next(entry for entry in invented.entries if entry.record.power_adder == "none"
                 and None not in (entry.record.displacement, entry.record.tire_radius))
    first = entry.record
    spread = features.table(first, invented.entries).spreads[0]
    other = replace(first, wheelbase=first.wheelbase + 1.5 * spread, power_adder="turbocharged", power=None)
    mine = next(one for one in records.nearest(other, invented, len(invented.entries)) if one.entry is entry)
    assert set(mine.unlike) == {"wheelbase", "power_adder"} and "engine_mass" in mine.alike
    # Squares of 1.5 with weight 2 and of sqrt(2) with weight 1, over all weights but that of power.
    weights = sum(f.weight for f in (*features.NUMBERS, *features.WORDS)) - 1.0
    assert mine.distance == pytest.approx(np.sqrt((2 * 1.5 ** 2 + 2.0) / weights))


@pytest.mark.parametrize("change, words", [
    (dict(wheelbase=132 * INCH), ["wheelbase 132.000 in is 16.500 in over the most of the records, 115.500 in"]),
    (dict(engine_mass=150.0, mass=500.0), ["engine mass 331 lb is ", " under the least of the records", "mass 1102 lb is "]),
    (dict(body="open", tires="street", transmission="manual", mass=1500.0, class_="none of these", engine_material="cast_iron"),
     ["no record is like this car in all features together", "differ: ", "class"]),
    (dict(power=3e9), ["power 4023 hp is ", "over the most"])])
def test_outside_the_records_is_a_plain_refusal(change, words, invented):
    found = records.suggest(replace(query(), **change), invented)
    told = "; ".join([*(one.words() for one in found.outside), found.refusal])
    assert found.refused and not found.estimates and all(word in told for word in words), told
    assert len(found.near) == 5, "the nearest are shown all the same"


def test_a_word_that_no_record_has_is_a_refusal(invented):
    no_turbo = records.Collection(tuple(e for e in invented.entries if e.record.power_adder != "turbocharged"))
    found = records.suggest(query(power_adder="turbocharged"), no_turbo)
    assert [one.words() for one in found.outside] == ["power adder turbocharged: no record has it"]


def test_few_records_give_no_estimate(invented):
    few = records.Collection(invented.entries[:19])
    inside = replace(invented.entries[3].record)
    assert records.suggest(inside, few).refusal == "too few records for an estimate: 19, and 20 are needed"
    assert records.suggest(inside, records.Collection()).refusal and records.nearest(inside, records.Collection()) == ()


def test_cars_with_one_figure_outside_are_always_refused():
    assert record_coverage.refused_outside(record_coverage.collection(3), 4, 12) == 1.0


def test_a_suggestion_is_plain_data_and_says_invented(invented):
    import json
    found = suggestion.to_json(records.suggest(query(), invented))
    text = json.dumps(found)
    assert found["estimates"]["axle_to_block_mm"]["invented"] and all(near["invented"] for near in found["nearest"])
    assert '"class"' in text and "class_" not in text and found["records"] == found["invented_records"] == 72
