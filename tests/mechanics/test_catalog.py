"""Catalogue tables against published values, and what a broken table says."""
import math
import os
import pathlib
import re

import pytest

from crankline import carfile, catalog, model, record, source

DEMOS = os.path.join(os.path.dirname(__file__), "..", "..", "demo_assemblies")
KSI = 6.894757293168361
INCH = 25.4
ALL = [(table, name) for table in catalog.TABLES for name in catalog.names(table)]


@pytest.mark.parametrize("table, name", ALL, ids=lambda value: value.replace("/", "_"))
def test_every_row_is_typed_and_says_where_it_comes_from(table, name):
    found = catalog.row(table, name)
    assert isinstance(found, catalog.TABLES[table])
    about = catalog.table(table)[name]
    assert about["source"] and about["basis"] in ("measured", "published", "standard", "closed_form", "memory", "invented")
    if "memory" in about["source"] and ";" not in about["source"]:
        assert about["basis"] == "memory" or table in ("fasteners", "grades", "materials")
    if table in ("engines", "transmissions"):
        assert about["basis"] == "invented" and name.startswith("demo_") and found.use == name
    else:
        assert (found.source, found.basis) == (about["source"], about["basis"])


def test_there_are_three_engines_and_three_transmissions_that_differ():
    engines = [catalog.engine(name) for name in catalog.names("engines")]
    assert {e.material for e in engines} == {"aluminium", "cast_iron"}
    assert len({e.bore_spacing for e in engines}) == 3 and max(e.deck_height for e in engines) > 1.1 * min(e.deck_height for e in engines)
    kinds = [catalog.transmission(name).kind for name in catalog.names("transmissions")]
    assert kinds.count("automatic") == 2 and kinds.count("manual") == 1


@pytest.mark.parametrize("name", catalog.names("engines"))
def test_bell_patterns_are_whole(name):
    engine = catalog.engine(name)
    dowels = [hole for hole in engine.rear_holes if hole[2] == engine.dowel_diameter]
    bolts = [hole for hole in engine.rear_holes if hole[2] != engine.dowel_diameter]
    assert len(dowels) == 2 and 6 <= len(bolts) <= 8
    for holes in (engine.rear_holes, engine.front_holes):
        assert {(-y, z, d) for y, z, d in holes} == set(holes), "the pattern is symmetric"
        assert all(math.dist(a[:2], b[:2]) > INCH for a in holes for b in holes if a != b)
    for y, z, _ in engine.rear_holes:
        assert 6.5 * INCH < math.hypot(y, z) < 7.5 * INCH
    assert min(z for _, z, _ in engine.rear_holes) < 0 < max(z for _, z, _ in engine.rear_holes)
    assert len(engine.front_holes) >= 4 and engine.peak_torque_speed < engine.rpm_limit
    assert engine.foremost_plug.x >= engine.number_one_plug.x


def test_the_patterns_lie_on_the_demo_plates():
    for file in ("full_bodied_automatic.yaml", "open_clutch.yaml"):
        car = carfile.read(os.path.join(DEMOS, file))
        mid = car.plates.mid
        for y, z, diameter in car.engine.rear_holes:
            assert math.hypot(y, z) - diameter / 2 > mid.center_opening / 2 + 5
            assert abs(y) + diameter < mid.half_width and -mid.below_crank + diameter < z < mid.above_crank - diameter


# mechanicalc.com and ecoursesbook.com property tables; lower values where sources differ
@pytest.mark.parametrize("name, density, modulus, yield_ksi, ultimate_ksi", [
    ("4130N", 0.283, 29.0, 60, 90), ("6061-T6", 0.098, 10.0, 37, 42), ("7075-T6", 0.101, 10.4, 70, 80), ("A36", 0.284, 29.0, 36, 58),
    ("Ti-6Al-4V", 0.1597, 16.5, 120, 130)])
