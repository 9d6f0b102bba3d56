"""Parameters of a car that may be turned to clear a finding: which are worth trying for it, and what turning one means in words."""
from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any, Callable, Iterable, Sequence

from .. import model
from ..record import entries, filled
from ..snapshot import POWERTRAIN, Snapshot
from .as_if import Change, Changed
from .findings import Finding
from .measuring import Measurer
from .rule import Rule

INCH, DEG = 25.4, math.pi / 180.0

Turned = tuple[Snapshot, Measurer | None]


@dataclass(frozen=True)
class Knob:
    """A parameter that may be turned. name: its path in the car file; label: what a builder calls it; reach: how far it is tried,
    inside unit. get: its value, None where the car has none to turn. car: the snapshot's car with the value changed by so much;
    ValueError where the field cannot hold that. up, down: words for more and for less of it, in which {by} and {to} stand for the
    change and for what it becomes. turned: where there is no such car, the snapshot with a measurer that adds the change to what it
    reads off a shape, for what is measured along one direction only. ways: which directions are tried. only: the one change that
    is tried, where there is but one that helps. places: decimals that are told. guess: as
    ``turned``, for a first answer that is then proved on the shape made anew; part: key of the part that this reads off."""
    name: str
    label: str
    kind: str
    reach: float
    get: Callable[[Snapshot], float | None]
    car: Callable[[Snapshot, float], model.Car] | None
    up: str
    down: str
    turned: Callable[[Snapshot, Measurer | None, float], Turned] | None = None
    ways: tuple[float, ...] = (1.0, -1.0)
    only: Callable[[Snapshot], float] | None = None
    places: int = 2
    guess: Callable[[Snapshot, Measurer | None, float], Turned] | None = None
    part: str = ""


def _set(record: Any, field: str, value: float) -> Any:
    entry = entries(type(record))[field]
    if not entry.low <= value <= entry.high:
        raise ValueError(f"{field}: {value:g} is out of its range")
    return replace(record, **{field: value})


def _field(path: str, label: str, reach: float, kind: str, up: str, down: str, ways: tuple[float, ...] = (1.0, -1.0)) -> Knob:
    """A knob that is one field of a record of the car."""
    *sections, field = path.split(".")

    def get(snapshot):
        held = filled(snapshot.car)
        for section in sections:
            held = getattr(held, section, None)
        return None if held is None else getattr(held, field)

    def rebuilt(holder, rest, value):
        if not rest:
            return _set(holder, field, value)
        inner = getattr(holder, rest[0])
        inner = getattr(filled(holder), rest[0]) if inner is None else inner
        return replace(holder, **{rest[0]: rebuilt(inner, rest[1:], value)})
    return Knob(path, label, kind, reach, get, lambda snapshot, change: rebuilt(snapshot.car, sections, get(snapshot) + change), up, down,
                ways=ways)


# --- the powertrain and its driveline ---------------------------------------------------------------------------------

HEIGHT = _field("placement.crank_height", "crank height", 8 * INCH, "length", "raise the crank by {by}, to {to}",
                "lower the crank by {by}, to {to}")
AXLE = _field("placement.axle_to_block", "axle-to-block", 15 * INCH, "length", "move the powertrain {by} forward, to axle-to-block {to}",
              "move the powertrain {by} rearward, to axle-to-block {to}")
PITCH = _field("placement.pitch", "pitch", 4 * DEG, "angle", "raise the pitch by {by}, to {to}", "lower the pitch by {by}, to {to}")
PINION = _field("rear_end.pinion_pitch", "pinion pitch", 4 * DEG, "angle", "turn the pinion nose down by {by}, to {to}",
                "turn the pinion nose up by {by}, to {to}")
TUBE = _field("driveshaft.outer_diameter", "shaft diameter", 2 * INCH, "length", "use a shaft {by} larger, {to} in diameter",
              "use a shaft {by} smaller, {to} in diameter")
