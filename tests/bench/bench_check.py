"""What a check costs over the host's own distance calls, first and again after an edit, and what waits for it meanwhile.

Both demo cars, each as designed and with the engine moved an inch back, into what stands behind it. Seconds are the processor's, so that
other work on the machine does not count. The raw distances are those of whole shapes, for all pairs whose boxes come within 25 mm.
"""
from __future__ import annotations

import itertools
import os
import sys
import time

import FreeCAD as App
from timing import seconds

from crankline import ROOT, carfile, checks, remedies
from crankline.checks import evaluate
from crankline.features import base, make, read
from crankline.geometry import measure
from crankline.measure import body, host_measurer
from crankline.progress import drained
from crankline.rules import rule_sets

DEMOS = ("full_bodied_automatic", "open_clutch")
MOVES = (("as designed", 0.0), ("engine an inch back", -25.4))
NUDGE = 25.4 / 4
"""What the edits between two checks add to axle-to-block, mm."""
EDITS = tuple(NUDGE * share for share in (0.4, 0.3, -0.2, 0.3, -0.15, 0.35))
"""The single edits, mm, none of which leads to where another one led."""

FORWARD = {("open_clutch", "engine an inch back"): 12.7}
"""How much farther forward an enclosure begins, mm: moved as it is, it would end too little over the tail to be carried, and be refused."""

NEAR = 25.0
"""Pairs whose boxes come within so many mm are measured in the raw."""

EVENT = "2026-06-01"
SWEEPS = ("SRV-TRANSMISSION", "SRV-DRIVESHAFT", "SRV-ENGINE")


def raw(now) -> tuple[int, float]:
    """(pairs, s) of plain distances of whole shapes of parts that are near each other."""
    boxes = {part.key: body.box_of(part.shape) for part in now.parts if not part.reference}
    near = [(a, b) for a, b in itertools.combinations(sorted(boxes), 2)
            if (boxes[a][:3] - NEAR <= boxes[b][3:]).all() and (boxes[b][:3] - NEAR <= boxes[a][3:]).all()]

    def measure():
        for a, b in near:
            now.part(a).shape.distToShape(now.part(b).shape)
    return len(near), seconds(measure)


def checked(now, measurer) -> tuple[checks.Outcome, float, float, evaluate.Slice]:
    """(outcome, s of all, s until every finding of numbers was there, the longest slice that nothing else could come between)."""
    start = time.process_time()
    check = checks.Check(now, event_date=EVENT, measurer=measurer)
    numbers = None
    for _progress in check.steps():
        if numbers is None and check.numbers_done:
            numbers = time.process_time() - start
    outcome = check.outcome()
    whole = time.process_time() - start
    return outcome, whole, whole if numbers is None else numbers, outcome.longest


def remedied(outcome, now) -> tuple[float, float, int]:
    """(s of the search for what would clear each open finding, s of its longest slice, findings that have something)."""
    work, slices = remedies.steps(outcome, now, remedies.ALL), []
    while True:
        start = time.process_time()
        try:
            next(work)
        except StopIteration as end:
            return sum(slices), max(slices), sum(bool(finding.remedies) for finding in end.value.findings)
        finally:
            slices.append(time.process_time() - start)


def edited(layout, step: float) -> tuple[float, list]:
    """(s of a recompute after a move of the powertrain, what each part that was built for it is built from)."""
    layout.AxleToBlock = layout.AxleToBlock.Value + step
    base.counts.clear()
    whole = seconds(layout.Document.recompute)
    built = {name.split(" ", 1)[1] for name in base.counts if name.startswith("builds ")}
    if any("Invalid" in obj.State for obj in read.members(layout)):
        raise SystemExit("an edit of the bench is refused: a failed build would be measured")
    return whole, [(obj.Proxy.geometry, obj.Proxy.spec_of(obj)) for obj in read.members(layout) if obj.Key in built]


