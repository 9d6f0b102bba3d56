"""An as-built fit as text and as plain data: readings, placement, what is missing or wrong, moves, findings."""
from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from .. import units
from ..checks.finding import Finding, State
from ..exit_codes import CLEAN, FINDINGS, INCOMPLETE
from ..mechanics.gross_errors import Suspect
from ..mechanics.scene import Scene
from ..source import quoted
from .fitted import ASIDE, BLANK, CHASSIS, UNUSED, USED, Fitted, Freedom, Line
from .moves import Correction
from .verdicts import CONFIRM, FAILS, HERE, PASSES, UNDECIDED, UNKNOWN, FittedFinding

FREEDOM_WORDS = {"axle_to_block": "Axle to rear face of block, at its base", "lateral": "Crank offset at rear face of block (+ left)",
                 "crank_height": "Crank height, rear face of block", "roll": "Roll (+ left high)", "pitch": "Pitch (+ rear high)",
                 "yaw": "Yaw (+ front to the left)", "rear_joint_x": "Axle to rear joint", "rear_joint_y": "Rear joint offset (+ left)",
                 "rear_joint_z": "Rear joint above track", "pinion_pitch": "Pinion pitch (+ nose low)"}
SHAPES = ("What is measured on shapes was looked at only with the powertrain where the fit puts it, and with plates, mounts and tabs as "
          "they would be made for there: parts that are cut already may fit otherwise.")
UNSEEN = "What is measured on shapes, such as clearances, was not looked at: nothing here says that it passes."
VERDICTS = (PASSES, FAILS, UNDECIDED, HERE, CONFIRM, UNKNOWN)
SEVERAL = {PASSES: "pass surely", FAILS: "fail surely"}
STATES = {USED: "", BLANK: "not read", CHASSIS: "of the chassis", ASIDE: "NOT BELIEVED", UNUSED: "not used"}


@dataclass(frozen=True, eq=False)
class Outcome:
    """All that a fit told. findings: None where none were looked at."""
    fitted: Fitted
    findings: tuple[FittedFinding, ...]
    correction: Correction | None
    designed: Scene
    as_built: Scene
    fail_on: str = "error"

    @property
    def exit_code(self) -> int:
        """4 where the readings do not say where the powertrain is, or a rule is undecided or not evaluated; 1 where one fails."""
        if not self.fitted.determined or any(one.verdict == UNKNOWN or (one.verdict == UNDECIDED and self._counts(one))
                                             for one in self.findings):
            return INCOMPLETE
        failing = any(self._counts(one) and one.finding.unresolved for one in self.findings if one.verdict in (FAILS, HERE))
        return FINDINGS if failing else CLEAN

    @property
    def shapes_seen(self) -> bool:
        """Whether what is measured on shapes was looked at, at the placement as built."""
        return any(one.verdict == HERE for one in self.findings)

    @property
    def about_shapes(self) -> str:
        """What was looked at of what is measured on shapes, one sentence."""
        return SHAPES if self.shapes_seen else UNSEEN

    def _counts(self, one: FittedFinding) -> bool:
        severities = ("error", "warning", "advice")
        return one.finding.state != State.WAIVED and severities.index(str(one.finding.severity.value)) <= severities.index(self.fail_on)


def size(value: float, quantity: str, places: int = 3) -> str:
    """A length or an angle as people read it; none reads as a negative zero."""
    if quantity == "angle":
        return f"{round(math.degrees(value), 2) + 0.0:.2f} deg"
    return units.sized(0.0 if abs(value) < 0.5 * units.INCH * 10.0 ** -places else value, places)


def as_found(one: Freedom) -> str:
    """Where a freedom was found; a dash where no reading tells."""
    return size(one.found, one.quantity) if one.fitted and not one.lost else "–"


def off(one: Freedom) -> str:
    """How far a freedom is from where it was designed to be; a dash where no reading tells."""
    return size(one.found - one.wanted, one.quantity) if one.fitted and not one.lost else "–"


def within(one: Freedom) -> str:
    """What a freedom is known within."""
    return "not determined" if one.lost else "as designed" if not one.fitted else f"± {size(one.within, one.quantity)}"


