"""What a builder moves to bring a powertrain from where it is to where it should be, and what comes of it."""
from __future__ import annotations

import datetime
import math
from collections.abc import Iterable
from dataclasses import dataclass

from .. import catalog, model, units
from ..checks.evaluate import evaluate
from ..checks.finding import Finding, State
from ..mechanics import correction, pose_fit, set_up
from ..mechanics import scene as scenes
from ..mechanics.correction import Plan, Supports
from ..mechanics.scene import Scene
from ..record import filled
from ..rules import rule_sets
from ..snapshot import PartView, Snapshot
from .fitted import Fitted, record_of, shown
from .verdicts import from_numbers


@dataclass(frozen=True)
class Change:
    """A finding from numbers whose state the moves change."""
    before: Finding
    after: Finding


@dataclass(frozen=True, eq=False)
class Correction:
    """Moves in words, in the order of the work, and what follows at tail and front plate; scene after them; findings from numbers that they
    change. None of it hangs on shapes, which are looked at again when the car has been measured again."""
    plan: Plan
    words: tuple[str, ...]
    follows: tuple[str, ...]
    after: Scene
    changes: tuple[Change, ...]


def correct(fitted: Fitted, parts: Iterable[PartView] = (), event_date: datetime.date | None = None,
            rule_files: Iterable[str] = ()) -> Correction | None:
    """The moves; None where the readings do not say where the powertrain is."""
    if not fitted.determined:
        return None
    start = pose_fit.wanted(fitted.wanted)
    off = (fitted.fit.state - start)[:6]
    shims = [catalog.row("shims", name).thickness for name in catalog.names("shims")]
    plan = correction.plan(off, supports(fitted.car, fitted.wanted), shims, pose_fit.NORMAL_95 * fitted.fit.sigma()[:6])
    state = fitted.fit.state.copy()
    state[:6] = start[:6] + plan.after
    after = shown(fitted.car, record_of(state, fitted.fit.free))
    scene = scenes.of(after)
    selection = rule_sets.select(filled(fitted.car).rules.sets, rule_files)
    rules, parts = from_numbers(selection.rules), tuple(parts)
    old, new = ({one.id: one for one in evaluate(rules, Snapshot(car, scenes.of(car), parts), None, event_date, selection)}
                for car in (fitted.as_built, after))
    told = (State.PASSED, State.OPEN)
    changes = tuple(Change(one, new[key]) for key, one in old.items()
                    if key in new and one.state != new[key].state and {one.state, new[key].state} <= set(told))
    return Correction(plan, tuple(_words(move) for move in plan.moves), (*_follows(plan), *_rear_end(fitted)), scene, changes)


def supports(car: model.Car, scene: Scene) -> Supports:
    """Where the powertrain of a car is held."""
    whole, rails = filled(car), scene.chassis.rails
    plate, mid = whole.plates.front, whole.plates.mid
    half = rails.half_spacing or (mid.half_width if mid is not None else 330.0)
    feet = None if plate is None else plate.foot_half_spacing or plate.half_width
    tail = -scene.stack.total - scene.transmission.mount_pad.from_bell if whole.mounts.transmission is not None else None
    return Supports(None if plate is None else float(scene.engine.block_length), None if mid is None else -scene.stack.protector, tail,
                    float(half), float(feet or half))


def _words(move: correction.Move) -> str:
    size = abs(move.size)
    text = move.words(_size(size), _size(size * move.kind.front))
    if move.kind.shimmed and (pile := _pile(size)):
        text += f" ({pile})"
    return text[:1].upper() + text[1:]


def _pile(size: float) -> str:
    """Shims of a stack, the thickest first."""
    rows = sorted(((catalog.row("shims", name).thickness, name) for name in catalog.names("shims")), reverse=True)
    left = size
    used: list[str] = []
    for thickness, name in rows:
        while left > thickness - 1e-6 and len(used) < correction.STACK:
            used.append(f"shim {thickness:.2f} mm" if units.reading() == "mm" else f"{name} in" if name[-1].isdigit() else name)
            left -= thickness
    return " + ".join(used) if abs(left) < 1e-6 else ""


def _follows(plan: Plan) -> tuple[str, ...]:
    """How tail and front plate come along, where by more than a tape reads."""
    found = []
    moved = {move.kind.name for move in plan.moves}
    for name, by in (("transmission mount at the tail", plan.tail), ("front plate", plan.front)):
        if by is None or (name == "front plate" and moved & {"front plate up", "front plate left", "up", "left"}):
            continue
        up, left = by
        both = (up, ("up", "down")), (left, ("to the left", "to the right"))
        ways = [f"{_size(abs(value))} {words[value < 0.0]}" for value, words in both if abs(value) > correction.SLIDE / 2.0]
        if ways:
            found.append(f"The {name} comes {' and '.join(ways)}: set what holds it to suit")
    return tuple(found)


def _rear_end(fitted: Fitted) -> tuple[str, ...]:
    """What was measured of the rear end and is off by more than its tolerance and than anybody can tell."""
    found = []
    for one in fitted.freedoms[6:]:
        off, least = one.found - one.wanted, set_up.LEVEL if one.quantity == "angle" else set_up.TAPE
        if one.fitted and not one.lost and abs(off) > max(least, one.within):
            ways = {"pinion_pitch": ("up", "down"), "rear_joint_x": ("back", "forward"), "rear_joint_y": ("to the right", "to the left"),
                    "rear_joint_z": ("down", "up")}[one.name]
            step = round(abs(off) / correction.SLIDE) * correction.SLIDE
            size = f"{math.degrees(abs(off)):.2f} deg" if one.quantity == "angle" else _size(step)
            part = "Pinion nose" if one.name == "pinion_pitch" else "Rear joint"
            found.append(f"{part} is to come {size} {ways[off < 0.0]} at the rear suspension; the moves above leave it where it is")
    return tuple(found)


def _size(size: float) -> str:
    """A size as shims and tapes have it."""
    if units.reading() == "mm":
        return f"{size:.1f} mm"
    sixty_fourths = size / units.INCH * 64.0
    return units.inches(size, 64) if abs(sixty_fourths - round(sixty_fourths)) < 1e-6 else units.inches(size, 0, 3)


