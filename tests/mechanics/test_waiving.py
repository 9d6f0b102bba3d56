"""Giving, renewing and taking back waivers as the window does it, and how findings and waivers read."""
from __future__ import annotations

import datetime
from dataclasses import replace

import pytest

from crankline import model
from crankline.checks import waivers
from crankline.checks.finding import Finding, State
from crankline.gui import finding_words as words
from crankline.reports import console, html, junit, wording
from crankline.rules.rule import Severity

DAY = datetime.date(2026, 5, 1)
BASIS = {"document": "shop practice", "source": "common practice"}


def finding(**changes):
    given = dict(id="1", rule="PRA-PITCH", rule_set="practice", title="Crank pitch", severity=Severity.ADVICE, state=State.OPEN,
                 basis=BASIS,
                 subjects=("engine",), measured=3.0, comparison="within", limit=(1.9, 2.2), unit="deg", margin=-0.8, edition="1",
                 hint="set the pitch")
    return Finding(**{**given, **changes})


def given(about, **changes):
    asked = dict(reason="agreed with the builder", author="C. Maker", date=DAY, expires="", event_date=DAY)
    return waivers.new_waiver(about, **{**asked, **changes})


def test_a_waiver_that_was_given_waives_its_finding_and_no_worse_one():
    held = (given(finding()),)
    (waived,), unused = waivers.apply([finding()], held, DAY)
    assert waived.state == State.WAIVED and not unused
    assert (held[0].measured, held[0].edition, held[0].subjects, held[0].date) == (3.0, "1", ("engine",), "2026-05-01")
    assert held[0].compared == "(deg)" and given(finding(component="outer_diameter", unit="in")).compared == "outer diameter (in)"
    assert given(finding(measured=None, margin=None)).compared is None
    for other, why in ((finding(measured=3.5, margin=-1.3), "worse"), (finding(edition="2"), "edition 1")):
        (void,), _unused = waivers.apply([other], held, DAY)
        assert void.state == State.WAIVER_VOID and why in void.reason
    (void,), _unused = waivers.apply([finding()], (given(finding(), expires="2026-05-02"),), DAY + datetime.timedelta(days=2))
    assert void.state == State.WAIVER_VOID and "expired on 2026-05-02" in void.reason


@pytest.mark.parametrize("changes, beginning", [
    ({"reason": " so \n what "}, "Reason: 7 characters"), ({"author": "  "}, "Approved by: it is empty"),
    ({"expires": "1 May"}, "Expires: '1 May' is not a date"), ({"expires": "2026-04-30"}, "Expires: 2026-04-30 lies before 2026-05-01")])
def test_what_is_wrong_is_one_sentence(changes, beginning):
    with pytest.raises(waivers.WaiverError) as error:
        given(finding(), **changes)
    assert str(error.value).startswith(beginning) and str(error.value).endswith(".") and "\n" not in str(error.value)


def test_protective_parts_and_what_does_not_stand_cannot_be_waived():
    for about, word in ((finding(waivable=False), "protective part"), (finding(state=State.PASSED), "passed"),
                        (finding(state=State.NOT_EVALUATED), "not evaluated")):
        assert word in waivers.refusal(about)
        with pytest.raises(waivers.WaiverError):
            given(about)
    assert waivers.refusal(finding()) == "" and waivers.refusal(finding(state=State.WAIVER_VOID)) == ""


def test_renewing_takes_the_place_of_the_old_one_and_leaves_others():
    first = given(finding())
    other = model.Waiver(rule="PRA-AXLE", subjects=("engine",), reason="a long wheelbase car", author="C. Maker", date="2026-01-01",
                         measured=90.0)
    worse = finding(measured=3.5, margin=-1.3)
    renewed = given(worse)
    held = waivers.with_waiver((first, other), worse, renewed)
    assert held == (renewed, other)
    assert waivers.without(held, waivers.speaking(worse, held)) == (other,)
    # One that spoke of every subject of the rule stays: it speaks of others too.
    broad = replace(first, subjects=None)
    held = waivers.with_waiver((broad,), worse, renewed)
    assert held == (broad, renewed)
    (waived,), unused = waivers.apply([worse], held, DAY)
    assert waived.state == State.WAIVED and [item.waiver for item in unused] == [broad]


