"""What the pans read at many placements at once, from the numbers that their envelopes are made from: height over the track, room to the
cross member. A document's own are measured on the shapes (``clearance``, ``service_room``); tests hold the two against each other.
"""
from __future__ import annotations

import itertools
import math

import numpy as np

from ...geometry import cross_member, engine_envelope, transmission_envelope
from ...mechanics.joints import angle_between
from ...rules.quantity import NotEvaluated, Reading
from ..placements import Asked

REAL = "the real {0}'s own solid decides it, and that is only measured where it is placed"


def _corners(at: Asked, name: str) -> np.ndarray | None:
    """Corners (8, ..., 3) of the oil pan's or the transmission pan's box, car frame; None where there is none. NotEvaluated where a solid
    of the real thing stands in its place."""
    scene = at.scene
    if name == "oil_pan":
        if scene.engine.solid is not None:
            raise NotEvaluated(REAL.format("engine"))
        pan = engine_envelope.spec(scene.engine, scene).pan
        if pan is None:
            return None
        rear, front, half, top, bottom = pan
    else:
        if scene.transmission.solid is not None:
            raise NotEvaluated(REAL.format("transmission"))
        made = transmission_envelope.spec(scene.transmission, scene)
        if made.pan is None:
            return None
        ahead, behind, half, below = made.pan
        rear, front, top, bottom = -made.setback - behind, -made.setback - ahead, -made.case_below, -below
    return np.stack([scene.engine_point(*corner) for corner in itertools.product((rear, front), (-half, half), (bottom, top))])


def heights(at: Asked) -> tuple[Reading, ...]:
    """Lowest point of one pan over the track. NotEvaluated of what needs shapes: everything but the pans, or a zone."""
    of = at.settings["of"]
    if of not in ("oil_pan", "transmission_pan") or at.settings["zone"] != "all":
        raise NotEvaluated("it is measured on the shapes of all parts")
    corners = _corners(at, of)
    return () if corners is None else (Reading(corners[..., 2].min(axis=0), ("engine" if of == "oil_pan" else "transmission",)),)


def gap_in_plan(at: Asked) -> tuple[Reading, ...]:
    """Rear edge of the transmission's pan to the cross member behind it. NotEvaluated where the member's bends are beside the pan."""
    corners, member = _corners(at, "transmission_pan"), at.car.mounts.cross_member
    if corners is None or member is None:
        return ()
    made = cross_member.spec(member, at.scene)
    middle = made.points if made.bend_radius == 0.0 else made.points[2:4]
    straight = abs(middle[1][1])
    if made.bend_radius > 0.0:
        before, corner, after = (np.array(point) for point in made.points[1:4])
        straight -= made.bend_radius * math.tan(0.5 * float(angle_between(corner - before, after - corner)))
    aside = np.abs(corners[..., 1])
    if np.any(aside[np.isfinite(aside)] > straight):
        raise NotEvaluated("the cross member is bent beside the pan, so that its shape is measured")
    front = middle[0][0] + 0.5 * made.outer_diameter
    return (Reading(corners[..., 0].min(axis=0) - front, ("transmission", "cross_member"),
                    given={"disengage_travel": at.scene.transmission.disengage_travel}),)
