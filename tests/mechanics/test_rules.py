"""Rule sets: what they say, what is refused and where, and when a rule applies."""
from __future__ import annotations

import json
import random
import textwrap
from dataclasses import replace

import bare_python
import pytest
import snapshot_fakes as fakes

from crankline import catalog, source
from crankline.checks.context import Context
from crankline.record import filled
from crankline.rules import conditions, quantity, rule_sets
from crankline.rules import rule as rules_as_records

INCH = 25.4
GOOD = """
rule_set: 1
title: A set
edition: "1"
basis: {document: a book, source: seen}
rules:
  - id: A-1
    title: Crank height
    quantity: crank_height
    comparison: "<="
    limit: {in: 24 in, mm: 600 mm}
    severity: error
    hint: lower it
"""


def limit_of(rule_set: str, rule_id: str) -> dict:
    found = next(item for item in rule_sets.read(f"{rule_sets.FOLDER}/{rule_set}.yaml").rules if item.id == rule_id)
    return dict(found.limit.printed)


def edited(old: str, new: str) -> str:
    assert old in GOOD
    return GOOD.replace(old, new)


# --- what comes with the program --------------------------------------------------------------------------------------


def test_every_set_that_comes_along_is_read_and_ids_are_unique():
    every = [rule for name in rule_sets.available() for rule in rule_sets.read(f"{rule_sets.FOLDER}/{name}.yaml").rules]
    assert len(every) >= 25
    assert len({rule.id for rule in every}) == len(every)


@pytest.mark.parametrize("name", rule_sets.available())
def test_every_set_can_be_chosen_alone(name):
    chosen = rule_sets.select([name])
    assert name in [item.name for item in chosen.sets] and rule_sets.ALWAYS in [item.name for item in chosen.sets]


def test_figures_are_as_the_books_print_them():
    """standards.md A1.2, A6.1, A6.2, A1.10: pairs that are no exact conversions stay as printed."""
    assert limit_of("nhra_general_2008", "NHRA-LOOP-PLACE") == {"in": "6 in", "mm": "152 mm"}
    assert limit_of("nhra_et_2004", "NHRA-CRANK-HEIGHT") == {"in": "24 in", "mm": "610 mm"}
    assert limit_of("andra_2009", "ANDRA-CRANK-HEIGHT") == {"in": "24 in", "mm": "600 mm"}
    assert limit_of("andra_2019", "ANDRA-ENCLOSURE-LENGTH") == {"in": "12 in", "mm": "305 mm"}


def test_two_books_that_disagree_stay_two_rules():
    """A1.1 asks for a strap of 1/4 x 2 in, A1.7 for 3 x 50 mm."""
    straps = {}
    for name, rule_id in (("nhra_general_2008", "NHRA-LOOP-SECTION"), ("andra_2019", "ANDRA-LOOP-SECTION")):
        found = next(item for item in rule_sets.read(f"{rule_sets.FOLDER}/{name}.yaml").rules if item.id == rule_id)
        strap = next(item for item in found.alternatives if item.words["form"] == ("strap",))
        straps[name] = {size: limit.binding[0] for size, limit in strap.sizes.items()}
    assert straps["nhra_general_2008"]["thickness"] == rules_as_records.Bound("in", 6.35, None)
    assert straps["andra_2019"]["thickness"] == rules_as_records.Bound("mm", 3.0, None)
    assert straps["andra_2019"]["width"] == rules_as_records.Bound("mm", 50.0, None)


def test_common_practice_is_advice_and_memory_decides_nothing():
    for name in rule_sets.available():
        for rule in rule_sets.read(f"{rule_sets.FOLDER}/{name}.yaml").rules:
            if rule.basis.source in ("common practice", "memory"):
                assert rule.severity == "advice", rule.id
            assert rule.to_confirm == (rule.basis.source == "memory")