def test_a_waiver_tells_what_was_compared():
    told = words.waiver(waivers.as_json(given(finding(component="wall", unit="in", measured=0.083))))
    assert "(measured then 0.083, of wall (in), edition 1)" in told


# ------------------------------------------------------------------------------------------------------------- words


@pytest.mark.parametrize("value, unit, sign, told", [
    (0.0780351, "deg", False, "0.08 deg"), (-0.42196, "deg", True, "-0.42 deg"), (0.00895, "in", False, "0.009 in"),
    (1e-5, "in", False, "1e-05 in"),
    (21680.4, "rpm", False, "21680 rpm"), (-0.890327, "", False, "-0.89"), (0.66012, "", True, "+0.66"), (2.0, "", False, "2"),
    (0.0, "in", False, "0.000 in"), (-0.0, "deg", False, "0.00 deg"), (None, "in", False, ""), (1234.5678, "mm", False, "1234.57 mm"),
    (0.07803, "ratio", False, "0.078 ratio"), (100.0, "", False, "100")])
def test_numbers_are_whole_and_short(value, unit, sign, told):
    assert wording.number(value, unit, "mm" if unit == "mm" else "in", sign) == told


def test_limits_and_sentences():
    assert wording.limit("<=", 10.0, "in", "in") == "<= 10.000 in"
    assert wording.limit("within", (1.9, 2.2), "deg", "in") == "1.90 to 2.20 deg"
    assert wording.limit(">=", None, "in", "in") == "" and wording.sentence("in the pose launch") == "In the pose launch."


@pytest.mark.parametrize("value, unit, system, told", [
    (50.0, "mm", "in", ">= 1.969 in (rule: 50 mm)"), (2.0, "in", "mm", ">= 50.80 mm (rule: 2 in)"),
    (0.035, "in", "mm", ">= 0.89 mm (rule: 0.035 in)"), ((40.0, 60.0), "mm", "in", "1.575 to 2.362 in (rule: 40 to 60 mm)"),
    (12.3456789, "mm", "in", ">= 0.486 in"), (2.0, "in", "in", ">= 2.000 in"),
    (100.0, "N", "in", ">= 22 lbf (rule: 100 N)"), (250.0, "MPa", "in", ">= 36.26 ksi (rule: 250 MPa)"),
    (100.0, "lbf.ft", "mm", ">= 136 N.m (rule: 100 lbf.ft)"), (36.0, "ksi", "mm", ">= 248 MPa (rule: 36 ksi)"),
    (3000.0, "rpm", "in", ">= 3000 rpm"), (2.0, "g", "in", ">= 2 g"), (1.5, "", "in", ">= 1.5")])
def test_numbers_are_told_in_the_units_of_the_car(value, unit, system, told):
    # N to lbf, MPa to ksi and lbf.ft to N.m by NIST Special Publication 811, appendix B.8: 4.448222, 6.894757 and 1.355818.
    assert wording.limit("within" if isinstance(value, tuple) else ">=", value, unit, system) == told


def test_a_finding_is_told_in_the_units_of_its_car():
    about = finding(measured=48.0, limit=50.0, comparison=">=", unit="mm", margin=-2.0)
    for told in (words.measured(about, "in"), words.details(about, ["Engine"], "in").lower(),
                 words.waiver_scope(about, ["Engine"], (about,), "in"), junit.sentence(about, "in"), console.lines([about], "in")[0]):
        assert "measured 1.890 in, required >= 1.969 in (rule: 50 mm)" in told
    assert "margin -0.079 in" in words.measured(about, "in") and words.cells(about, ["Engine"], "in")[4:7] == (
        "1.890 in", ">= 1.969 in (rule: 50 mm)", "-0.079 in")
    assert words.measured(about, "mm") == "measured 48.00 mm, required >= 50.00 mm, margin -2.00 mm"