LIMITER = _field("engine.rpm_limit", "engine limiter", 400.0, "turning", "raise the engine limiter by {by}, to {to}",
                 "lower the engine limiter by {by}, to {to}")
_NEARBY = (replace(HEIGHT, reach=2 * INCH), replace(AXLE, reach=3 * INCH), replace(PITCH, reach=2 * DEG))
"""The placement, no farther than somebody would go to free one part of another."""

ANGLES = (PITCH, PINION, HEIGHT, AXLE)

# --- parts ------------------------------------------------------------------------------------------------------------

_MEMBER = (
    _field("mounts.cross_member.offset", "cross member offset", 10 * INCH, "length",
           "move the cross member {by} forward, to an offset of {to}", "move the cross member {by} rearward, to an offset of {to}"),
    _field("mounts.cross_member.z", "cross member height", 3 * INCH, "length", "raise the cross member by {by}, to {to} above the track",
           "lower the cross member by {by}, to {to} above the track"))
_ENCLOSURE_SIZE = _field("containment.enclosure.outer_diameter", "enclosure diameter", 6 * INCH, "length",
                         "use an enclosure {by} larger, {to} outside", "use an enclosure {by} smaller, {to} outside")
_ENCLOSURE_REAR = _field("containment.enclosure.x_rear", "rear end of the enclosure", 40 * INCH, "length",
                         "end the enclosure {by} further forward, at X = {to}", "end the enclosure {by} further rearward, at X = {to}")
_ENCLOSURE_FRONT = _field("containment.enclosure.x_front", "front end of the enclosure", 15 * INCH, "length",
                          "begin the enclosure {by} further forward, at X = {to}", "begin the enclosure {by} further rearward, at X = {to}")
_ENCLOSURE = (_ENCLOSURE_SIZE, _ENCLOSURE_REAR, _ENCLOSURE_FRONT)
_TUNNEL = (_field("containment.tunnel.clearance", "tunnel clearance", 4 * INCH, "length",
                  "lay the tunnel {by} further out, {to} clear of what it covers",
                  "lay the tunnel {by} closer, {to} clear of what it covers"),)
_SUPPORT = (_field("mounts.support_tube.behind_plate", "support tube behind the plate", 4 * INCH, "length",
                   "move the support tube {by} rearward, to {to} behind the plate",
                   "move the support tube {by} forward, to {to} behind the plate"),
            _field("mounts.support_tube.above_crank", "height of the support tube", 4 * INCH, "length",
                   "raise the support tube by {by}, to {to} above the crank", "lower the support tube by {by}, to {to} above the crank"))
_FOOT = (_field("plates.front.foot_half_spacing", "spacing of the plate feet", 4 * INCH, "length",
                "move each plate foot {by} outward, to {to}", "move each plate foot {by} inward, to {to}"),)
_STRUT = (_field("mounts.limiter_strut.plate_y", "strut bracket outward", 4 * INCH, "length",
                 "move the strut's bracket {by} outward, to {to}", "move the strut's bracket {by} inward, to {to}"),
          _field("mounts.limiter_strut.plate_z", "strut bracket height", 4 * INCH, "length",
                 "raise the strut's bracket by {by}, to {to} from the crank",
                 "lower the strut's bracket by {by}, to {to} from the crank"),
          _field("mounts.limiter_strut.run", "run of the strut", 10 * INCH, "length", "make the strut's run {by} longer, to {to}",
                 "make the strut's run {by} shorter, to {to}"))
_PLATE = (_field("plates.mid.below_crank", "mid plate below the crank", 3 * INCH, "length",
                 "make the mid plate {by} deeper below the crank, {to}", "make the mid plate {by} shallower below the crank, {to}"),)


