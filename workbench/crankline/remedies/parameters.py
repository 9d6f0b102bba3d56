"""Parameters of a car that may be turned to clear a finding: which are worth trying for it, and what turning one means in words."""
from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from .. import model
from ..measure.measurer import Measurer
from ..mechanics.joints import phase_error
from ..record import Described, entries, filled
from ..sections import look
from ..snapshot import Snapshot
from ..units import DEG, INCH
from .altered_reading import Change, Changed

Turned = tuple[Snapshot, Measurer | None]


@dataclass(frozen=True)
class Parameter:
    """A parameter that may be turned. name: its path in the car file; label: what a builder calls it; reach: how far it is tried,
    inside unit. get: its value, None where the car has none to turn. car: the snapshot's car with the value changed by so much;
    ValueError where the field cannot hold that. up, down: words for more and for less of it, in which {by} and {to} stand for the
    change and for what it becomes. turned: where there is no such car, the snapshot with a measurer that adds the change to what it
    reads off a shape, for what is measured along one direction only. ways: which directions are tried. only: the one change that
    is tried, where there is but one that helps. places: decimals that are told; counted: of what there are more, where it is a number.
    guess: as ``turned``, for a first answer that is then proved on the shape made again; part: key of the part that this reads off."""
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
    counted: str = "pin"
    guess: Callable[[Snapshot, Measurer | None, float], Turned] | None = None
    part: str = ""

    def changed(self, snapshot: Snapshot, change: float) -> model.Car:
        """The snapshot's car with the value changed by so much; ValueError where the field cannot hold that, or is of no car."""
        if self.car is None:
            raise ValueError(f"{self.name} is not a field of the car")
        return self.car(snapshot, change)


def _set(record: Any, field: str, value: float) -> Any:
    entry = entries(type(record))[field]
    if not entry.low <= value <= entry.high:
        raise ValueError(f"{field}: {value:g} is out of its range")
    return replace(record, **{field: value})


def _field(path: str, label: str, reach: float, kind: str, up: str, down: str, ways: tuple[float, ...] = (1.0, -1.0)) -> Parameter:
    """A parameter that is one field of a record of the car."""
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

    def car(snapshot, change):
        value = get(snapshot) + change
        return rebuilt(snapshot.car, sections, round(value) if kind == "count" else value)
    return Parameter(path, label, kind, reach, get, car, up, down, ways=ways)


# --- the powertrain and its driveline ---------------------------------------------------------------------------------

HEIGHT = _field("placement.crank_height", "crank height", 8 * INCH, "length", "raise the crank by {by}, to {to}",
                "lower the crank by {by}, to {to}")
AXLE = _field("placement.axle_to_block", "axle-to-block", 15 * INCH, "length", "move the powertrain {by} forward, to axle-to-block {to}",
              "move the powertrain {by} rearward, to axle-to-block {to}")
PITCH = _field("placement.pitch", "pitch", 4 * DEG, "angle", "raise the pitch by {by}, to {to}", "lower the pitch by {by}, to {to}")
PINION = _field("rear_end.pinion_pitch", "pinion pitch", 4 * DEG, "angle", "turn the pinion nose down by {by}, to {to}",
                "turn the pinion nose up by {by}, to {to}")
TUBE = _field("driveshaft.outer_diameter", "shaft diameter", 2 * INCH, "length", "use a shaft {by} larger, {to} outside",
              "use a shaft {by} smaller, {to} outside")
LIMITER = _field("engine.rpm_limit", "engine limiter", 400.0, "turning", "raise the rev limiter by {by}, to {to}",
                 "lower the rev limiter by {by}, to {to}")
_YOKES = _field("driveshaft.phase", "phase of the yokes", 90 * DEG, "angle",
                "turn the rear yoke ahead by {by}, in phase with the front one",
                "turn the rear yoke back by {by}, in phase with the front one")