def test_rules_about_containment_cannot_be_waived():
    for name in rule_sets.available():
        for rule in rule_sets.read(f"{rule_sets.FOLDER}/{name}.yaml").rules:
            if rule.quantity.startswith(("loop_", "enclosure_")):
                assert not rule.waivable, rule.id


def test_the_demo_set_includes_practice_driveline_and_a_published_set():
    names = [item.name for item in rule_sets.select(["invented_demo"]).sets]
    assert {"practice", "driveline", "document_health", "nhra_general_2008", "nhra_et_2004"} < set(names)


def test_no_set_named_means_everything_but_a_book_and_says_so():
    chosen = rule_sets.select([])
    assert [item.name for item in chosen.sets] == ["practice", "driveline", "clearance", "containment", "strength", "document_health",
                                                     "protection"]
    assert len(chosen.notes) == 1 and "names no rule set" in chosen.notes[0]
    assert rule_sets.select(["practice"]).notes == ()


def test_every_material_of_the_catalogue_has_a_family():
    assert {name: catalog.family(name) for name in ("4130N", "1020_DOM", "7075-T6", "Ti-6Al-4V", "carbon", "wood", "")} == {
        "4130N": "alloy_steel", "1020_DOM": "carbon_steel", "7075-T6": "aluminium", "Ti-6Al-4V": "titanium", "carbon": "composite",
        "wood": None, "": None}
    assert all(catalog.family(name) for name in catalog.names("materials"))


def test_checks_import_without_the_host():
    code = ("import sys; sys.modules['FreeCAD'] = None; sys.modules['Part'] = None; "
            "from crankline import checks; from crankline.rules import rule_sets; rule_sets.select(['invented_demo'])")
    assert bare_python.refusal(code) == ""


# --- what is refused --------------------------------------------------------------------------------------------------