def _loop(key: str, field: str, label: str, reach: float, up: str, down: str, ways: tuple[float, ...] = (1.0, -1.0),
          kind: str = "length") -> Knob:
    """A field of the loop with this key."""
    name = key.partition("/")[2]

    def get(snapshot):
        loop = next((loop for loop in filled(snapshot.car).containment.loops if loop.name == name), None)
        if loop is None or snapshot.part(key) is None:
            return None
        value = getattr(loop, field)
        # An absent centre follows the shaft; a turned one is stated, from where it stands.
        return float(snapshot.scene.loop_center(loop)[2]) if value is None and field == "center_z" else value

    def car(snapshot, change):
        containment, value = snapshot.car.containment, get(snapshot) + change
        loops = tuple(_set(loop, field, value) if loop.name == name else loop for loop in containment.loops)
        return replace(snapshot.car, containment=replace(containment, loops=loops))

    def guess(snapshot, measurer, change):
        return snapshot, Changed(measurer, snapshot.part(key).shape, Change(**{name: change for name in _READ_AS[field]}))
    return Knob(f"containment.loops.{name}.{field}", f"{label} of {key}", kind, reach, get, car, up.replace("{part}", key),
                down.replace("{part}", key), ways=ways, guess=guess if field in _READ_AS else None, part=key)


_READ_AS = {"x": ("along",), "center_z": ("up",), "inner_diameter": ("wide", "tall"), "inner_width": ("wide",), "inner_height": ("tall",)}
"""Field of a loop to what changes with it on the ring that is read off."""


def loop_station(key: str) -> Knob:
    """The station of a loop."""
    return _loop(key, "x", "station", 40 * INCH, "move {part} {by} forward, to X = {to}", "move {part} {by} rearward, to X = {to}")


def loop_size(key: str, ways: tuple[float, ...] = (1.0, -1.0)) -> tuple[Knob, ...]:
    """The inside of a loop: diameter, or width and height. What is made smaller still has to let the shaft through."""
    reach = (8.0 if 1.0 in ways else 2.0) * INCH
    return tuple(_loop(key, field, f"inside {word}", reach, f"make {{part}} {{by}} {more}, {{to}} inside",
                       f"make {{part}} {{by}} {less}, {{to}} inside", ways)
                 for field, word, more, less in (("inner_diameter", "diameter", "larger", "smaller"),
                                                 ("inner_width", "width", "wider", "narrower"),
                                                 ("inner_height", "height", "taller", "lower")))


def loop_height(key: str) -> Knob:
    """The height of a loop's centre."""
    return _loop(key, "center_z", "centre height", 6 * INCH, "raise the centre of {part} by {by}, to {to}",
                 "lower the centre of {part} by {by}, to {to}")


def loop_opening(key: str) -> Knob:
    """The angle that a loop leaves open: closing it is the one change that helps."""
    knob = _loop(key, "open_angle", "open angle", 360 * DEG, "", "close {part}: {by} less is left open", kind="angle")
    return replace(knob, only=lambda snapshot: -knob.get(snapshot))


def loop_pins(key: str) -> tuple[Knob, ...]:
    """The pins of a split loop: one a side at the split, one a foot."""
    made = []
    for field, where in (("pins_split", "at the split"), ("pins_feet", "at the feet")):
        knob = _loop(key, field, f"pins {where}", 2.0, f"put {{by}} {where} of {{part}}, {{to}} in all", "", kind="count")
        made.append(replace(knob, only=lambda snapshot, knob=knob: 2 - knob.get(snapshot)))
    return tuple(made)


def of_part(key: str, ways: tuple[float, ...]) -> tuple[Knob, ...]:
    """Knobs that move or size one part, the cheapest to change first; none for a part that has none of its own. ways: what may
    help with a loop's inside, 1 for larger, -1 for smaller."""
    stem = key.partition("/")[0]
    if stem == "loop":
        return (*loop_size(key, ways), loop_height(key), loop_station(key))
    return {"enclosure": _ENCLOSURE, "enclosure_mount": _ENCLOSURE, "tunnel": _TUNNEL, "cross_member": _MEMBER, "receiver": _MEMBER,
            "transmission_mount": _MEMBER, "support_tube": _SUPPORT, "tie_tab": _SUPPORT, "plate_foot": _FOOT, "limiter_strut": _STRUT,
            "limiter_bracket": _STRUT, "limiter_seat": _STRUT, "mid_plate": _PLATE, "driveshaft": (PINION,),
            "shaft_envelope": (PINION,)}.get(stem, ())