def said(line: Line, suspect: Suspect, lines: Iterable[Line]) -> str:
    """Why a reading is not believed, one sentence."""
    quantity = line.measured.quantity
    text = (f"reads {size(line.value or 0.0, quantity)}; the other readings say {size(suspect.expected, quantity)} "
            f"± {size(suspect.within, quantity)}")
    if suspect.slips:
        told = " or ".join(f"{slip.words}; it is then {size(slip.value, quantity)}" for slip in suspect.slips[:2])
        return f"{text}. Probably {told}. Read it again."
    rivals = [other.measured.reading.name for other in lines if other.suspect is not None and other.suspect.place in suspect.rivals]
    return text + (f". It or one of these is wrong, and nothing tells which: {'; '.join(rivals)}. Read them again." if rivals
                   else f". It is off by {size(abs((line.value or 0.0) - suspect.expected), quantity)} and no usual slip. Read it again.")


def sums(outcome: Outcome) -> str:
    """How many findings have which verdict."""
    count = Counter(one.verdict for one in outcome.findings)
    return "; ".join(f"{count[word]} {word if count[word] == 1 else SEVERAL.get(word, word)}" for word in VERDICTS if count[word])


def text(outcome: Outcome) -> list[str]:
    """Lines for a console."""
    fitted, found = outcome.fitted, []
    found.append("Placement as built, 95 % either way:")
    for one in fitted.freedoms:
        found.append(f"  {FREEDOM_WORDS[one.name]:45s} designed {size(one.wanted, one.quantity):>11s}  as built "
                     f"{as_found(one):>11s}  off {off(one):>10s}  {within(one)}")
    found += notes(fitted)
    found += [f"{line.measured.reading.name}: {said(line, line.suspect, fitted.lines)}" for line in fitted.suspects if line.suspect]
    if outcome.correction is not None:
        found += ["Moves, in this order:" if outcome.correction.words else "Nothing has to move: everything is within tolerance."]
        found += [f"  {number}. {words}" for number, words in enumerate(outcome.correction.words, 1)]
        found += [f"  {words}" for words in outcome.correction.follows]
        found += [f"  {label:32s} designed {a:>9s}  as built {b:>9s}  after {c:>9s}" for label, a, b, c in angles(outcome)]
        found += [f"  {one.before.rule}{which(one.before)}: {one.before.state.value} as built, {one.after.state.value} after"
                  for one in outcome.correction.changes]
    if outcome.findings:
        found.append(outcome.about_shapes)
        found.append(f"Findings: {sums(outcome)}")
        found += [f"  {one.verdict}: {finding(one)}" for one in outcome.findings if one.verdict in (FAILS, UNDECIDED) or
                  (one.verdict == HERE and one.finding.unresolved)]
    return found


def notes(fitted: Fitted) -> list[str]:
    """What is missing, and what is to be kept in mind; a sentence each."""
    found = []
    if fitted.readings.car and fitted.readings.car != fitted.car.car.name:
        found.append(f"The readings are of {quoted(fitted.readings.car)}, and this car is {quoted(fitted.car.car.name)}: make sure that "
                     "they belong together.")
    if fitted.lost:
        found.append(f"Not determined by these readings: {', '.join(fitted.lost)}. Read also: {'; '.join(fitted.asked) or 'more points'}.")
    unchecked = [line.measured.reading.name for line in fitted.lines if line.state == USED and line.checked < 0.1]
    if unchecked and len(unchecked) == sum(line.state == USED for line in fitted.lines):
        found.append("No reading checks another: a wrong one would not show. Read more than there is to find out.")
    elif unchecked:
        found.append(f"No other reading checks: {'; '.join(unchecked)}.")
    held = [one.words for one in fitted.freedoms[6:] if not one.fitted]
    if held:
        found.append(f"Not measured and taken as designed, within the set-up sheet's tolerance: {'; '.join(held)}.")
    found += [f"{line.measured.reading.name}: read {size(line.value or 0.0, line.measured.quantity)}, should be "
              f"{size(line.measured.wanted, line.measured.quantity)}; {line.note}, and what was measured from it with it."
              for line in fitted.chassis_off]
    found += [f"{line.measured.reading.name}: {line.note}." for line in fitted.lines if line.note and line.state in (USED, UNUSED)]
    return found


def angles(outcome: Outcome) -> list[tuple[str, str, str, str]]:
    """(what, as designed, as built, after the moves) of joint angles."""
    scenes = [outcome.designed, outcome.as_built, *([outcome.correction.after] if outcome.correction is not None else [])]
    rows = []
    for label, name in (("Front joint angle", "front_angle"), ("Rear joint angle", "rear_angle"), ("Uncancelled joint angle", "residual")):
        told = [f"{math.degrees(float(getattr(scene.driveline, name))):.2f} deg" for scene in scenes]
        rows.append((label, told[0], told[1], told[2] if len(told) > 2 else ""))
    return rows


