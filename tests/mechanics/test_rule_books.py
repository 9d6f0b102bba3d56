"""What was switched off, left out or dated wrongly is told: rule books, disabled rules, limits without an end, waivers, events."""
from __future__ import annotations

import datetime
from dataclasses import replace
from html import escape

import pytest
import snapshot_fakes as fakes
from oracles import fits_schema

from crankline import checks, model, source
from crankline.checks.finding import State
from crankline.reports import console, html, json_report
from crankline.rules import rule_sets

EVENT = datetime.date(2026, 5, 1)
DAY = datetime.timedelta(days=1)


def run(car, files=(), event=EVENT, today=EVENT):
    return checks.run(fakes.snapshot(car), event_date=event, rule_files=files, measurer=fakes.FakeMeasurer(), today=today)


def told(outcome, rule):
    return [item for item in outcome.findings if item.rule == rule]


@pytest.mark.parametrize("sets", [(), ("practice",), ("practice", "containment", "strength")])
def test_a_car_without_a_rule_book_and_without_a_loop_is_not_clean(sets):
    """Exit 0 and a note was all that it got."""
    car = fakes.with_rules(fakes.automatic(), sets=sets)
    car = replace(car, containment=model.Containment())
    outcome = run(car)
    found, = told(outcome, "PRO-RULE-BOOK")
    assert (found.state, found.severity, found.measured) == (State.OPEN, "warning", 0.0) and found.counts("warning")
    waived = replace(car, rules=replace(car.rules, waivers=(model.Waiver(rule="PRO-RULE-BOOK", reason="a friend looked at it", author="A",
                                                                         date="2026-01-01", edition=found.edition, measured=0.0),)))
    assert told(run(waived), "PRO-RULE-BOOK")[0].state == State.WAIVER_VOID
    assert any("no sanctioning body's rule book checked" in line for line in console.lines(outcome.findings, "in"))


def test_a_set_that_switches_protective_rules_off_is_told_with_file_and_line(tmp_path):
    """The containment rules disabled by a custom set gave exit 0."""
    own = tmp_path / "own.yaml"
    own.write_text('rule_set: 1\ntitle: Own\nedition: "1"\ninclude: [invented_demo]\ndisable:\n'
                   "  - {rule: NHRA-LOOP-CLOSED, reason: my class runs open loops}\n"
                   "  - {rule: PRA-PITCH, reason: my class runs level engines}\n"
                   "  - {rule: CON-LOOP-COUNT, reason: my class runs one loop}\nrules: []\n")
    car = fakes.automatic()
    outcome = run(car, files=[str(own)])
    error, = told(outcome, "PRO-DISABLED-ERROR")
    assert error.state == State.OPEN and not error.waivable and error.counts("error") and outcome.exit_code == 1
    assert f"NHRA-LOOP-CLOSED (Retainer loop closed all around) is disabled by {own}, line 6" in error.how
    advice, = told(outcome, "PRO-DISABLED-ADVICE")
    assert "CON-LOOP-COUNT" in advice.how and advice.severity == "advice"
    assert not any("PRA-PITCH" in item.how for item in outcome.findings if item.rule.startswith("PRO-"))
    assert any(str(own) in line for line in console.lines(outcome.findings, "in"))


OWN = ('rule_set: 1\ntitle: Own\nedition: "1"\nsanctioning_body: NHRA\nbasis: {document: own book, source: seen}\nrules:\n  - id: IDENT\n'
       "    title: Loop near the front joint\n    quantity: loop_behind_front_joint\n    comparison: '<='\n    "
       "limit: {in: 6 in, mm: 152 mm}\n"
       "    settings: {measured_to: center, side: either}\n    severity: error\n    waivable: false\n    hint: h\n")