def test_details_say_what_a_practitioner_asks():
    told = words.details(finding(), ["Engine"], "in")
    for part in ("Open, advice.", "Rule PRA-PITCH of practice. Basis: shop practice (common practice).", "Parts: Engine.",
                 "Measured 3.00 deg, required 1.90 to 2.20 deg, margin -0.80 deg."):
        assert part in told.split("\n\n"), told
    assert told.split("\n\n")[1] == "What to do: set the pitch."   # first of all
    about = finding(how="rail_tab/left_front to loop/front, engine at rail_tabs", hint="set placement.crank_height")
    named = words.details(about, ["Engine"], "in", None, {"rail_tab/left_front": "Tab 1", "loop/front": "Loop, front", "engine": "Engine"})
    assert "Tab 1 to Loop, front, engine at rail_tabs." in named and "crank height of placement" in named
    stale = words.details(finding(), ["Engine"], "in", ["Engine", "Mid plate"])
    assert "Stale" in stale and "Engine; Mid plate have changed" in stale
    assert "cannot be waived" in words.details(finding(waivable=False), ["Engine"], "in")
    assert words.state(finding(state=State.WAIVER_VOID), stale=True) == "waiver void, stale"


def test_a_waiver_speaks_of_every_pose_and_says_so():
    about, other = finding(discriminator="launch"), finding(id="2", discriminator="static")
    told = words.waiver_scope(about, ["Engine"], (about, other, finding(id="3", subjects=("mid_plate",), discriminator="bump")), "in")
    assert "static" in told and "bump" not in told


# ----------------------------------------------------------------------------------------------------- small pictures

REPORT = {"car": {"units": "in"}, "points": {"front_joint": [1400, 0, 300], "rear_joint": [280, 0, 330], "crank_front": [2700, 0, 260]},
          "parts": [{"key": "engine", "bbox_mm": [2100, -300, 80, 2700, 300, 500]},
                    {"key": "driveshaft", "bbox_mm": [270, -50, 250, 1410, 50, 390]}]}


def picture(*points):
    item = finding(subjects=("engine",)).to_json() | {"points": [list(point) for point in points]}
    return html.side_view(REPORT, item)


def test_points_that_lie_close_get_a_detail_in_which_nothing_leaves_its_frame():
    near, far = picture((2200, 0, 200), (2205, 0, 190)), picture((300, 0, 300), (2600, 0, 300))
    assert "width=\"710\"" in near and "width=\"520\"" in far
    import re
    frame = near[near.index("<rect"):]
    for shape in re.findall(r'points="([^"]*)"', frame):
        for corner in shape.split():
            x, y = map(float, corner.split(","))
            assert 529.9 <= x <= 710.1 and -0.1 <= y <= 180.1 + 200.0


def test_a_line_is_cut_where_it_leaves_the_frame():
    cut = html._drawn("polyline", [(-10.0, 5.0), (10.0, 5.0)], "", (0.0, 0.0, 8.0, 8.0))
    xs = {float(corner.split(",")[0]) for corner in cut.split('"')[1].split()}
    assert xs == {0.0, 8.0}
    assert html._drawn("polyline", [(-10.0, 5.0), (-2.0, 5.0)], "", (0.0, 0.0, 8.0, 8.0)) == ""


def test_a_place_is_drawn_as_lying_along_the_shaft():
    corners = html._outline("driveshaft", REPORT["parts"][1]["bbox_mm"], REPORT["points"])
    # The box is 140 high and leans 30 in 1120 over 1140: what is left is the shaft.
    assert corners[3][2] - corners[0][2] == pytest.approx(140.0 - 30.0 / 1120.0 * 1140.0)
    assert corners[0][2] > corners[1][2]