# --- strength ---------------------------------------------------------------------------------------------------------


def _fine(knob: Knob) -> Knob:
    """Told to a thousandth of an inch, as sheet, walls and bolts are."""
    return replace(knob, places=3)


def _gauge(path: str, what: str, reach: float = 0.5 * INCH) -> Knob:
    return _fine(_field(path, f"thickness of {what}", reach, "length", f"make {what} {{by}} thicker, {{to}}", "", (1.0,)))


def _tube(path: str, what: str) -> tuple[Knob, ...]:
    larger, thicker = f"use a tube {{by}} larger for {what}, {{to}} outside", f"use a tube with a wall {{by}} thicker for {what}, {{to}}"
    return (_fine(_field(f"{path}.outer_diameter", f"diameter of {what}", 1.5 * INCH, "length", larger, "", (1.0,))),
            _fine(_field(f"{path}.wall", f"wall of {what}", 0.15 * INCH, "length", thicker, "", (1.0,))))


def _bolt(path: str, what: str) -> Knob:
    return _fine(_field(path, f"bolt of {what}", 0.4 * INCH, "length", f"use bolts {{by}} larger for {what}, {{to}}", "", (1.0,)))


_PLATES = {"front_plate": _gauge("plates.front.thickness", "the front plate"), "mid_plate": _gauge("plates.mid.thickness", "the mid plate"),
           "rail_tab": _gauge("mounts.rail_tabs.thickness", "the rail tabs"),
           "front_tab": _gauge("mounts.rail_tabs.thickness", "the rail tabs"),
           "limiter_bracket": _gauge("mounts.limiter_strut.bracket_thickness", "the strut's brackets"),
           "limiter_seat": _gauge("mounts.limiter_strut.bracket_thickness", "the strut's brackets")}
_TAB_WIDTH = _field("mounts.rail_tabs.width", "width of the rail tabs", 1.5 * INCH, "length", "make the rail tabs {by} wider, {to}", "",
                    (1.0,))
_MEMBER_TUBE = _tube("mounts.cross_member.section", "the cross member")
_TAIL = (_gauge("mounts.transmission.tab_thickness", "the tail's tab"), *_tube("mounts.transmission.tube", "the transmission mount"))
_BRACKET = (_PLATES["limiter_bracket"], _STRUT[2], _STRUT[0])
_STRENGTH = {"bolts": (_bolt("mounts.rail_tabs.bolt", "the rail tabs"),), "tab_bending": (_PLATES["rail_tab"], _TAB_WIDTH),
             "tab_welds": (_TAB_WIDTH, _PLATES["rail_tab"]), "plate_foot": _tube("plates.front.foot_tube", "the plate feet"),
             "tie_tab": (_PLATES["rail_tab"], _TAB_WIDTH), "support_tube": _tube("mounts.support_tube.section", "the support tube"),
             "tail_tab": _TAIL[:1], "tail": _TAIL, "cross_bolt": (_bolt("mounts.transmission.cross_bolt", "the cross bolt"),),
             "tail_alone": (*_MEMBER_TUBE, *_TAIL), "cross_member": _MEMBER_TUBE,
             "limiter_strut": _tube("mounts.limiter_strut.section", "the strut"),
             "limiter_bolts": (_bolt("mounts.limiter_strut.bolt", "the strut"),), "limiter_bracket": _BRACKET}
"""What a builder makes stronger first, by what is screened."""