def _out_of_phase(snapshot: Snapshot) -> float | None:
    """The yokes' angle, None where they are in phase: nobody turns them out of it to make up for joint angles."""
    shaft = filled(snapshot.car).driveshaft
    return _YOKES.get(snapshot) if shaft is not None and phase_error(shaft.phase) > 1e-9 else None


def _in_phase(snapshot: Snapshot) -> float:
    """The turn of the rear yoke that brings the yokes in phase, the short way."""
    phase = filled(snapshot.car).driveshaft.phase
    return -((phase + 90 * DEG) % (180 * DEG) - 90 * DEG)


PHASE = replace(_YOKES, get=_out_of_phase, only=_in_phase)

# --- parts ------------------------------------------------------------------------------------------------------------

MEMBER = (
    _field("mounts.cross_member.offset", "cross member offset", 10 * INCH, "length",
           "move the cross member {by} forward, to an offset of {to}", "move the cross member {by} rearward, to an offset of {to}"),
    _field("mounts.cross_member.z", "cross member height", 3 * INCH, "length", "raise the cross member by {by}, to {to} above the track",
           "lower the cross member by {by}, to {to} above the track"))
ENCLOSURE_SIZE = _field("containment.enclosure.outer_diameter", "enclosure diameter", 6 * INCH, "length",
                         "use an enclosure {by} larger, {to} outside", "use an enclosure {by} smaller, {to} outside")
ENCLOSURE_REAR = _field("containment.enclosure.x_rear", "rear end of the enclosure", 40 * INCH, "length",
                         "end the enclosure {by} farther forward, at X = {to}", "end the enclosure {by} farther rearward, at X = {to}")
ENCLOSURE_FRONT = _field("containment.enclosure.x_front", "front end of the enclosure", 15 * INCH, "length",
                          "begin the enclosure {by} farther forward, at X = {to}", "begin the enclosure {by} farther rearward, at X = {to}")
_ENCLOSURE = (ENCLOSURE_SIZE, ENCLOSURE_REAR, ENCLOSURE_FRONT)
_TUNNEL = (_field("containment.tunnel.clearance", "tunnel clearance", 4 * INCH, "length",
                  "lay the tunnel {by} farther out, {to} clear of what it covers",
                  "lay the tunnel {by} closer, {to} clear of what it covers"),)
SUPPORT = (_field("mounts.support_tube.behind_plate", "support tube behind the plate", 4 * INCH, "length",
                   "move the support tube {by} rearward, to {to} behind the plate",
                   "move the support tube {by} forward, to {to} behind the plate"),
            _field("mounts.support_tube.above_crank", "height of the support tube", 4 * INCH, "length",
                   "raise the support tube by {by}, to {to} above the crank", "lower the support tube by {by}, to {to} above the crank"))
_FOOT = (_field("plates.front.foot_half_spacing", "spacing of the plate feet", 4 * INCH, "length",
                "move each plate foot {by} outward, to {to}", "move each plate foot {by} inward, to {to}"),)
STRUT = (_field("mounts.limiter_strut.plate_y", "strut bracket outward", 4 * INCH, "length",
                 "move the strut's bracket {by} outward, to {to}", "move the strut's bracket {by} inward, to {to}"),
          _field("mounts.limiter_strut.plate_z", "strut bracket height", 4 * INCH, "length",
                 "raise the strut's bracket by {by}, to {to} from the crank",
                 "lower the strut's bracket by {by}, to {to} from the crank"),
          _field("mounts.limiter_strut.run", "run of the strut", 10 * INCH, "length", "make the strut's run {by} longer, to {to}",
                 "make the strut's run {by} shorter, to {to}"))
_PLATE = (_field("plates.mid.below_crank", "mid plate below the crank", 3 * INCH, "length",
                 "make the mid plate {by} deeper below the crank, {to}", "make the mid plate {by} shallower below the crank, {to}"),)


def _put(record: Any, path: str, value: float) -> Any:
    name, _, rest = path.partition(".")
    return replace(record, **{name: _put(getattr(record, name), rest, value)}) if rest else _set(record, name, value)