@pytest.mark.parametrize("change, ident, rule, words", [
    ((), "NHRA-LOOP-PLACE", None, ""),
    (("{in: 6 in, mm: 152 mm}", "{in: 36 in, mm: 914 mm}"), "NHRA-LOOP-PLACE", "PRO-WIDENED-ERROR", "its limit is weaker"),
    (("{in: 6 in, mm: 152 mm}", "60 mm"), "NHRA-LOOP-PLACE", None, ""),
    (("severity: error", "severity: advice"), "NHRA-LOOP-PLACE", "PRO-WIDENED-ERROR", "its severity is advice instead of error"),
    (("waivable: false", "waivable: true"), "NHRA-LOOP-PLACE", "PRO-WIDENED-ERROR", "it may be waived"),
    (("waivable: false", "waivable: false\n    when: {body: open}"), "NHRA-LOOP-PLACE", "PRO-WIDENED-ERROR", "it applies to other cars"),
    (("side: either", "side: behind"), "NHRA-LOOP-PLACE", "PRO-WIDENED-ERROR", "it measures with other settings"),
    (("'<='", "'>='"), "NHRA-LOOP-PLACE", "PRO-WIDENED-ERROR", "by >= instead of"),
    ((), "MY-LOOP-PLACE", None, ""),
    (("{in: 6 in, mm: 152 mm}", "{in: 36 in, mm: 914 mm}"), "MY-LOOP-PLACE", "PRO-WIDENED-WARNING", "its limit is weaker"),
])
def test_a_rule_that_asks_for_less_than_the_one_that_comes_with_it_is_told(tmp_path, change, ident, rule, words):
    """An edited copy of a book passes for that book: what it asks less of a protective part is told, with file and line."""
    own = tmp_path / "own.yaml"
    own.write_text((OWN.replace(*change) if change else OWN).replace("IDENT", ident))
    outcome = run(fakes.with_rules(fakes.automatic(), sets=("practice", "strength")), files=[str(own)])
    found = [item for item in outcome.findings if item.rule.startswith("PRO-WIDENED") and item.state == State.OPEN]
    assert [item.rule for item in found] == ([rule] if rule else [])
    for item in found:
        assert f"{own}, line 7" in item.how and words in item.how and not item.waivable


@pytest.mark.parametrize("edition, ident, body, more, rule", [
    ("2024", "MY-LOOP-PLACE", "NHRA", "", None), ("2024", "NHRA-LOOP-PLACE", "NHRA", "", None),
    ("2024", "NHRA-LOOP-PLACE", "NHRA", "may be waived", "PRO-WIDENED-ERROR"), ("2024", "MY-LOOP-PLACE", "IHRA", "", "PRO-WIDENED-WARNING"),
    ("2008", "MY-LOOP-PLACE", "NHRA", "", "PRO-WIDENED-WARNING"), ("1999", "NHRA-LOOP-PLACE", "NHRA", "", "PRO-WIDENED-ERROR"),
    ("2099", "NHRA-LOOP-PLACE", "NHRA", "", "PRO-WIDENED-ERROR"), ("first", "MY-LOOP-PLACE", "NHRA", "", "PRO-WIDENED-WARNING")])
def test_a_newer_edition_of_the_same_body_may_ask_for_less(tmp_path, edition, ident, body, more, rule):
    """It is noted with file and line; another body's, an older one, one of the future or one without a year is told as before."""
    own = tmp_path / "own.yaml"
    text = OWN.replace("IDENT", ident).replace("{in: 6 in, mm: 152 mm}", "{in: 9 in, mm: 229 mm}").replace('"1"', f'"{edition}"')
    own.write_text(text.replace("body: NHRA", f"body: {body}").replace("waivable: false", "waivable: true" if more else "waivable: false"))
    outcome = run(fakes.with_rules(fakes.automatic(), sets=("practice", "strength")), files=[str(own)])
    found = [item.rule for item in outcome.findings if item.rule.startswith("PRO-WIDENED") and item.state == State.OPEN]
    assert found == [rule] * bool(rule)
    noted = [note for note in outcome.notes if f"{own}, line 7" in note and f"of the {edition} edition" in note]
    assert len(noted) == (rule is None)


def test_a_book_that_was_asked_about_papers_only_has_judged_no_loop():
    """Shield and plate were checked, and the loops passed for checked by a book."""
    found, = told(run(fakes.with_rules(fakes.automatic(), sets=("andra_2019_transmission", "ihra_2019"))), "PRO-RULE-BOOK")
    assert found.state == State.OPEN


@pytest.mark.parametrize("limit", ["{in: 1e999 in, mm: 152 mm}", "1e300 in", "{in: 6 in, mm: 1e30 mm}"])
def test_a_limit_without_an_end_is_refused(limit):
    text = (f'rule_set: 1\ntitle: t\nedition: "1"\nrules:\n  - id: T\n    title: t\n    quantity: loop_behind_front_joint\n'
            f'    comparison: "<="\n    limit: {limit}\n    severity: error\n    hint: h\n    basis: {{document: d, source: seen}}\n')
    with pytest.raises(source.SourceError, match=r"too large|no car comes near it"):
        rule_sets.parse(text)