def _stronger(finding: Finding, rule: Rule) -> tuple[Knob, ...]:
    """Knobs for a margin of the strength screening or for a hole's distance from an edge."""
    plates = [_PLATES[stem] for stem in (key.partition("/")[0] for key in finding.subjects) if stem in _PLATES]
    limiter = any(word in f"{finding.discriminator} {' '.join(finding.subjects)}" for word in ("limiter", "strut"))
    if rule.quantity == "edge_distance":
        return _STRUT[:2] if limiter else () if ("joints", "patterns") in rule.settings else (_TAB_WIDTH,)
    groups = dict(rule.settings).get("groups", ())
    held = (*plates, *(_STRUT[:2] if limiter else ())) if "bearing" in groups else ()
    return _unique((*held, *(knob for group in groups for knob in _STRENGTH.get(group, ()))))


# --- which for what ---------------------------------------------------------------------------------------------------


def _loops(snapshot: Snapshot) -> tuple[str, ...]:
    """Keys of the loops, those nearest behind the front joint first."""
    stations = {f"loop/{loop.name}": loop.x for loop in filled(snapshot.car).containment.loops}
    joint = float(snapshot.scene.front_joint[0])
    return tuple(sorted((part.key for kind in ("split_loop", "fixed_loop") for part in snapshot.kind(kind)),
                        key=lambda key: (abs(joint - stations.get(key, math.inf)), key)))


def _station_of(key: str) -> Knob:
    """The station of a loop whose shape is read off where it stands, with the change added: the distance runs along the car."""
    def turned(snapshot, measurer, change):
        return snapshot, Changed(measurer, snapshot.part(key).shape, Change(along=change))
    return replace(loop_station(key), car=None, turned=turned)


def _enclosure_length(snapshot):
    given = filled(snapshot.car).containment.enclosure
    return None if snapshot.part("enclosure") is None or given is None else given.x_front - given.x_rear


_LENGTH = Knob("containment.enclosure, x_front less x_rear", "length of the enclosure", "length", 24 * INCH, _enclosure_length, None,
               "make the enclosure {by} longer, {to}", "make the enclosure {by} shorter, {to}",
               lambda snapshot, measurer, change: (snapshot, Changed(measurer, snapshot.part("enclosure").shape, Change(longer=change))))


def by_numbers(finding: Finding, rule: Rule, snapshot: Snapshot) -> Sequence[Knob]:
    """Knobs for what follows from numbers and from the shapes as they stand."""
    quantity = rule.quantity
    if quantity in ("mount_margin", "edge_distance"):
        return _stronger(finding, rule)
    if quantity == "loop_behind_front_joint":
        loops = tuple(_station_of(key) for key in sorted(_loops(snapshot)))
        named = tuple(knob for knob in loops if finding.subjects == (f"loop/{knob.name.split('.')[2]}",))
        return (*(named or loops), AXLE)
    return {"crank_height": (HEIGHT, PITCH), "pitch": (PITCH, PINION), "axle_to_block": (AXLE,), "setback_share": (AXLE,),
            "joint_angle": ANGLES, "joint_angle_difference": ANGLES, "residual_angle": ANGLES,
            "residual_nonuniformity": ANGLES, "critical_speed": (LIMITER, TUBE, AXLE),
            "enclosure_length": (_LENGTH,)}.get(quantity, ())


def guessed(rule: Rule) -> bool:
    """Whether what is measured follows from the rings of the loops as they are read off."""
    return rule.quantity == "shaft_radial_clearance" or rule.quantity.startswith("released_shaft_")


def slow(finding: Finding, rule: Rule) -> bool:
    """Whether each try takes long: loops take up to a second to make, and bodies that overlap are intersected."""
    return (rule.quantity == "interference" or rule.quantity.startswith("released_shaft_")
            or any(key.startswith("loop/") for key in finding.subjects))


CONTAINMENT = ("loop", "enclosure")
"""First words of the keys of what the release of the shaft is measured on."""