def edits(layout) -> tuple[float, float]:
    """(s of a recompute after an edit, s of the raw builds that this needs), both the mean over the places of ``EDITS``, each of which is
    new to either: what builders keep of a shape that they have just built is of no use."""
    forget()
    built = [edited(layout, step)[1] for step in EDITS]
    edited(layout, -sum(EDITS))
    forget()
    raws = [seconds(lambda specs=specs: [geometry.build(spec) for geometry, spec in specs]) for specs in built]
    forget()
    return sum(edited(layout, step)[0] for step in EDITS) / len(EDITS), sum(raws) / len(EDITS)


def forget() -> None:
    """Throw away what builders keep."""
    for name, module in list(sys.modules.items()):
        if name.startswith("crankline.geometry."):
            for kept in vars(module).values():
                if hasattr(kept, "cache_clear"):
                    kept.cache_clear()
    measure._KNOWN.clear()
    measure._LAST.clear()


def told(name: str, what: str, move: float) -> None:
    """Every ratio of one car."""
    document = make.document(carfile.read(os.path.join(ROOT, "demo_assemblies", f"{name}.yaml")), "bench")
    layout, title = read.only_layout(document), f"{name}, {what}"
    if forward := FORWARD.get((name, what)):
        tube = next(obj for obj in read.members(layout) if obj.Kind == "enclosure")
        tube.XFront = tube.XFront.Value + forward
    if move:
        edited(layout, move)
    refused = [obj.Label for obj in document.Objects if "Invalid" in obj.State]
    if refused:
        raise SystemExit(f"{title}: not built: {', '.join(refused)}")
    now = read.snapshot(layout)
    count, theirs = raw(now)
    measurer = host_measurer.HostMeasurer()
    outcome, first, _numbers, slow = checked(now, measurer)
    opened = sum(finding.state == "open" for finding in outcome.findings)
    print(f"{title}: first check {first:.2f} s = {first / theirs:.2f} x {count} raw distances ({theirs:.2f} s); {opened} open; "
          f"longest slice {slow.seconds * 1e3:.0f} ms ({slow.about})")
    if not move:
        for item in (rule for rule in rule_sets.select(["service"]).rules if rule.id in SWEEPS):
            works = [evaluate.Evaluation([item], now, measurer) for _ in range(2)]
            once, more = (seconds(lambda work=work: drained(work.steps())) for work in works)
            slow = works[0].longest
            print(f"{title}: {item.id} {once:.2f} s = {once / theirs:.2f} x the raw distances; longest slice {slow.seconds * 1e3:.0f} ms "
                  f"({slow.about}); again {more * 1e3:.1f} ms")
    took, longest, found = remedied(outcome, now)
    print(f"{title}: all remedies {took:.2f} s, {found} of {opened} findings have one; longest slice {longest * 1e3:.0f} ms")
    # As in the window: what the first check has worked out is still there, but not what was drawn or searched for at the new place.
    edited(layout, NUDGE)
    _outcome, again, numbers, slow = checked(read.snapshot(layout), measurer)
    print(f"{title}: check after {NUDGE:g} mm {again:.2f} s = {again / first:.2f} x the first, findings of numbers after "
          f"{numbers * 1e3:.0f} ms; longest slice {slow.seconds * 1e3:.0f} ms ({slow.about})")
    edited(layout, -NUDGE)
    whole, builds = edits(layout)
    parts = sum(isinstance(getattr(obj, "Proxy", None), base.PartFeature) for obj in read.members(layout))
    print(f"{title}: recompute after an edit of axle-to-block {whole * 1e3:.0f} ms = {whole / builds:.2f} x the raw builds that it needs "
          f"({builds * 1e3:.0f} ms), {whole / parts * 1e3:.1f} ms a part ({parts})")
    App.closeDocument(document.Name)
    sys.stdout.flush()


def main() -> None:
    for name, (what, move) in itertools.product(DEMOS, MOVES):
        told(name, what, move)


main()