def test_materials(name, density, modulus, yield_ksi, ultimate_ksi):
    found = catalog.material(name)
    assert found.density == pytest.approx(density * 0.45359237 / INCH ** 3, rel=0.005)
    assert found.modulus == pytest.approx(modulus * 1000 * KSI, rel=0.01)
    assert found.yield_strength == pytest.approx(yield_ksi * KSI) and found.ultimate_strength == pytest.approx(ultimate_ksi * KSI)


def test_materials_are_consistent():
    for name in catalog.names("materials"):
        found = catalog.material(name)
        if found.yield_strength is not None:
            assert found.yield_strength < found.ultimate_strength
        if name != "carbon":
            # Isotropic metal: E = 2 G (1 + v) with Poisson's ratio of 0.25 to 0.36.
            assert 0.25 < found.modulus / (2 * found.shear_modulus) - 1 < 0.36, name
    assert catalog.material("carbon").yield_strength is None


@pytest.mark.parametrize("file", ["full_bodied_automatic.yaml", "open_clutch.yaml"])
def test_every_material_of_the_demos_is_there(file):
    car, names = carfile.read(os.path.join(DEMOS, file)), catalog.names("materials")
    used = {record.look(record.filled(car), path) for path, entry, _ in record.leaves(model.Car) if entry.table == "materials"}
    assert used - {None} <= set(names) and len(used - {None}) >= 2


# Tube properties in inches: area, second moment, pounds a foot at 0.2836 lb/in3 (textbook closed form, computed apart)
@pytest.mark.parametrize("name, area, second, weight", [
    ("0.875x0.065", .1654, .01365, .563), ("1x0.058", .1716, .01911, .584), ("1.25x0.065", .2420, .04260, .824),
    ("1.5x0.065", .2930, .07558, .997),
    ("1.625x0.083", .4021, .11985, 1.368), ("1.625x0.134", .6277, .17583, 2.136), ("1.75x0.134", .6803, .22360, 2.315),
    ("2x0.12", .7087, .31440, 2.412),
    ("3x0.083", .7606, .80965, 2.589), ("3.5x0.083", .8910, 1.30116, 3.032)])
def test_tube_sections(name, area, second, weight):
    name = next(n for n in catalog.names("sections") if [float(x) for x in n.split("x")] == [float(x) for x in name.split("x")])
    tube = catalog.section(name)
    assert tube.area / INCH ** 2 == pytest.approx(area, abs=6e-5)
    assert tube.second_moment / INCH ** 4 == pytest.approx(second, abs=6e-5)
    assert tube.area / INCH ** 2 * 12 * 0.2836 == pytest.approx(weight, abs=6e-4)


def test_sections_and_sheet_are_named_for_what_they_are():
    for name in catalog.names("sections"):
        tube = catalog.section(name)
        assert [float(x) for x in name.split("x")] == pytest.approx([tube.outer_diameter / INCH, tube.wall / INCH])
        assert tube.inner_diameter > 0
    for name in catalog.names("sheet"):
        sheet = catalog.sheet(name)
        assert name == f"{sheet.material} {name.split()[-1]}" and float(name.split()[-1]) == pytest.approx(sheet.thickness / INCH)


# ISO 898-1: nominal stress areas, mm2
@pytest.mark.parametrize("name, area", [("M6", 20.1), ("M8", 36.6), ("M10", 58.0), ("M12", 84.3), ("M14", 115), ("M16", 157), ("M20", 245)])
def test_metric_stress_areas(name, area):
    assert catalog.fastener(name).stress_area == pytest.approx(area, rel=0.005)


# A = 0.7854 (d - 0.9743/n)^2, square inches (ASME B1.1)
@pytest.mark.parametrize("name, area", [("1/4-20", .03182), ("5/16-18", .05243), ("3/8-16", .07749), ("7/16-14", .10631),
                                        ("1/2-13", .14190),
                                        ("5/8-11", .22600), ("3/4-10", .33446)])