def which(finding_: Finding) -> str:
    """What tells a finding from its neighbors, after its rule; empty where it has none."""
    return f" {finding_.discriminator.replace('_', ' ')}" if finding_.discriminator else ""


def finding(one: FittedFinding) -> str:
    """A finding with its interval, one line."""
    told = one.finding
    about = ", ".join(filter(None, (told.discriminator, *told.subjects))).replace("_", " ")
    words = f"{told.severity.value}: {told.rule} {about}: {told.title}"
    if one.measured is not None and told.measured is not None:
        words += f"; {told.measured:.4g} ({one.measured[0]:.4g} to {one.measured[1]:.4g}) {told.unit}".rstrip()
        words += f", limit {_limit(told.limit)}"
    return words + (f"; decided by: {one.decides}" if one.decides else "")


def _limit(limit: float | tuple[float, float] | None) -> str:
    if limit is None:
        return "as the rule says"
    return f"{limit[0]:.4g} to {limit[1]:.4g}" if isinstance(limit, tuple) else f"{limit:.4g}"


def to_json(outcome: Outcome) -> dict[str, Any]:
    """As plain data: mm and deg in the names."""
    fitted = outcome.fitted
    return {"crankline_fit": 1, "car": fitted.car.car.name, "exit": outcome.exit_code, "determined": fitted.determined,
            "measured": fitted.readings.measured, "lost": list(fitted.lost), "read_also": list(fitted.asked),
            "redundancy": fitted.fit.freedom, "shapes_looked_at": outcome.shapes_seen, "notes": notes(fitted),
            "placement": {f"{one.name}_{_unit(one.quantity)}": {
                "designed": _number(one.wanted, one.quantity), "as_built": None if one.lost else _number(one.found, one.quantity),
                "within_95": None if one.lost or not one.fitted else _number(one.within, one.quantity),
                "state": "not determined" if one.lost else "fitted" if one.fitted else "as designed"} for one in fitted.freedoms},
            "covariance_of": [f"{one.name}_{_unit(one.quantity)}" for one in fitted.freedoms], "covariance": _covariance(fitted),
            "readings": [_reading(line, fitted) for line in fitted.lines],
            "moves": None if outcome.correction is None else {
                "moves": [{"what": words, "kind": move.kind.name, "mm": move.size}
                          for words, move in zip(outcome.correction.words, outcome.correction.plan.moves)],
                "follows": list(outcome.correction.follows), "enough": outcome.correction.plan.enough,
                "changes": [{"rule": one.before.rule, "of": one.before.discriminator, "before": one.before.state.value,
                             "after": one.after.state.value} for one in outcome.correction.changes]},
            "joint_angles": [dict(zip(("what", "designed", "as_built", "after"), row)) for row in angles(outcome)],
            "findings": [{"verdict": one.verdict, "measured_95": one.measured, "margin_95": one.margin, "decided_by": one.decides or None,
                          "hangs_on_placement": one.hangs, **one.finding.to_json()} for one in outcome.findings]}


def _unit(quantity: str) -> str:
    return "deg" if quantity == "angle" else "mm"


def _number(value: float, quantity: str) -> float:
    return math.degrees(value) if quantity == "angle" else float(value)


def _covariance(fitted: Fitted) -> list[list[float]]:
    by = np.array([math.degrees(1.0) if one.quantity == "angle" else 1.0 for one in fitted.freedoms])
    found: list[list[float]] = (fitted.fit.covariance * by * by[:, None]).tolist()
    return found


def _reading(line: Line, fitted: Fitted) -> dict[str, Any]:
    quantity, suspect = line.measured.quantity, line.suspect

    def told(value: float | None) -> float | None:
        return None if value is None else _number(value, quantity)
    return {"name": line.measured.reading.name, "kind": line.measured.kind, "unit": _unit(quantity), "with": line.measured.instrument,
            "read": [told(value) for value in line.measured.reading.read], "designed": told(line.measured.wanted),
            "value": told(line.value), "within_95": told(line.within) if line.value is not None else None, "fitted": told(line.fitted),
            "residual": told(line.residual), "checked": line.checked, "state": line.state, "note": line.note,
            "why": None if suspect is None else said(line, suspect, fitted.lines)}
