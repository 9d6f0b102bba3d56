"""Cells of placement windows against the whole document and its check: the same verdict and the same margin of every rule that the window
claims. ``--solids N`` takes N random cells of each demo instead of one.
"""
from __future__ import annotations

import io
import math
import random

import cars
import FreeCAD as App
import pytest
from conftest import ROOT

from crankline import headless, placement_window
from crankline.checks import evaluate
from crankline.checks.finding import State as Found
from crankline.features import read
from crankline.placement_window import State

INCH = 25.4
PANS = ("ground_clearance", "pan_gap_in_plan")
"""Quantities that the document measures on shapes, and the window on the numbers that these are made from."""


def said(findings) -> State:
    """What the findings of one rule say together, as a window says it."""
    if any(one.to_confirm for one in findings):
        return State.ASKED
    states = {one.state for one in findings}
    if Found.OPEN in states:
        return State.OPEN
    if Found.NOT_EVALUATED in states:
        return State.NOT_EVALUATED
    return State.NOT_APPLICABLE if states == {Found.NOT_APPLICABLE} else State.HOLDS


@pytest.mark.parametrize("name", cars.EACH)
def test_a_window_says_what_the_document_and_its_check_say(name, solids, seed):
    count = solids(1)
    rng = random.Random(f"cells {seed(7)} {name}")
    car = cars.demo(name)
    mode = None if car.placement.pitch_mode == "fixed" else str(car.placement.pitch_mode)
    places = [(rng.uniform(78.0, 88.0) * INCH, rng.uniform(8.0, 12.5) * INCH, mode or math.radians(rng.uniform(0.0, 3.5)))
              for _number in range(count)]
    judge = placement_window.Judge(car)
    rules, compared, broken = [claim.rule for claim in judge.claims], 0, 0
    document, seen = cars.document(name, f"cells_{name}"), set()
    try:
        layout = read.only_layout(document)
        for x, z, pitch in places:
            cell = placement_window.at(judge, x, z, pitch)
            layout.AxleToBlock, layout.CrankHeight = cell.x, cell.z
            if not isinstance(cell.pitch, str):
                layout.Pitch = math.degrees(cell.pitch)
            document.recompute()
            shot = read.snapshot(layout)
            assert shot.car.placement.axle_to_block == pytest.approx(cell.x) and float(shot.scene.pitch) == pytest.approx(cell.angle)
            found: dict[str, list] = {}
            for one in evaluate.evaluate(rules, shot, cars.measurer()):
                found.setdefault(one.rule, []).append(one)
            for verdict in cell.verdicts:
                rule, mine = verdict.claim.rule, found[verdict.claim.rule.id]
                where = f"{rule.id} at {cell.x / INCH:.3f} in, {cell.z / INCH:.3f} in, {math.degrees(cell.angle):.3f} deg"
                if rule.quantity in PANS and said(mine) == State.NOT_EVALUATED:
                    # A part that cannot be made there may be the lowest, for all that the document knows.
                    assert any(item.key in mine[0].reason for item in shot.unsound), (where, mine[0].reason)
                    broken += 1
                    continue
                assert verdict.state == said(mine), (where, verdict, mine)
                compared += 1
                seen.add((rule.id, verdict.state))
                margins = [one.margin for one in mine if one.margin is not None]
                if verdict.margin is not None and margins:
                    # Margins of a check are in the unit of the limit that binds, and 0 within the tolerance.
                    assert math.copysign(1.0, min(margins)) == math.copysign(1.0, verdict.margin) or abs(verdict.margin) < 1e-6, where
        print(f"\n{name}: {count} cells, {compared} verdicts the same, {broken} not told by the document for a part that cannot be made")
        assert compared > 15 * count and (count < 50 or {State.OPEN, State.HOLDS} <= {state for _rule, state in seen})
    finally:
        App.closeDocument(document.Name)


def test_a_chosen_placement_is_made_and_checked_whole(tmp_path):
    """The command's ``--at``, of a car that is begun: its document is made there, and every rule of its sets has its say."""
    out, err = io.StringIO(), io.StringIO()
    try:
        code = headless.main(["window", str(ROOT / "demo_assemblies" / "minimal.yaml"), "--out", str(tmp_path), "--axle-to-block",
                              "82,83,84in", "--crank-height", "9.75,10in", "--at", "83.25in,8.5in", "--quiet"], out, err)
    finally:
        for name in list(App.listDocuments()):
            App.closeDocument(name)
    told = out.getvalue()
    assert err.getvalue() == "" and "chosen: axle-to-block 83.250 in, crank height 8.500 in" in told, err.getvalue()
    assert code == 4 and "chosen, with its parts made and every rule checked:" in told
    exact = told.partition("every rule checked:")[2]
    assert "warning: Joint angle within the limit for the shaft speed" in exact and "not evaluated: no mid plate yet" in exact
    assert "CLR-PAN-GROUND" not in told, "the document waits for parts that might be lower, so the window does not claim it either"