def _loop(key: str, field: str, label: str, reach: float, up: str, down: str, ways: tuple[float, ...] = (1.0, -1.0),
          kind: str = "length") -> Parameter:
    """A field of the loop with this key."""
    name = key.partition("/")[2]

    def get(snapshot):
        loop = next((loop for loop in filled(snapshot.car).containment.loops if loop.name == name), None)
        if loop is None or snapshot.part(key) is None:
            return None
        value = look(loop, field)
        # An absent center follows the shaft; a turned one is stated, from where it stands.
        return float(snapshot.scene.loop_center(loop)[2]) if value is None and field == "center_z" else value

    def car(snapshot, change):
        containment, value = snapshot.car.containment, get(snapshot) + change
        loops = tuple(_put(loop, field, value) if loop.name == name else loop for loop in containment.loops)
        return replace(snapshot.car, containment=replace(containment, loops=loops))

    def guess(snapshot, measurer, change):
        return snapshot, Changed(measurer, snapshot.part(key).shape, Change(**dict.fromkeys(_READ_AS[field], change)))
    return Parameter(f"containment.loops.{name}.{field}", f"{label} of {key}", kind, reach, get, car, up.replace("{part}", key),
                down.replace("{part}", key), ways=ways, guess=guess if field in _READ_AS else None, part=key)


_READ_AS = {"x": ("along",), "center_z": ("up",), "inner_diameter": ("wide", "tall"), "inner_width": ("wide",), "inner_height": ("tall",)}
"""Field of a loop to what changes with it on the ring that is read off."""


def loop_station(key: str) -> Parameter:
    """The station of a loop."""
    return _loop(key, "x", "station", 40 * INCH, "move {part} {by} forward, to X = {to}", "move {part} {by} rearward, to X = {to}")


def loop_size(key: str, ways: tuple[float, ...] = (1.0, -1.0)) -> tuple[Parameter, ...]:
    """The inside of a loop: diameter, or width and height. What is made smaller still has to let the shaft through."""
    reach = (8.0 if 1.0 in ways else 2.0) * INCH
    return tuple(_loop(key, field, f"inside {word}", reach, f"make {{part}} {{by}} {more}, {{to}} inside",
                       f"make {{part}} {{by}} {less}, {{to}} inside", ways)
                 for field, word, more, less in (("inner_diameter", "diameter", "larger", "smaller"),
                                                 ("inner_width", "width", "wider", "narrower"),
                                                 ("inner_height", "height", "taller", "lower")))


def loop_height(key: str) -> Parameter:
    """The height of a loop's center."""
    return _loop(key, "center_z", "center height", 6 * INCH, "raise the center of {part} by {by}, to {to}",
                 "lower the center of {part} by {by}, to {to}")


def _now(parameter: Parameter, snapshot: Snapshot) -> float:
    """Its value; 0 where the car has none to turn."""
    return parameter.get(snapshot) or 0.0


def _up_to_two(parameter: Parameter) -> Callable[[Snapshot], float]:
    return lambda snapshot: 2 - _now(parameter, snapshot)


def loop_opening(key: str) -> Parameter:
    """The angle that a loop leaves open: closing it is the one change that helps."""
    parameter = _loop(key, "open_angle", "open angle", 360 * DEG, "", "close {part}: {by} less is left open", kind="angle")
    return replace(parameter, only=lambda snapshot: -_now(parameter, snapshot))


def loop_pins(key: str) -> tuple[Parameter, ...]:
    """The pins of a split loop: one a side at the split, one a foot."""
    made = []
    for field, where in (("pins_split", "at the split"), ("pins_feet", "at the feet")):
        parameter = _loop(key, field, f"pins {where}", 2.0, f"put {{by}} {where} of {{part}}, {{to}} in all", "", kind="count")
        made.append(replace(parameter, only=_up_to_two(parameter)))
    return tuple(made)


def station_of(key: str) -> Parameter:
    """The station of a loop whose shape is read off where it stands, with the change added: the distance runs along the car."""
    def turned(snapshot, measurer, change):
        return snapshot, Changed(measurer, snapshot.part(key).shape, Change(along=change))
    return replace(loop_station(key), car=None, turned=turned)


