"""Remedies of findings that are measured on shapes: each, written into the document and recomputed, clears its finding."""
from __future__ import annotations

from dataclasses import replace

import cars
import FreeCAD as App
import pytest

from crankline import model, units
from crankline.checks import evaluate
from crankline.checks.finding import State
from crankline.compat import same_placement
from crankline.features import plan, props, read
from crankline.features.base import host_placement
from crankline.measure import host_measurer
from crankline.record import filled
from crankline.remedies import search
from crankline.rules import rule_sets

INCH = 25.4
DEMOS = ("full_bodied_automatic", "open_clutch")
RULES = {rule.id: rule for rule in rule_sets.select(["containment", "clearance", "ground_clearance", "andra_2019"]).rules}
SECTIONS = {"car": ("car", model.CarRecord), "placement": ("layout", model.Placement), "rear_end": ("chassis", model.RearEnd),
            "containment.enclosure": ("enclosure", model.Enclosure),
            "containment.tunnel": ("tunnel", model.Tunnel), "mounts.cross_member": ("cross_member", model.CrossMember),
            "mounts.support_tube": ("support_tube", model.SupportTube), "mounts.limiter_strut": ("limiter_strut", model.LimiterStrut),
            "plates.mid": ("mid_plate", model.MidPlate), "plates.front": ("front_plate", model.FrontPlate)}


class Bench:
    """A demo car as a document, in which records are changed and put back."""

    def __init__(self, name):
        self.document = cars.document(name, f"remedies_{name}")
        self.layout = read.only_layout(self.document)
        self.kept = {}

    def object(self, key):
        return next(obj for obj in read.members(self.layout) if obj.Key == key)

    def set(self, path, value=None, change=0.0):
        """Set the field of a path as car files have it, or change it by so much, inside unit."""
        section, field = path.rsplit(".", 1)
        if section.startswith("containment.loops."):
            key, record = f"loop/{section.rsplit('.', 1)[1]}", model.Loop
        else:
            key, record = SECTIONS[section]
        obj = self.object(key)
        now = obj.Proxy.read_rear_end(obj, absent=True) if record is model.RearEnd else obj.Proxy.read(obj, absent=True)
        self.kept.setdefault((key, record), now)
        value = getattr(filled(now), field) + change if value is None else value
        self.write(key, record, replace(now, **{field: value}))

    def write(self, key, record, held):
        obj = self.object(key)
        if record is model.RearEnd:
            from crankline.features import chassis
            props.write(obj, chassis.REAR_END, held)
        else:
            props.write(obj, props.table(record), held)

    def restore(self):
        for (key, record), held in self.kept.items():
            self.write(key, record, held)
        self.kept = {}
        self.document.recompute()

    def snapshot(self):
        self.document.recompute()
        return read.snapshot(self.layout)


@pytest.fixture(scope="module")
def benches():
    made = {name: Bench(name) for name in DEMOS}
    yield made
    for bench in made.values():
        App.closeDocument(bench.document.Name)


@pytest.fixture
def automatic(benches):
    yield benches[DEMOS[0]]
    benches[DEMOS[0]].restore()


def only(now, *stems):
    """The snapshot with the parts of these keys or first words of keys, and what is said of them; with all where none are given."""
    def wanted(key):
        return bool({key, key.partition("/")[0]} & set(stems))
    return replace(now, parts=tuple(part for part in now.parts if wanted(part.key)),
                   unsound=tuple(item for item in now.unsound if wanted(item.key))) if stems else now


def judged(rule, now, measurer=None):
    return evaluate.evaluate([rule], now, measurer or host_measurer.HostMeasurer())


@pytest.mark.parametrize("name", cars.EACH)
def test_a_plan_describes_every_part_as_the_document_does(benches, name):
    now = benches[name].snapshot()
    planned = plan.described(now.car, now.scene)
    assert set(planned) == {part.key for part in now.parts}
    for part in now.parts:
        item = planned[part.key]
        assert item.feature.digest(item.spec(now.scene)) == part.digest, part.key
        assert same_placement(host_placement(item.frame(now.scene)), part.shape.Placement, 1e-9), part.key