BAD = {
    "unknown quantity": (("crank_height\n", "crank_hight\n"), "did you mean crank_height", "quantity"),
    "unknown key": (("    hint: lower it", "    hint: lower it\n    wehn: {}"), "did you mean when", "wehn"),
    "unknown comparison": (('"<="', '"<"'), "one of <=, >=", "comparison"),
    "unknown severity": (("severity: error", "severity: fatal"), "one of error, warning, advice", "severity"),
    "missing hint": (("    hint: lower it\n", ""), "is missing", "hint"),
    "missing severity": (("    severity: error\n", ""), "is missing", "severity"),
    "missing limit": (("    limit: {in: 24 in, mm: 600 mm}\n", ""), "either limit or alternatives", "limit"),
    "bare number": (("24 in", "24"), "has no unit", "limit.in"),
    "wrong unit": (("24 in", "24 deg"), "a length is written in", "limit.in"),
    "inch figure in mm": (("in: 24 in", "in: 610 mm"), "printed in in is given in in", "limit.in"),
    "one unit of a pair": (("{in: 24 in, mm: 600 mm}", "{in: 24 in}"), "only the figure in in was found; give {in: ..., mm: ...} as the "
                           "book prints them, or '24 in' alone", "limit"),
    "the other unit of a pair": (("{in: 24 in, mm: 600 mm}", "{mm: 600 mm}"), "only the figure in mm was found", "limit"),
    "one unit of a band": (('"<="\n    limit: {in: 24 in, mm: 600 mm}', "within\n    limit: {low: {in: 8 in}, high: {in: 9 in}}"),
                           "only the figure in in was found", "limit.low"),
    "band in different units": (('"<="\n    limit: {in: 24 in, mm: 600 mm}', "within\n    limit: {low: 8 in, high: 300 mm}"),
                                "different units", "limit"),
    "binds what is not printed": (("limit: {in: 24 in, mm: 600 mm}", "limit: 24 in\n    binds: mm"), "no limit of this rule is printed so",
                                  "binds"),
    "two comparisons": (('"<="', '["<=", ">="]'), "a list", "comparison"),
    "equals sign": (('"<="', '"="'), "one of <=, >=, within, ==", "comparison"),
    "quantity of nothing": (("quantity: crank_height\n", "quantity:\n"), "nothing was found", "quantity"),
    "not a number": (("24 in", "nan in"), "nan", "limit.in"),
    "unknown system": (("mm: 600 mm", "cm: 60 cm"), "the key is unknown", "limit.cm"),
    "comma": (("24 in", '"24,0 in"'), "has a comma", "limit.in"),
    "unknown trigger": (("    severity", "    when: {wings: true}\n    severity"), "the key is unknown", "when.wings"),
    "unknown trigger word": (("    severity", "    when: {body: fulll}\n    severity"), "did you mean full", "when.body"),
    "trigger as code": (("    severity", "    when: elapsed_time < 10\n    severity"), "a mapping", "when"),
    "time without unit": (("    severity", "    when: {elapsed_time: {or_quicker: {quarter: 10}}}\n    severity"), "has no unit",
                          "when.elapsed_time.or_quicker.quarter"),
    "unknown time test": (("    severity", "    when: {elapsed_time: {faster: {quarter: 10 s}}}\n    severity"), "or_quicker",
                          "when.elapsed_time.faster"),
    "empty any": (("    severity", "    when: {any: []}\n    severity"), "the list is empty", "when.any"),
    "unknown setting": (("    severity", "    settings: {where: rear}\n    severity"), "the key is unknown", "settings.where"),
    "unknown setting word": (("    severity", "    settings: {at: top}\n    severity"), "one of stated", "settings.at"),
    "word twice in a setting": (('crank_height\n    comparison: "<="\n    limit: {in: 24 in, mm: 600 mm}',
                                 'joint_angle\n    settings: {poses: [static, launch, static]}\n    comparison: "<="\n    limit: 3 deg'),
                                "'static' was found 2 times; name each once", "settings.poses"),
    "missing setting": (('crank_height\n    comparison: "<="\n    limit: {in: 24 in, mm: 600 mm}',
                         'unsound_objects\n    comparison: "<="\n    limit: 0'), "the setting is missing", "settings.kinds"),
    "unknown basis": (("source: seen", "source: rumour"), "one of seen", "basis.source"),
    "practice as error": (("source: seen", "source: common practice"), "is advice", "severity"),
    "memory as error": (("source: seen", "source: memory"), "is advice", "severity"),
    "unknown formula": (("{in: 24 in, mm: 600 mm}", "{formula: guess, unit: in}"), "one of", "limit.formula"),
    "formula of another kind": (("{in: 24 in, mm: 600 mm}", "{formula: joint_angle_by_length, unit: deg}"),
                                "of kind angle", "limit.formula"),
    "formula that the quantity cannot serve": (("{in: 24 in, mm: 600 mm}", "{formula: disengage_travel, unit: in}"),
                                               "disengage_travel needs the disengage travel, which crank_height does not give; give the "
                                               "limit as a figure", "limit.formula"),
    "formula that another one can take the place of": (
        ('crank_height\n    comparison: "<="\n    limit: {in: 24 in, mm: 600 mm}',
         'clearance_hole\n    settings: {threads: inch}\n    comparison: "<="\n    limit: {formula: service_path_length, unit: in}'),
        "use one of close_clearance_hole, loose_clearance_hole, or give", "limit.formula"),
    "alternatives for a plain quantity": (("limit: {in: 24 in, mm: 600 mm}", "alternatives: [{form: tube}]"),
                                          "compared by limit", "limit"),
    "within without low": (('"<="', "within"), "{low: ..., high: ...}", "limit"),
    "low above high": (('"<="\n    limit: {in: 24 in, mm: 600 mm}', "within\n    limit: {low: 12 in, high: 8 in}"),
                       "exchange them", "limit"),
    "waivable yes": (("    hint", "    waivable: yes\n    hint"), "one of true, false", "waivable"),
    "duplicate key": (("    severity: error", "    severity: error\n    severity: error"), "appears twice", "severity"),
    "no rule set": (("rule_set: 1", "rule_set: 2"), "begins with", "rule_set"),
    "binds what": (('edition: "1"', 'edition: "1"\nbinds: cm'), "one of in, mm, stricter", "binds"),
}