def test_inch_stress_areas(name, area):
    assert catalog.fastener(name).stress_area / INCH ** 2 == pytest.approx(area, abs=2e-5)


# ISO 273 fine H12, medium H13, coarse H14, mm
@pytest.mark.parametrize("name, holes", [("M5", (5.3, 5.5, 5.8)), ("M6", (6.4, 6.6, 7.0)), ("M8", (8.4, 9.0, 10.0)),
                                         ("M10", (10.5, 11.0, 12.0)),
                                         ("M12", (13.0, 13.5, 14.5)), ("M14", (15.0, 15.5, 16.5)), ("M16", (17.0, 17.5, 18.5))])
def test_metric_clearance_holes(name, holes):
    found = catalog.fastener(name)
    assert (found.hole_close, found.hole_normal, found.hole_loose) == pytest.approx(holes)


def test_clearance_holes_widen():
    for name in catalog.names("fasteners"):
        found = catalog.fastener(name)
        assert found.diameter < found.hole_close < found.hole_normal < found.hole_loose < 1.35 * found.diameter
    assert catalog.fastener("3/8-16").basis == "memory"
    assert catalog.bolt_for(0.375 * INCH) is catalog.fastener("3/8-16")
    with pytest.raises(ValueError, match="M10"):
        catalog.bolt_for(9.0)


# ISO 898-1 proof and ultimate loads, N
@pytest.mark.parametrize("grade, thread, proof, ultimate", [
    ("ISO 8.8", "M10", 33_700, 46_400), ("ISO 10.9", "M10", 48_100, 60_300), ("ISO 12.9", "M10", 56_300, 70_800),
    ("ISO 8.8", "M12", 48_900, 67_400), ("ISO 10.9", "M12", 70_000, 87_700), ("ISO 12.9", "M12", 81_800, 103_000)])
def test_iso_grades(grade, thread, proof, ultimate):
    area, found = catalog.fastener(thread).stress_area, catalog.grade(grade)
    assert found.proof * area == pytest.approx(proof, rel=0.005) and found.ultimate_strength * area == pytest.approx(ultimate, rel=0.005)


# SAE J429 in MPa: proof, yield, ultimate
@pytest.mark.parametrize("grade, values", [("SAE 2", (379, 393, 510)), ("SAE 5", (586, 634, 827)), ("SAE 8", (827, 896, 1034))])
def test_sae_grades(grade, values):
    found = catalog.grade(grade)
    assert (found.proof, found.yield_strength, found.ultimate_strength) == pytest.approx(values, abs=0.6)


def test_a_published_clamp_load():
    """Grade 2, three quarters of proof: 3/8-16 3197 lbf, 1/2-13 5853 lbf (a fastener maker's torque table)."""
    for thread, load in (("3/8-16", 3197), ("1/2-13", 5853)):
        assert 0.75 * catalog.grade("SAE 2").proof * catalog.fastener(thread).stress_area / 4.4482216 == pytest.approx(load, abs=1.0)


def test_unknown_names_are_told_with_the_names_there_are():
    with pytest.raises(ValueError, match="did you mean 6061-T6"):
        catalog.material("6061T6")
    with pytest.raises(ValueError, match="demo_deep_skirt_iron"):
        catalog.engine("x")
    with pytest.raises(ValueError, match="engines"):
        catalog.names("wheels")


def test_a_digest_follows_values_and_not_spelling(tmp_path, monkeypatch):
    expected = catalog.row_digest("engines", "demo_short_deck_iron")
    assert re.fullmatch("[0-9a-f]{32}", expected) and expected == catalog.engine("demo_short_deck_iron").row_digest
    with open(os.path.join(catalog.FOLDER, "engines.yaml"), encoding="utf-8") as stream:
        text = stream.read()
    monkeypatch.setattr(catalog, "FOLDER", str(tmp_path))
    for old, new, same in (("block_length: 19.40 in", "block_length: 492.76 mm", True),
                           ("block_length: 19.40 in", "block_length: 19.41 in", False),
                           ("note: short-deck", "note: reworded short-deck", True),
                           ("{y: 2.60 in, z: 6.40 in, d", "{y: 2.65 in, z: 6.40 in, d", False)):
        assert text.count(old) == 1
        (tmp_path / "engines.yaml").write_text(text.replace(old, new))
        clear()
        assert (catalog.row_digest("engines", "demo_short_deck_iron") == expected) is same
    monkeypatch.undo()
    clear()