# --- strength ---------------------------------------------------------------------------------------------------------


def _fine(parameter: Parameter) -> Parameter:
    """Told to a thousandth of an inch, as sheet, walls and bolts are."""
    return replace(parameter, places=3)


def _gauge(path: str, what: str, ways: tuple[float, ...] = (1.0,)) -> Parameter:
    return _fine(_field(path, f"thickness of {what}", 0.5 * INCH, "length", f"make {what} {{by}} thicker, {{to}}",
                        f"make {what} {{by}} thinner, {{to}}", ways))


def _tube(path: str, what: str) -> tuple[Parameter, ...]:
    larger, thicker = f"use a tube {{by}} larger for {what}, {{to}} outside", f"use a tube with a wall {{by}} thicker for {what}, {{to}}"
    return (_fine(_field(f"{path}.outer_diameter", f"diameter of {what}", 1.5 * INCH, "length", larger, "", (1.0,))),
            _fine(_field(f"{path}.wall", f"wall of {what}", 0.15 * INCH, "length", thicker, "", (1.0,))))


def _bolt(path: str, what: str) -> Parameter:
    return _fine(_field(path, f"bolt of {what}", 0.4 * INCH, "length", f"use bolts {{by}} larger for {what}, {{to}}", "", (1.0,)))


_FRONT_PLATE = _gauge("plates.front.thickness", "the front plate")
_TABS = _gauge("mounts.rail_tabs.thickness", "the rail tabs")
_BRACKETS = _gauge("mounts.limiter_strut.bracket_thickness", "the strut's brackets")
TAB_WIDTH = _field("mounts.rail_tabs.width", "width of the rail tabs", 1.5 * INCH, "length", "make the rail tabs {by} wider, {to}", "",
                    (1.0,))
_MEMBER_TUBE = _tube("mounts.cross_member.section", "the cross member")
_TAIL = (_gauge("mounts.transmission.tab_thickness", "the tail's tab"), *_tube("mounts.transmission.tube", "the transmission mount"))
_TAIL_BOLTS = replace(_field("mounts.transmission.tail_bolts", "number of tail bolts", 6.0, "count",
                             "use {by} more into the tail, {to} in all",
                             "", (1.0,)), counted="bolt")
_STRENGTH = (_bolt("mounts.rail_tabs.bolt", "the rail tabs"), *_tube("plates.front.foot_tube", "the plate feet"),
             _gauge("plates.front.foot_web", "the webs of the plate feet"),
             *_tube("mounts.support_tube.section", "the support tube"), _TAIL_BOLTS, *_TAIL,
             _bolt("mounts.transmission.cross_bolt", "the cross bolt"), *_MEMBER_TUBE, *_tube("mounts.limiter_strut.section", "the strut"),
             _bolt("mounts.limiter_strut.bolt", "the strut"),
             *(one for name in ("rails", "uprights", "footwell_tube", "rear_cross_member")
               for one in _tube(f"chassis.{name}.section", f"the {name.replace('_', ' ')}")))


def loop_section(key: str) -> tuple[Parameter, ...]:
    """The section of a loop: tube or strap, whichever it has."""
    return tuple(_fine(_loop(key, field, f"{word} of the section", reach, f"make {{part}} of {words}, {{to}}", "", (1.0,)))
                 for field, word, reach, words in (("section.outer_diameter", "diameter", 1.0 * INCH, "tube {by} larger"),
                                                   ("section.wall", "wall", 0.1 * INCH, "tube with a wall {by} thicker"),
                                                   ("strap_thickness", "thickness", 0.5 * INCH, "strap {by} thicker"),
                                                   ("strap_width", "width", 2.0 * INCH, "strap {by} wider")))


ENCLOSURE_WALL = _fine(_field("containment.enclosure.wall", "wall of the enclosure", 0.25 * INCH, "length",
                              "use an enclosure with a wall {by} thicker, {to}", "", (1.0,)))