@pytest.mark.parametrize("name", BAD)
def test_a_wrong_rule_is_refused_with_file_line_and_key(name):
    (old, new), told, key = BAD[name]
    with pytest.raises(source.SourceError) as refused:
        rule_sets.parse(edited(old, new), "bad.yaml")
    error, message = refused.value, str(refused.value)
    assert told in message, message
    assert error.file == "bad.yaml" and error.line is not None and error.line > 1, message
    assert error.path.endswith(key), message
    assert "\n" not in message and message.endswith(".")


def test_the_good_rule_is_good():
    good, = rule_sets.parse(GOOD).rules
    bound, = good.limit.binding
    assert (bound.unit, bound.low) == ("in", None) and bound.high == pytest.approx(24 * INCH, rel=1e-15)
    assert good.waivable and good.when == conditions.All()


def test_line_of_a_wrong_key_is_its_own():
    with pytest.raises(source.SourceError) as refused:
        rule_sets.parse(edited("severity: error", "severity: fatal"), "bad.yaml")
    assert GOOD.splitlines()[refused.value.line - 1].strip() == "severity: error"


def test_rule_id_twice_in_one_file_and_in_two(tmp_path):
    with pytest.raises(source.SourceError, match="is duplicated"):
        rule_sets.parse(GOOD + GOOD.split("rules:\n")[1])
    for name in ("one", "two"):
        (tmp_path / f"{name}.yaml").write_text(GOOD)
    with pytest.raises(source.SourceError, match="is also in"):
        rule_sets.select([], [str(tmp_path / "one.yaml"), str(tmp_path / "two.yaml")])


def test_unknown_set_is_one_sentence_with_the_way_out():
    with pytest.raises(rule_sets.RuleError) as refused:
        rule_sets.select(["practise"])
    assert "did you mean practice" in str(refused.value) and "rules.sets" in str(refused.value)


def test_a_set_may_include_others_and_switch_rules_off_with_a_reason(tmp_path):
    own = tmp_path / "own.yaml"
    own.write_text(textwrap.dedent("""\
        rule_set: 1
        title: Own
        edition: "1"
        include: [practice]
        disable: [{rule: PRA-PITCH, reason: this class runs level engines}]
        rules: []
        """))
    chosen = rule_sets.select([], [str(own)])
    assert {rule.id for rule in chosen.rules} >= {"PRA-HEIGHT", "PRA-AXLE"}
    assert "PRA-PITCH" not in {rule.id for rule in chosen.rules}
    off, = chosen.disabled
    assert (off.rule.id, off.rule_set, off.reason, off.file, off.line) == ("PRA-PITCH", "own", "this class runs level engines", str(own), 5)
    own.write_text(own.read_text().replace("PRA-PITCH", "PRA-NONE"))
    with pytest.raises(source.SourceError, match="PRA-NONE is not in the sets"):
        rule_sets.select([], [str(own)])


@pytest.mark.parametrize("name", [rule_sets.ALWAYS, "practice", "strength"])
def test_a_file_does_not_take_the_place_of_a_set(tmp_path, name):
    own = tmp_path / f"{name}.yaml"
    own.write_text(GOOD)
    for names in ([], ["practice"]):
        with pytest.raises(rule_sets.RuleError) as refused:
            rule_sets.select(names, [str(own)])
        told = str(refused.value)
        assert str(own) in told and f"{rule_sets.FOLDER}/{name}.yaml" in told and told.startswith("--rules: ") and "another name" in told


def test_of_two_files_of_one_name_none_is_dropped(tmp_path):
    files = []
    for folder in ("one", "two"):
        (tmp_path / folder).mkdir()
        files.append(tmp_path / folder / "own.yaml")
        files[-1].write_text(GOOD.replace("A-1", f"A-{folder}"))
    with pytest.raises(rule_sets.RuleError) as refused:
        rule_sets.select(["practice"], map(str, files))
    assert all(str(path) in str(refused.value) for path in files)