def test_a_digest_leaves_out_what_a_row_says_about_itself(tmp_path, monkeypatch):
    row = "catalogue: 1\nrows:\n  x: {source: %s, basis: memory, thickness: 1 mm, material: A36}\n"
    monkeypatch.setattr(catalog, "FOLDER", str(tmp_path))
    monkeypatch.setattr(catalog, "names", lambda table: ("A36", "x"))
    digests = set()
    for text in ("here", "there"):
        (tmp_path / "sheet.yaml").write_text(row % text)
        clear()
        digests.add(catalog.row_digest("sheet", "x"))
    monkeypatch.undo()
    clear()
    assert len(digests) == 1


def clear():
    for cached in (catalog._rows, catalog.row, catalog.row_digest, catalog.engine, catalog.transmission):
        cached.cache_clear()


@pytest.mark.parametrize("old, new, words", [
    ("density: 7833 kg/m3", "density: 7833", ["materials.yaml:8", "rows.4130N.density", "no unit"]),
    ("yield: 60 ksi", "yeild: 60 ksi", ["rows.4130N.yeild", "did you mean yield?"]),
    ("basis: published", "basis: guess", ["rows.4130N.basis", "invented"]),
    ("    basis: published\n", "", ["rows.4130N.basis", "missing"]),
    ("catalogue: 1", "catalogue: 2", ["materials.yaml:1", "catalog: 1"]),
    ("rows:", "row:", ["rows"]),
    ("  4130N:\n", "  4130N: &x\n", ["alias"])])
def test_a_broken_table_says_where(old, new, words, tmp_path, monkeypatch):
    text = ("catalogue: 1\nrows:\n  4130N:\n    source: here\n    basis: published\n    family: titanium\n    modulus: 200 GPa\n    "
            "density: 7833 kg/m3\n    yield: 60 ksi\n")
    assert text.count(old) == 1
    (tmp_path / "materials.yaml").write_text(text.replace(old, new))
    monkeypatch.setattr(catalog, "FOLDER", str(tmp_path))
    clear()
    try:
        with pytest.raises(source.SourceError) as caught:
            catalog.material("4130N")
        for word in words:
            assert word in str(caught.value)
        assert str(caught.value).startswith(str(tmp_path)) and "\n" not in str(caught.value)
    finally:
        monkeypatch.undo()
        clear()


BROKEN = re.compile(r"\w- \w*|\s-\w*[a-z]{2}|  |\s[,;.:](?=\s|$)|\n|\t|[a-z]-$")
"""A word that was broken at the end of a line, a sign that lost its word, a gap."""


def _texts(node):
    if node.kind == "mapping":
        for child in node.mapping.values():
            yield from _texts(child)
    elif node.kind == "list":
        for child in node.items:
            yield from _texts(child)
    else:
        yield node


@pytest.mark.parametrize("path", sorted(pathlib.Path(catalog.FOLDER).rglob("*.yaml")), ids=lambda path: path.stem)
def test_texts_of_data_files_are_whole(path):
    for node in _texts(source.read(path)):
        assert not BROKEN.search(node.text), f"{path.name}:{node.line}: {node.text}"


def test_broken_texts_are_found():
    for text in ("the trans- mission", "bolts , nuts", "two  gaps", "broken at the end-", "lost -ing"):
        assert BROKEN.search(text), text
    for text in ("slide-back", "X = -3 in", "3 1/8 in", "fore-aft, and up", "table 3.4: bearing"):
        assert not BROKEN.search(text), text