MEMBER = 5.0 * INCH
REACHES = MEMBER + cars.demo(cars.AUTOMATIC).mounts.cross_member.section.outer_diameter / 2
BOX = model.DriverEnvelope(x_rear=20 * INCH, x_front=62 * INCH, y_right=4.5 * INCH, y_left=20 * INCH, z_low=REACHES - 0.4, z_high=46 * INCH)
# Where parts overlap deeply is told slowly, and every try tells it: such a car is ``member in the case``, and the transmission in the
# driver's box of test_every_rule_shapes.py.
FAULTS = {
    # name: (changes, rule, parts that are looked at, words that one remedy begins with or holds)
    "loop too small": ({"containment.loops.front.inner_diameter": 4.4 * INCH}, "CON-LOOP-TOUCH", (), "make loop/front"),
    "loop too low": ({"containment.loops.second.center_z": 8.9 * INCH}, "CON-LOOP-TOUCH", (), "raise the center of loop/second"),
    "enclosure too small": ({"containment.enclosure.outer_diameter": 4.6 * INCH}, "CON-ENCLOSURE-TOUCH", (), "use an enclosure"),
    "joint does not pass": ({"containment.enclosure.outer_diameter": 4.5 * INCH}, "CON-ENCLOSURE-REMOVAL", (), "use an enclosure"),
    "joint stands out": ({"containment.enclosure.x_front": 51.5 * INCH}, "CON-ENCLOSURE-JOINT", (), "begin the enclosure"),
    "driver beside bare shaft": ({"car.driver_position": "astride_shaft", "containment.enclosure.x_front": 60.0 * INCH,
                                  "containment.enclosure.x_rear": 50.0 * INCH}, "ANDRA-ENCLOSURE-FULL", (), "end the enclosure"),
    "loop left open": ({"containment.loops.front.open_angle": 0.5}, "ANDRA-LOOP-CLOSED", (), "close loop/front"),
    "pins missing": ({"containment.loops.front.pins_split": 1}, "CON-LOOP-PINS", (), "put 1 pin at the split of loop/front"),
    "pan close to the member": ({"mounts.cross_member.offset": -0.4 * INCH}, "CLR-TRANSMISSION-PAN", ("transmission", "cross_member"),
                          "cross member"),
    "member in the case": ({"mounts.cross_member.offset": 1.5 * INCH, "mounts.cross_member.z": 6.5 * INCH}, "CLR-INTERFERENCE",
                           ("transmission", "cross_member"), "cross member"),
    "pan near the track": ({"placement.crank_height": 8.6 * INCH}, "CLR-PAN-GROUND", ("engine",), "raise the crank"),
    "member near the track": ({"mounts.cross_member.z": 2.5 * INCH}, "GND-REST", ("cross_member", "rail", "transmission"),
                              "raise the cross member"),
    "shaft near the member": ({"mounts.cross_member.offset": -9.0 * INCH, "mounts.cross_member.z": 8.0 * INCH}, "CLR-SHAFT",
                              ("shaft_envelope", "cross_member"), "cross member"),
    "member in the driver's box": ({"car.driver_envelope": BOX, "mounts.cross_member.z": MEMBER}, "CLR-DRIVER", ("cross_member",),
                                   "cross member"),
    "no way behind the pan": ({"mounts.cross_member.offset": 0.0}, "SRV-PAN-GAP", (), "rearward"),
}


@pytest.mark.one_host
@pytest.mark.parametrize("fault", FAULTS)
def test_every_remedy_written_into_the_document_clears_its_finding(automatic, fault):
    changes, rule_id, stems, words = FAULTS[fault]
    rule = RULES[rule_id]
    for path, value in changes.items():
        automatic.set(path, value)
    now, measurer = only(automatic.snapshot(), *stems), host_measurer.HostMeasurer()
    first = judged(rule, now, measurer)
    broken = [item for item in first if item.state == State.OPEN]
    assert broken, f"{rule_id} finds nothing wrong: {[(item.state, item.measured, item.reason) for item in first]}"
    finding = broken[0]
    looked = search.Solver(now, measurer, effort=10_000, share=10_000).search(finding, rule)
    print(f"\n{fault}: {finding.subjects} {finding.measured} {finding.unit}; "
          f"{[one.words for one in looked.remedies]}; tried {looked.tried}")
    assert looked.remedies and any(words in one.words for one in looked.remedies) and not looked.cut_short, looked
    kept = dict(automatic.kept)
    for remedy in looked.remedies:
        change = units.of(remedy.change, "angle" if remedy.unit == "deg" else "length", remedy.unit) if remedy.unit else int(remedy.change)
        automatic.set(remedy.parameter, change=change)
        again = judged(rule, only(automatic.snapshot(), *stems))
        assert finding.id not in {item.id for item in again if item.state != State.PASSED}, (remedy, again)
        assert any(item.state == State.PASSED for item in again), (remedy, again)
        automatic.set(remedy.parameter, change=-change)
    automatic.kept = kept