def test_a_file_may_be_named_twice_and_a_set_by_its_file(tmp_path):
    own = tmp_path / "own.yaml"
    own.write_text(GOOD)
    files = [str(own), str(own), f"{rule_sets.FOLDER}/strength.yaml", f"{rule_sets.FOLDER}/{rule_sets.ALWAYS}.yaml"]
    chosen = rule_sets.select(["practice"], files)
    assert {item.name for item in chosen.sets} == {"practice", "own", "strength", rule_sets.ALWAYS, "protection"}


def test_sets_that_include_each_other_end(tmp_path):
    for name, other in (("one", "two"), ("two", "one")):
        (tmp_path / f"{name}.yaml").write_text(f'rule_set: 1\ntitle: t\nedition: "1"\ninclude: [{other}]\nrules: []\n')
    (tmp_path / f"{rule_sets.ALWAYS}.yaml").write_text('rule_set: 1\ntitle: t\nedition: "1"\nrules: []\n')
    assert {item.name for item in rule_sets.select(["one"], folder=str(tmp_path)).sets} == {"one", "two", rule_sets.ALWAYS}


@pytest.mark.parametrize("binds, expected", [("in", 609.6), ("mm", 600.0)])
def test_a_setting_chooses_which_figure_binds(binds, expected):
    found, = rule_sets.parse(edited("    severity", f"    binds: {binds}\n    severity")).rules
    assert [bound.high for bound in found.limit.binding] == [pytest.approx(expected, rel=1e-15)]


def test_quantities_and_formulas_say_what_they_measure():
    for item in (*quantity.QUANTITIES.values(), *quantity.FORMULAS.values()):
        assert len(item.doc) > 20, f"{item.name}: its docstring says what it measures; the list of rules shows it"


def test_every_formula_has_a_quantity_that_gives_what_it_needs():
    for formula in quantity.FORMULAS.values():
        assert formula.needs
        assert any(one.kind == formula.kind and set(formula.needs) <= set(one.gives) for one in quantity.QUANTITIES.values()), formula.name


def test_a_quantity_gives_what_it_declares_and_nothing_else():
    given = {name: set() for name in quantity.QUANTITIES}
    for car in (fakes.automatic(), fakes.clutch()):
        shot = fakes.snapshot(car)
        context = Context(shot, fakes.FakeMeasurer())
        for rule in rule_sets.select([name for name in rule_sets.available() if name != "service"]).rules:
            context.settings = dict(rule.settings)
            try:
                found = quantity.QUANTITIES[rule.quantity].measure(shot, context)
            except quantity.NotEvaluated:
                continue
            for item in found:
                given[rule.quantity] |= set(getattr(item, "given", ()))
    for name, names in given.items():
        assert names <= set(quantity.QUANTITIES[name].gives), name
    assert given["joint_angle"] == {"joint_distance", "shaft_speed", "intersecting"}
    assert given["clearance_hole"] == {"hole_close", "hole_loose"}


# --- triggers ---------------------------------------------------------------------------------------------------------

TIMES = (9.99, 10.0, 10.01, 13.99, 14.0)


def random_condition(rng: random.Random, depth: int = 0) -> dict:
    """A condition as plain data."""
    data: dict = {}
    for _ in range(rng.randint(1, 3)):
        kind = rng.random()
        if kind < 0.25 and depth < 3:
            word = rng.choice(("any", "all"))
            data[word] = [random_condition(rng, depth + 1) for _ in range(rng.randint(1, 3))]
        elif kind < 0.35 and depth < 3:
            data["unless"] = random_condition(rng, depth + 1)
        elif kind < 0.6:
            tests = rng.sample(conditions.TIME_TESTS, rng.randint(1, 2))
            data["elapsed_time"] = {test: {track: f"{rng.choice(TIMES)} s" for track in
                                           rng.choice((("quarter",), ("eighth",), ("quarter", "eighth")))} for test in tests}
        else:
            fact = rng.choice(tuple(conditions.WORDS))
            words = rng.sample(conditions.WORDS[fact], rng.randint(1, len(conditions.WORDS[fact])))
            data[fact] = words[0] if len(words) == 1 and rng.random() < 0.5 else words
    return data