@dataclass(frozen=True)
class OnShapes:
    """Knobs for what is measured on shapes that must be made anew: the knobs, and the keys of the parts that are looked at
    (None: all of them)."""
    knobs: tuple[Knob, ...]
    keys: frozenset[str] | None


def on_shapes(finding: Finding, rule: Rule, snapshot: Snapshot) -> OnShapes:
    """Knobs for a finding that is measured on shapes; none where its quantity takes too long to try."""
    quantity, subjects = rule.quantity, frozenset(finding.subjects)
    # What a loop is kept away from runs through it, but for the driver.
    ways = (-1.0,) if quantity == "driver_clearance" else (1.0,) if {"driveshaft", "shaft_envelope"} & subjects else (1.0, -1.0)
    # The pinion is turned last: every angle hangs on it.
    ordered = sorted(finding.subjects, key=lambda key: key in ("driveshaft", "shaft_envelope"))
    own = tuple(knob for key in ordered for knob in of_part(key, ways))
    contained = frozenset(part.key for part in snapshot.parts if part.key.partition("/")[0] in CONTAINMENT)
    if quantity in ("clearance", "interference") and len(subjects) == 2:
        return OnShapes(_unique((*own, *_placed(subjects, snapshot))), subjects)
    if quantity == "driver_clearance":
        return OnShapes(_unique((*own, *_placed(subjects, snapshot))), subjects)
    if quantity == "pan_gap_in_plan":
        return OnShapes((_MEMBER[0], AXLE), subjects)
    if quantity == "ground_clearance":
        moved = (HEIGHT, PITCH) if {"engine", "transmission"} & subjects else ()
        # Another part may be the lowest when this one is not.
        return OnShapes(_unique((*own, *moved)), None if ("of", "all_but_oil_pan") in rule.settings else subjects)
    if quantity == "shaft_radial_clearance":
        if "enclosure" in subjects:
            carriers = tuple(loop_height(key) for key in _loops(snapshot))
            return OnShapes((_ENCLOSURE_SIZE, _ENCLOSURE_REAR, *carriers), subjects)
        return OnShapes(tuple(knob for key in finding.subjects for knob in (loop_height(key), *loop_size(key, (1.0,)), loop_station(key))),
                        subjects)
    if quantity == "enclosure_over_front_joint":
        return OnShapes((_ENCLOSURE_FRONT,), subjects)
    if quantity in ("enclosure_bore_over_joint", "joint_through_enclosure"):
        return OnShapes((_ENCLOSURE_SIZE,), subjects)
    if quantity == "open_shaft_past_driver":
        return OnShapes((_ENCLOSURE_REAR, _ENCLOSURE_FRONT), contained)
    if quantity == "loop_closed_angle":
        return OnShapes(tuple(loop_opening(key) for key in finding.subjects if key.startswith("loop/")), subjects)
    if quantity == "loop_pins_missing":
        return OnShapes(tuple(knob for key in finding.subjects for knob in loop_pins(key)), subjects)
    if quantity.startswith("released_shaft_"):
        near = _loops(snapshot)[:2]
        loops = tuple(knob for key in near for knob in (loop_station(key), *loop_size(key, (-1.0,))))
        return OnShapes((*loops, _ENCLOSURE_REAR, _ENCLOSURE_SIZE), contained)
    return OnShapes((), subjects)


def _placed(subjects: Iterable[str], snapshot: Snapshot) -> tuple[Knob, ...]:
    """The placement, where one of the parts goes with the powertrain and not all do."""
    kinds = [part.moves_with for part in (snapshot.part(key) for key in subjects) if part is not None]
    return _NEARBY if any(kind != kinds[0] for kind in kinds) or (len(kinds) == 1 and kinds[0] == POWERTRAIN) else ()


def _unique(knobs: Iterable[Knob]) -> tuple[Knob, ...]:
    return tuple({knob.name: knob for knob in knobs}.values())