# --- stack, slip and chassis ------------------------------------------------------------------------------------------

SPACERS = _fine(_field("transmission.pad_spacers", "pad spacers", 2.0 * INCH, "length",
                       "put {by} more of spacers on the converter's pads, {to} in all",
                       "put {by} less of spacers on the converter's pads, {to} in all"))
STACK = tuple(_gauge(f"plates.{name}.thickness", f"the {what}", (-1.0, 1.0))
              for name, what in (("protector", "block protector"), ("mid", "mid plate")))
DOWEL = _fine(_field("engine.dowel_length", "dowels", 1.0 * INCH, "length", "use dowels that stick out {by} more, {to}",
                     "use dowels that stick out {by} less, {to}"))
BELL_BOLTS = _fine(_field("transmission.bell_bolts.length", "bolts of the bell", 2.0 * INCH, "length",
                          "use bellhousing bolts {by} longer, {to} under the head",
                          "use bellhousing bolts {by} shorter, {to} under the head"))
OPENINGS = (_field("plates.mid.center_opening", "center opening of the mid plate", 6 * INCH, "length",
                   "make the mid plate's center opening {by} larger, {to}", "make the mid plate's center opening {by} smaller, {to}"),
            *(_field(f"{path}.diameter", "opening for the starter", 2 * INCH, "length",
                     "make the starter's opening {by} larger, {to}", "make the starter's opening {by} smaller, {to}")
              for path in ("plates.mid.starter", "transmission.starter")))
SHAFT_WALL = _fine(_field("driveshaft.wall", "shaft wall", 0.25 * INCH, "length", "use a shaft with a wall {by} thicker, {to}", "", (1.0,)))
WHEELBASE = _field("car.wheelbase", "wheelbase", 30 * INCH, "length", "make the wheelbase {by} longer, {to}",
                   "make the wheelbase {by} shorter, {to}")

PIVOT = _field("rear_end.suspension.pivot.x", "pivot of the ladder bars", 24 * INCH, "length",
               "put the pivot {by} farther forward, at X = {to}",
               "put the pivot {by} farther rearward, at X = {to}")


def _drawn_out(snapshot: Snapshot, change: float) -> model.Car:
    """The car with a shaft that much shorter: the yoke is out by it, less of the spline is engaged, the joint stands further back."""
    held = filled(snapshot.car.transmission)
    changes = {"slip_exposed": change, "joint_from_seal": change, "spline_engaged": -change}
    made = snapshot.car.transmission
    for name, by in changes.items():
        made = _set(made, name, getattr(held, name) + by)
    return replace(snapshot.car, transmission=made)


SLIP = Parameter("transmission.slip_exposed, joint_from_seal with it and spline_engaged less", "length of the shaft", "length", 3 * INCH,
            lambda snapshot: filled(snapshot.car).transmission.slip_exposed, _drawn_out,
            "have the shaft made {by} shorter, with {to} of the slip yoke exposed",
            "have the shaft made {by} longer, with {to} of the slip yoke exposed")


def _of_chassis(path: str, label: str, up: str, down: str, reach: float = 12 * INCH) -> Parameter:
    """A field of a section of the chassis, which sketches may give as well as numbers: it is changed in the scene."""
    section, field = path.split(".")

    def get(snapshot):
        held = getattr(snapshot.scene.chassis, section)
        return None if held is None else getattr(held, field)

    def turned(snapshot, measurer, change):
        scene, held = snapshot.scene, getattr(snapshot.scene.chassis, section)
        chassis = replace(scene.chassis, **{section: _set(held, field, getattr(held, field) + change)})
        return replace(snapshot, scene=replace(scene, chassis=chassis)), measurer
    return Parameter(f"chassis.{path}", label, "length", reach, get, None, up, down, turned)


def _station(section: str, what: str) -> Parameter:
    return _of_chassis(f"{section}.x", f"station of {what}", f"move {what} {{by}} forward, to X = {{to}}",
                       f"move {what} {{by}} rearward, to X = {{to}}")