def random_facts(rng: random.Random) -> dict:
    known = {fact: rng.choice(words) if rng.random() < 0.85 else None for fact, words in conditions.WORDS.items()}
    known["track"] = known["track"] or "quarter"
    known["elapsed_time"] = rng.choice((*TIMES, None))
    return known


def oracle(data: dict, known: dict) -> float:
    """1 holds, 0 does not, 1/2 unknown: Kleene's logic as minimum, maximum and complement, on the plain data."""
    values = []
    for key, wanted in data.items():
        if key == "any":
            values.append(max(oracle(item, known) for item in wanted))
        elif key == "all":
            values.append(min(oracle(item, known) for item in wanted))
        elif key == "unless":
            values.append(1.0 - oracle(wanted, known))
        elif key == "elapsed_time":
            for test, pair in wanted.items():
                text, time = pair.get(known["track"]), known["elapsed_time"]
                if text is None or time is None:
                    values.append(0.5)
                    continue
                limit = float(text.split()[0])
                sign = (time > limit) - (time < limit)
                values.append(float(sign in {"or_quicker": (-1, 0), "quicker_than": (-1,), "or_slower": (0, 1),
                                             "slower_than": (1,)}[test]))
        else:
            words = wanted if isinstance(wanted, list) else [wanted]
            values.append(0.5 if known[key] is None else float(known[key] in words))
    return min(values)


def test_ten_thousand_generated_triggers_against_an_oracle():
    rng = random.Random(20260331)
    answers = {0.0: False, 0.5: None, 1.0: True}
    seen = dict.fromkeys(answers, 0)
    for _ in range(10_000):
        data = random_condition(rng)
        condition = rule_sets.condition(json.dumps(data))
        known = random_facts(rng)
        expected = oracle(data, known)
        answer, why = conditions.holds(condition, known)
        assert answer is answers[expected], (data, known, why)
        assert why
        seen[expected] += 1
    assert min(seen.values()) > 500, seen


def test_the_elapsed_time_of_a_book_includes_itself_where_it_says_or():
    """A1.3: 13.99 (*8.59) or quicker; A1.9: quicker than 13.00."""
    known = conditions.facts(filled(fakes.automatic()), None)
    for test, quarter, eighth in (("or_quicker", True, True), ("quicker_than", False, False), ("or_slower", True, True),
                                  ("slower_than", False, False)):
        condition = conditions.Time(test, 13.99, 8.59)
        assert conditions.holds(condition, {**known, "track": "quarter", "elapsed_time": 13.99})[0] is quarter
        assert conditions.holds(condition, {**known, "track": "eighth", "elapsed_time": 8.59})[0] is eighth


def test_whether_beside_the_driver_is_past_him_is_not_decided_here():
    automatic, clutch = fakes.snapshot(fakes.automatic()), fakes.snapshot(fakes.clutch())
    assert conditions.shaft_passes_driver(filled(automatic.car), automatic.scene) == "beside"
    assert conditions.shaft_passes_driver(filled(clutch.car), clutch.scene) == "true"
    car = fakes.automatic()
    box = replace(car.car.driver_envelope, y_right=0.0)
    over = replace(car, car=replace(car.car, driver_envelope=box))
    assert conditions.shaft_passes_driver(filled(over), automatic.scene) == "true"
    ahead = replace(car, car=replace(car.car, driver_envelope=replace(car.car.driver_envelope, x_rear=2000.0, x_front=3000.0)))
    assert conditions.shaft_passes_driver(filled(ahead), automatic.scene) == "false"
    past, composite = conditions.OneOf("shaft_passes_driver", ("true",)), conditions.OneOf("shaft_material", ("composite",))
    known = conditions.facts(filled(automatic.car), automatic.scene)
    assert conditions.applies(past, known) == (True, conditions.BESIDE_HIM, f"{conditions.BESIDE_HIM}; ask the sanctioning body")
    assert conditions.applies(conditions.Unless(past), known)[0] is None
    for sure in (conditions.AnyOf((past, composite)), conditions.All((composite,))):
        assert conditions.applies(sure, known)[::2] == (True, "")
    assert conditions.applies(conditions.All((past, conditions.Unless(composite))), known)[0] is False
    unsaid = replace(car, car=replace(car.car, driver_envelope=None, driver_position="ahead_of_axle_centre"))
    assert conditions.shaft_passes_driver(filled(unsaid), automatic.scene) is None


