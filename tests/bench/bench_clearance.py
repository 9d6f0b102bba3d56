"""What a clearance check costs over the host's own distance calls for the same pairs; whole cars, cold and again."""
from __future__ import annotations

import os
import sys
import time

import FreeCAD as App

from crankline import ROOT, carfile, checks
from crankline.checks import evaluate
from crankline.features import make, read
from crankline.measure import distance, host_measurer, relations
from crankline.rules import rule_sets

DEMOS = ("full_bodied_automatic", "open_clutch")
PAIRS = ("CLR-INTERFERENCE", "CLR-OIL-PAN", "CLR-TRANSMISSION-PAN", "CLR-BELL", "CLR-DAMPER", "CLR-FIREWALL", "CLR-SHAFT")
SWEEPS = ("SRV-TRANSMISSION", "SRV-DRIVESHAFT", "SRV-ENGINE")


def seconds(action) -> float:
    """Processor time: other work on the machine does not count."""
    start = time.process_time()
    action()
    return time.process_time() - start


def raw(now) -> tuple[int, float]:
    """(pairs, s) of plain distances of whole shapes, for all pairs whose boxes meet and for what the shaft's envelope is near to."""
    bodies = [distance.Body(part.key, part.shape, part.key) for part in now.parts if not relations.about(part).reference]
    near = [(one.a, one.b) for one in distance.near(bodies, 0.0, distance.Kept())]
    near += [("shaft_envelope", part.key) for part in now.parts if relations.keeps_clear(part, "shaft_to_containment")]

    def measure():
        for a, b in near:
            now.part(a).shape.distToShape(now.part(b).shape)
    return len(near), seconds(measure)


def main() -> None:
    known = {rule.id: rule for rule in rule_sets.select(["clearance", "service"]).rules}
    def demo(name: str) -> None:
        document = make.document(carfile.read(os.path.join(ROOT, "demo_assemblies", f"{name}.yaml")), "bench")
        now = read.snapshot(read.only_layout(document))
        count, theirs = raw(now)
        measurer = host_measurer.HostMeasurer()
        ours = seconds(lambda: evaluate.evaluate([known[item] for item in PAIRS], now, measurer))
        again = seconds(lambda: evaluate.evaluate([known[item] for item in PAIRS], now, measurer))
        print(f"{name}: clearances {ours * 1e3:.0f} ms = {ours / theirs:.2f} x {count} raw distances ({theirs * 1e3:.0f} ms); "
              f"again {again * 1e3:.1f} ms = {again / theirs:.4f} x")
        whole = seconds(lambda: checks.run(now, event_date="2026-06-01", measurer=host_measurer.HostMeasurer()))
        print(f"{name}: the whole check, every rule and remedy {whole * 1e3:.0f} ms = {whole / theirs:.2f} x the same")
        for item in SWEEPS:
            swept = seconds(lambda item=item: evaluate.evaluate([known[item]], now, measurer))
            again = seconds(lambda item=item: evaluate.evaluate([known[item]], now, measurer))
            print(f"{name}: {item} {swept * 1e3:.0f} ms = {swept / theirs:.2f} x the same; again {again * 1e3:.1f} ms")
        App.closeDocument(document.Name)

    for name in DEMOS:
        demo(name)
    sys.stdout.flush()


main()
