"""What is pointed out in a collection of records, and what comes in as comma-separated text."""
from __future__ import annotations

from dataclasses import replace

import invented_records
import pytest
from test_placement_records import DEMO_RECORDS

from crankline import record, records, units
from crankline.records import csv_rows, screening, wording
from crankline.reports import csv_table
from crankline.source import SourceError

INCH = 25.4
DRAWN = invented_records.records()
OTHER = replace(DRAWN["invented_002"], car="Invented other car", date=None)


def screened(**changed):
    """Remarks of the demo records with some others beside them."""
    collection = records.Collection(tuple(records.Entry(name, one, "shop.yaml", 7) for name, one in {**DRAWN, **changed}.items()))
    return [remark for remark in screening.screen(collection).remarks if remark.entry.name in changed], collection


def test_nothing_is_said_of_the_demo_records():
    found = screening.screen(records.load([DEMO_RECORDS]))
    assert found.remarks == () and not any("axle-to-block" in clause for clause in found.not_looked_at)


@pytest.mark.parametrize("field, value, words", [
    ("axle_to_block", 83.5, "axle-to-block is 83.5 mm; 83.5 in fits the records (83.500 in, middle "),
    ("axle_to_block", 2120.9 * INCH, "axle-to-block is 2120.9 in; 2120.9 mm fits the records (83.500 in, middle "),
    ("crank_height", 10.125, "crank height is 10.125 mm; 10.125 in fits"),
    ("wheelbase", 2844.8 * INCH, "wheelbase is 2844.8 in; 2844.8 mm fits"),
    ("tire_radius", 15.9, "tire radius is 15.9 mm; 15.9 in fits"),
    ("engine_mass", 640.0, "engine mass is 640 kg; 640 lb fits")])
def test_a_slip_of_units_is_told_with_what_fits(field, value, words):
    one = replace(OTHER, **{field: value})
    found, _collection = screened(slipped=one)
    assert [(remark.kind, remark.field) for remark in found] == [("slip", field)] and words in found[0].text(), found


@pytest.mark.parametrize("field, value, words", [
    ("axle_to_block", 70.0 * INCH, "spreads from what the other records let expect of such a car, "),
    ("sixty_foot", 3.9, "60 ft 3.900 s is "), ("power", 1e10, "spreads over the middle of the records"),
    ("crank_height", 14.0 * INCH, "crank height 355.6 mm is ")])
def test_what_is_far_is_pointed_out_in_the_units_that_are_read(field, value, words):
    found, collection = screened(far=replace(OTHER, **{field: value}))
    assert [(remark.kind, remark.field) for remark in found] == [("outlier", field)]
    assert words in found[0].text("mm") and "INVENTED" in wording.screening(screening.screen(collection), collection)[0]


def test_duplicates_are_told_where_they_are():
    one = DRAWN["invented_002"]
    again = replace(one, car="another name", note="typed again", wheelbase=one.wheelbase * (1 + 1e-6), pitch=None)
    other_day = replace(one, sixty_foot=one.sixty_foot + 0.1, date="2026-01-01")
    same_day = replace(one, sixty_foot=one.sixty_foot + 0.1, car=one.car.upper())
    found, _collection = screened(again=again, other_day=other_day, same_day=same_day)
    assert [(remark.entry.name, remark.kind, remark.text()) for remark in found] == [
        ("again", "duplicate", "the same in every figure that both have as invented_002 (shop.yaml:7)"),
        ("same_day", "duplicate", "the same car, placement and day as invented_002 (shop.yaml:7)")]


def test_what_few_records_cannot_say_is_told():
    few = records.Collection(tuple(records.Entry(name, one) for name, one in list(DRAWN.items())[:9]))
    found = screening.screen(few)
    assert found.remarks == () and "wheelbase: 9 of the records have it, 12 are needed" in found.not_looked_at
    assert any("9 of the records are left" in clause for clause in found.not_looked_at)
    assert wording.screening(found, few)[-1] == "9 records, 9 of them INVENTED: nothing looks wrong"


# --- comma-separated text ----------------------------------------------------------------------------------------------