KEYS = ("id", "title", "quantity", "comparison", "limit", "when", "severity", "basis", "hint", "waivable", "settings", "binds",
        "alternatives")
ODD = ("", "24", "24 in", "{in: 24 in}", "{mm: 1 mm, in: 1 in}", "[]", "{}", "[a, b]", "nan", "1e999 in", "-0 in", "0x10 in", "true",
       "null", "~",
       "{low: 2 in, high: 1 in}", "{formula: x}",
       "{any: []}", "{unless: {}}", "{elapsed_time: {}}", "'<='", "crank_height", "*x", "!!python/object:os.system",
       "{specification: 1}", "\u00fc", "a: b", "- a", "{<<: 1}", "2026-01-01", "1_000 in", "1,5 in", "{in: [1 in], mm: 1 mm}")


def test_any_odd_value_under_any_key_gets_one_sentence_with_its_line():
    """Every key of a rule with every odd value: read, or refused in one sentence with file and line."""
    head, _rule = GOOD.split("rules:\n")
    base = {"id": "A-1", "title": "t", "quantity": "crank_height", "comparison": '"<="', "limit": "{in: 24 in, mm: 600 mm}",
            "severity": "error",
            "hint": "h"}
    refused = 0
    for key in KEYS:
        for value in ODD:
            lines = "".join(f"    {name}: {text}\n" for name, text in {**base, key: value}.items())
            text = head + "rules:\n  -" + lines[3:]
            try:
                rule_sets.parse(text, "bad.yaml")
            except source.SourceError as error:
                refused += 1
                told = str(error)
                assert error.file == "bad.yaml" and error.line is not None, told
                assert all(line.endswith(".") for line in told.split("\n")), told
    assert refused > 300


def test_no_mutilated_rule_file_gets_anything_but_one_sentence():
    """2,000 files with a line lost, doubled, swapped or a piece exchanged: read, or refused with a position, and nothing else."""
    rng = random.Random(5)
    texts = [open(f"{rule_sets.FOLDER}/{name}.yaml", encoding="utf-8").read() for name in rule_sets.available()]
    pieces = [piece for text in texts for piece in text.replace("\n", " \n ").split(" ") if piece.strip()]
    refused = 0
    for _ in range(2_000):
        lines = rng.choice(texts).splitlines()[:40]
        for _ in range(rng.randint(1, 3)):
            i, j = rng.randrange(len(lines)), rng.randrange(len(lines))
            kind = rng.randrange(4)
            if kind == 0:
                del lines[i]
            elif kind == 1:
                lines.insert(i, lines[j])
            elif kind == 2:
                lines[i], lines[j] = lines[j], lines[i]
            else:
                words = lines[i].split(" ")
                words[rng.randrange(len(words))] = rng.choice(pieces)
                lines[i] = " ".join(words)
        try:
            rule_sets.parse("\n".join(lines), "bad.yaml")
        except source.SourceError as error:
            refused += 1
            assert all(line.startswith("bad.yaml") and line.endswith(".") for line in str(error).split("\n")), str(error)
    assert refused > 1_000
