"""Quantities of the driveshaft over axle travel: room in what contains it, and what its slip does."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from ...mechanics import travel as moving
from ...progress import Progress
from ...rules.quantity import Found, Measurement, NotEvaluated, Reading, Setting, Slices, Tries, Unmeasured, quantity
from ...sections import DRIVESHAFT, SUSPENSION
from ...snapshot import Snapshot
from ...units import sized
from ..context import Context
from ..finding import Finding
from ..placements import Asked
from .clearing import ENCLOSURE_REAR, ENCLOSURE_SIZE, LOOP_SIZES, loop_paths, loops_by_distance, on_subjects
from .containment import SHAPE_ACCURACY
from .motion import AT, LOOP_KINDS, bore, enclosure, motion, opening, position, ring_slices, rings

SHAFT = ("driveshaft",)


def _around(part) -> bool:
    """Whether a part is among those that the clearance is measured to."""
    return any(part.kind in kinds for name, kinds in (("loops", LOOP_KINDS), ("enclosure", ("enclosure",))) if name in part.settings["to"])


def _wider(finding: Finding, _settings: Mapping[str, Any], snapshot: Snapshot) -> Tries:
    """What gives the shaft room: the enclosure and what carries it, or the loop that it is about."""
    if "enclosure" in finding.subjects:
        carriers = (path for key in loops_by_distance(snapshot) for path in loop_paths(key, ("center_z",)))
        return replace(on_subjects(finding, (ENCLOSURE_SIZE, ENCLOSURE_REAR, *carriers)), by_rings=True)
    return replace(on_subjects(finding, (path for key in finding.subjects for path in (
        *loop_paths(key, ("center_z",)), *loop_paths(key, LOOP_SIZES, "+"), *loop_paths(key, ("x",))))), by_rings=True)


@quantity("shaft_radial_clearance", "length", needs=(DRIVESHAFT, SUSPENSION,), clears=_wider, effort=2, each=_around,
          to=Setting("choices", ("loops", "enclosure"), "what it is measured to", ("loops", "enclosure")),
          whip=Setting("choice", "counted", "whether the driveshaft's whip allowance is included", ("counted", "left_out")))
def shaft_radial_clearance(snapshot: Snapshot, context: Context) -> Slices:
    """Least radial clearance of the driveshaft, joints included, to the inside of each loop and of the enclosure over travel and
    wind-up; negative = it does not pass."""
    if "loops" in context.settings["to"]:
        yield from ring_slices(snapshot, context)
    moved = motion(context)
    found: list[Measurement | Unmeasured] = []
    given = context.car.driveshaft
    counted = context.settings["whip"] == "counted"
    body = moving.body_of(given, None if counted else 0.0)
    note = f"; {sized(given.whip_allowance)} of whip {'included' if counted else 'not included'}"
    if "loops" in context.settings["to"]:
        for key, part, ring in rings(snapshot, context):
            try:
                if part is None:
                    raise NotEvaluated(ring)
                yield Progress(f"inside of {key}", 0.5)
                clear = moving.ring_clearance(moved.sweep, body, opening(part, ring, context))
            except NotEvaluated as reason:
                found.append(Unmeasured((key,), str(reason)))
                continue
            if clear.point is not None:
                found.append(_measured(clear, key, note, ring.accuracy))
    if "enclosure" in context.settings["to"]:
        tube = enclosure(context)
        if tube is not None:
            clear = moving.bore_clearance(moved.sweep, body, bore(tube[1]))
            if clear.point is None:
                # An enclosure around nothing has room enough, and contains nothing.
                found.append(Measurement(None, ("enclosure",), how="the driveshaft does not pass through the enclosure at any travel"))
            else:
                found.append(_measured(clear, "enclosure", note, SHAPE_ACCURACY))
    return tuple(found)


def _measured(clear: moving.Clearance, key: str, note: str, accuracy: float) -> Measurement:
    how = f"least {sized(clear.minimum)} at {position(clear.travel, clear.windup)}{note}"
    return Measurement(clear.minimum, (key,), how=how, points=() if clear.point is None else (clear.point,), accuracy=accuracy)


def _slips(at: Any) -> Mapping[str, Any]:
    """Exposure and engagement by slip position: of a document's motion, or of many placements."""
    return {name: extreme for name, (_i, extreme) in motion(at).extremes.items()} if isinstance(at, Context) else at.slip


def _exposure(at: Asked) -> tuple[Reading, ...]:
    return tuple(Reading(_slips(at)[name].exposure, SHAFT, name) for name in at.settings["at"])


def _engagement(at: Asked) -> tuple[Reading, ...]:
    return tuple(Reading(_slips(at)[name].engagement / at.scene.transmission.spline_diameter, SHAFT, name) for name in at.settings["at"])


@quantity("slip_exposure", "length", needs=(SUSPENSION,), reads=_exposure, clears=("transmission.slip_exposed",), at=AT)
def slip_exposure(snapshot: Snapshot, context: Context) -> Found:
    """Slip yoke exposed out of the transmission: how far it can still go in before it bottoms; at 0 or below it has bottomed."""
    extremes = motion(context).extremes
    return tuple(_slip(extremes[read.discriminator][1], read.value, "exposed") for read in _exposure(context))


@quantity("spline_engagement", "ratio", needs=(SUSPENSION,), reads=_engagement, clears=("transmission.slip_exposed",), at=AT)
def spline_engagement(snapshot: Snapshot, context: Context) -> Found:
    """Spline engaged in the slip yoke, in spline diameters."""
    extremes = motion(context).extremes
    return tuple(_slip(extremes[read.discriminator][1], read.value, "engaged") for read in _engagement(context))


def _slip(extreme: moving.SlipExtreme, value: float, word: str) -> Measurement:
    length = extreme.exposure if word == "exposed" else extreme.engagement
    gone = f", {sized(abs(extreme.plunge))} {'in' if extreme.plunge > 0.0 else 'out'} from static" if extreme.name != "static" else ""
    return Measurement(float(value), SHAFT, extreme.name, how=f"{sized(length)} {word} at {position(extreme.travel, extreme.windup)}{gone}",
                       points=(extreme.front_joint,))