def test_a_count_without_an_end_is_refused():
    text = ('rule_set: 1\ntitle: t\nedition: "1"\nrules:\n  - id: T\n    title: t\n    quantity: loop_pins_missing\n'
            '    comparison: "<="\n    limit: 1e999\n    severity: error\n    hint: h\n    basis: {document: d, source: seen}\n')
    with pytest.raises(source.SourceError, match="too large"):
        rule_sets.parse(text)


def high(**more):
    """The demo with its crank 13 in high, which practice advises against, and a waiver of that."""
    car = fakes.automatic()
    car = replace(car, placement=replace(car.placement, crank_height=13.0 * 25.4))
    given = dict(rule="PRA-HEIGHT", reason="a tall pan is fitted", author="C. Maker", date="2026-03-01", edition="1", measured=13.0,
                 compared="(in)") | more
    return fakes.with_rules(car, waivers=(model.Waiver(**given),))


@pytest.mark.parametrize("date, state", [("2026-03-01", State.WAIVED), (EVENT.isoformat(), State.WAIVED),
                                         ((EVENT + DAY).isoformat(), State.WAIVER_VOID), ("2099-01-01", State.WAIVER_VOID)])
def test_a_waiver_approved_in_the_future_is_void(date, state):
    found, = told(run(high(date=date)), "PRA-HEIGHT")
    assert found.state == state and (state == State.WAIVED or "still to come" in found.reason)


def test_an_event_that_is_over_is_told():
    """Certificates that have expired since were good then; who races tomorrow must see on which day they were looked at."""
    assert not any("is over" in note for note in run(fakes.automatic()).notes)
    outcome = run(fakes.automatic(), today=EVENT + DAY)
    assert any(f"the event on {EVENT} is over:" in note for note in outcome.notes)


@pytest.mark.parametrize("date", ["0001-01-01", "1949-12-31", "2200-01-01", "9999-12-31"])
def test_an_event_of_another_age_is_refused(date):
    with pytest.raises(checks.RuleError, match="is not a date from 1950 to 2199"):
        checks.day(date)


def test_what_books_regulate_and_no_rule_looks_at_is_told():
    """In the report, its page and on the console: a user must see what nobody looked at, whatever sets he names."""
    for sets in ((), ("invented_demo",)):
        outcome = run(fakes.with_rules(fakes.automatic(), sets=sets))
        report = json_report.report(outcome, fakes.snapshot(fakes.automatic()), {"program": "test"}, fakes.FakeMeasurer())
        fits_schema(report)
        told_ = {item["about"]: item["clause"] for item in report["not_covered"]}
        for word in ("fuel", "bulkheads", "tunnel", "liner", "grade", "damper", "lockout", "wheelbase", "overhang", "ballast", "batteries",
                     "catch can", "ladder bar"):
            assert any(word in about for about in told_), word
        page, lines = html.text(report), console.lines(outcome.findings, "in", report["notes"], report["not_covered"])
        assert all(escape(about) in page and escape(clause) in page for about, clause in told_.items())
        line, = [line for line in lines if line.startswith("not checked by any rule here")]
        assert all(about in line for about in told_) and lines[-1] != line


def test_a_car_without_header_boxes_is_told_that_headers_were_not_looked_at():
    for headers, told_ in (((), 1), ((model.Header(name="left", x_rear=0.0, x_front=100.0, y_right=200.0, y_left=300.0, z_low=-100.0,
                                                   z_high=100.0),), 0)):
        car = replace(fakes.automatic(), headers=headers)
        report = json_report.report(run(car), fakes.snapshot(car), {"program": "test"}, fakes.FakeMeasurer())
        assert sum("exhaust headers" in note for note in report["notes"]) == told_


def test_a_row_that_says_more_than_its_source_is_flagged():
    """Two fixings, specifications beside the printed one, clauses taken for other cars: our reading, and the note says which."""
    rules = {rule.id: rule for name in rule_sets.available() for rule in rule_sets.read(f"{rule_sets.FOLDER}/{name}.yaml").rules}
    for name in ("NHRA-LOOP-MOUNTED", "ANDRA-LOOP-MOUNTED", "NHRA-ENCLOSURE-FIXED", "NHRA-SFI-FLEXPLATE", "PRO-LOOP-SECTION",
                 "PRO-ENCLOSURE-WALL", "PRO-BLOCK-OPENING"):
        assert rules[name].basis.source == "our_reading" and rules[name].basis.note, name
        assert "(our reading)" in rules[name].basis.words()
    for rule in rules.values():
        assert rule.basis.source != "our_reading" or rule.basis.note, rule.id
        if any(word in rule.basis.document for word in ("EN 1993", "FED-STD")):
            assert "as remembered" in rule.basis.note, rule.id