def _level(section: str, what: str, field: str = "z") -> Parameter:
    return _of_chassis(f"{section}.{field}", f"height of {what}", f"raise {what} by {{by}}, to {{to}} above the track",
                       f"lower {what} by {{by}}, to {{to}} above the track", 6 * INCH)


def _apart(section: str, what: str) -> Parameter:
    return _of_chassis(f"{section}.half_spacing", f"spacing of {what}",
                       f"set {what} {{by}} farther out on each side, {{to}} from the middle",
                       f"set {what} {{by}} farther in on each side, {{to}} from the middle", 4 * INCH)


RAIL_ENDS = tuple(_of_chassis(f"rails.{field}", f"{end} end of the rails", "end the rails {by} farther forward, at X = {to}",
                              "end the rails {by} farther rearward, at X = {to}", 40 * INCH)
                  for field, end in (("x_front", "front"), ("x_rear", "rear")))
FIREWALL = _station("firewall", "the firewall line")
UPRIGHTS = _station("uprights", "the uprights")
_CHASSIS = (_apart("rails", "the main rails"), _level("rails", "the main rails", "height"),
            _level("rails", "the second rails", "upper_height"), _apart("uprights", "the uprights"), UPRIGHTS,
            _level("footwell_tube", "the footwell tube"), _station("footwell_tube", "the footwell tube"),
            _level("rear_cross_member", "the rear cross member"), _station("rear_cross_member", "the rear cross member"),
            _level("upper_fore_aft", "the upper members"), _apart("upper_fore_aft", "the upper members"))


def _enclosure_length(snapshot):
    given = filled(snapshot.car).containment.enclosure
    return None if snapshot.part("enclosure") is None or given is None else given.x_front - given.x_rear


def _longer(snapshot: Snapshot, measurer: Measurer | None, change: float) -> Turned:
    part = snapshot.part("enclosure")
    if part is None or measurer is None:        # nothing is measured: the car alone is asked for
        return snapshot, measurer
    return snapshot, Changed(measurer, part.shape, Change(longer=change))


ENCLOSURE_LENGTH = Parameter("containment.enclosure, x_front less x_rear", "length of the enclosure", "length", 24 * INCH,
                             _enclosure_length, None, "make the enclosure {by} longer, {to}", "make the enclosure {by} shorter, {to}",
                             _longer)

REACH = {"length": 4 * INCH, "angle": 4 * DEG, "count": 6.0}
"""How far a field is tried that has no words of its own, by its kind."""


def described(path: str) -> Parameter:
    """The parameter of a field as its record describes it; KeyError for a path of no number."""
    entry: Described | None = None
    record: type | None = model.Car
    for name in path.split("."):
        entry = entries(record).get(name) if record is not None else None
        record = entry.record if entry is not None and entry.kind == "record" else None
    if entry is None or entry.kind not in REACH:
        raise KeyError(f"{path}: no length, angle or count of a car")
    what = f"{entry.doc} of {path.split('.')[-2].replace('_', ' ')}"
    return _field(path, what, REACH[entry.kind], entry.kind, f"make the {what} {{by}} more, {{to}}", f"make the {what} {{by}} less, {{to}}")


BY_PATH: dict[str, Parameter] = {
    **{parameter.name: parameter for parameter in (
        HEIGHT, AXLE, PITCH, PINION, TUBE, SHAFT_WALL, LIMITER, PHASE, *MEMBER, *_ENCLOSURE, ENCLOSURE_WALL, *_TUNNEL, *SUPPORT, *_FOOT,
        *STRUT, *_PLATE, _FRONT_PLATE, _TABS, TAB_WIDTH, _BRACKETS, *_STRENGTH, SPACERS, *STACK, DOWEL, BELL_BOLTS, *OPENINGS, WHEELBASE,
        PIVOT, *RAIL_ENDS, FIREWALL, *_CHASSIS)},
    "transmission.slip_exposed": SLIP, "containment.enclosure.length": ENCLOSURE_LENGTH}
"""Path, as parts and quantities declare it, to the parameter with its words."""