HEAD = "name,car,body,Wheelbase [in],axle-to-block (in),crank height,front share [%],60 ft,#cell\n".replace("60 ft", "sixty foot [s]")


def rows(tmp_path, text, basis="told"):
    path = tmp_path / "old.csv"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return list(csv_rows.read(path, basis))


def test_what_is_listed_reads_back(tmp_path):
    listed = [records.Entry(name, one) for name, one in DRAWN.items()]
    for system in ("in", "mm"):
        text = csv_table.lines(csv_rows.table(listed, system))
        assert ("axle_to_block [mm]" if system == "mm" else "axle_to_block [in]") in text
        found = rows(tmp_path, text)
        assert [row.name for row in found] == list(DRAWN)
        assert all(record.equal(row.record, DRAWN[row.name], 8) for row in found)


@pytest.mark.parametrize("comma", [",", ";", "\t"])
def test_columns_are_fields_with_units(tmp_path, comma):
    text = (HEAD + "red,Red car,full,108,82 1/2,10.125 in,52.5,1.32,x\n\n,Blue,open,107,2044.7 mm,10 in,,,\n").replace(",", comma)
    red, blue = rows(tmp_path, b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert (red.name, red.line, blue.name, blue.line) == ("red", 2, "", 4)
    assert red.record.axle_to_block == pytest.approx(82.5 * INCH) and blue.record.axle_to_block == pytest.approx(80.5 * INCH)
    assert red.record.crank_height == pytest.approx(257.175) and red.record.front_share == 0.525 and blue.record.front_share is None
    assert red.record.basis == "told" and red.record.sixty_foot == 1.32


@pytest.mark.parametrize("line, words", [
    ("x,Red,full,108,eighty,10 in,,,", "old.csv:2: axle_to_block: 'eighty' is not a length"),
    ("x,Red,full,108,82.5,10,,,", "old.csv:2: crank_height: '10' has no unit"),
    ("x,Red,half,108,82.5,10 in,,,", "old.csv:2: body: 'half' was found; one of full, open is allowed"),
    ("x,Red,full,108,,10 in,,,", "old.csv:2: axle_to_block: the key is missing"),
    ("x,Red,full,108,82.5,10 in,152,,", "old.csv:2: front_share: '1.52' is out of range"),
    ("x,Red,full,108,\"82,5\",10 in,,,", "old.csv:2: axle_to_block: '82,5' has a comma"),
    ("x,Red,full,108,82.5,10 in,,,,,", "old.csv:2: the line has 11 cells, where there are 9 columns")])
def test_a_wrong_row_is_told_and_costs_only_itself(tmp_path, line, words):
    wrong, right = rows(tmp_path, HEAD + line + "\ny,Blue,open,107,80.5,10 in,,,\n")
    assert isinstance(wrong, SourceError) and words in str(wrong), wrong
    assert right.name == "y"


@pytest.mark.parametrize("text, words", [
    ("car,body,axle\n", "old.csv:1: axle: there is no such field"), ("car,body [in]\n", "the unit 'in' was found; none is allowed"),
    ("car,wheelbase [lb]\n", "the unit 'lb' was found; one of mm, cm, m, in, ft is allowed"), ("", "the column is missing"),
    ("car,Car\n", "two columns of this field"), (b"car\xff\n", "not UTF-8 text"), ("x" * 1_000_001, "import it in parts")])
def test_a_file_whose_columns_are_wrong_is_refused_whole(tmp_path, text, words):
    with pytest.raises(SourceError) as caught:
        rows(tmp_path, text)
    assert words in str(caught.value)


def test_percent_and_apostrophes_are_taken_off(tmp_path):
    (found,) = rows(tmp_path, "car,note,body,wheelbase,axle_to_block,crank_height,front_share [%],mass [lb]\n"
                              "Red,'=1+1,full,108 in,82 in,10 in,51 %,2500\n", "measured")
    assert (found.record.note, found.record.front_share, found.record.basis) == ("=1+1", 0.51, "measured")
    assert units.to(found.record.mass, "mass", "lb") == pytest.approx(2500.0)
