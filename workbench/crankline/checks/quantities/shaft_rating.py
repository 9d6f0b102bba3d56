"""Quantities of what the driveshaft's makers rate it for: its U-joints by their series, the whole shaft by the maker's own figures."""
from __future__ import annotations

import datetime

from ... import catalog
from ...mechanics import shaft
from ...rules.quantity import Found, Measurement, Reading, Setting, formula, quantity
from ...sections import DRIVESHAFT
from ...snapshot import Snapshot
from ...units import torque_text
from ..context import Context
from ..placements import Asked
from ..strength import load_model
from .driveline import SHAFT, shaft_speed_max
from .whirl import SHOCK, centers

GOVERNS = {"stated": "as stated", "torque": "the smallest that carries the torque and fits the swing diameter",
           "room": "the largest that fits the swing diameter: no larger one has room"}

BOUGHT = "its maker decides what it carries, and no dimension of the car changes the torque"


def _torque(context):
    """Launch torque, and how it is told."""
    torque = load_model.launch(context.car, context.scene, context.settings["shock_factor"])
    source = "limited by tire grip" if torque.grip < torque.engine else "limited by the engine"
    return torque, f"shaft torque {torque_text(torque.shaft)} ({source}) times shock factor {torque.shock_factor:g}"


@quantity("joint_torque", "torque", needs=(DRIVESHAFT,), gives=("joint_series_torque",), no_remedy=BOUGHT, shock_factor=SHOCK,
          known=Setting("choice", None, "series whose torque is published, or remembered", ("published", "memory")))
def joint_torque(snapshot: Snapshot, context: Context) -> Found:
    """Torque on the U-joints at launch, shock factor included, of a series whose rating is known in one way."""
    tube, (torque, torque_words) = context.car.driveshaft, _torque(context)
    series = catalog.joint_series(tube.joint_swing_diameter, torque.mounts, tube.joint_series)
    known = context.settings["known"]
    if series is None:
        return (Measurement(None, SHAFT, how="no joint series in the catalog fits the swing diameter; give driveshaft.joint_series"),
                ) if known == "published" else ()
    if series.row.torque_basis != known:
        return ()
    how = f"{torque_words}; series {series.name}, {GOVERNS[series.governs]}"
    return (Measurement(torque.mounts, SHAFT, how=how, points=centers(context.scene), given={"joint_series_torque": series.row.torque}),)


@formula("joint_series_rating", "torque", "joint_series_torque")
def joint_series_rating(given, settings):
    """Least elastic limit of one joint of the series."""
    return given["joint_series_torque"]


@quantity("shaft_rating_missing", "count", needs=(DRIVESHAFT,), no_remedy="the maker's rating has to be asked for")
def shaft_rating_missing(snapshot: Snapshot, context: Context) -> Found:
    """How many of torque, speed and date the maker's rating of the driveshaft lacks."""
    context.require_scene()
    tube = context.car.driveshaft
    lacking = [key for key in ("rated_torque", "rated_speed", "rating_date") if getattr(tube, key) is None]
    how = f"not stated: {', '.join(f'driveshaft.{key}' for key in lacking)}" if lacking else f"rated on {tube.rating_date}"
    if not lacking and datetime.date.fromisoformat(tube.rating_date) > context.event_date:
        lacking, how = ["rating_date"], f"driveshaft.rating_date {tube.rating_date} is later than the event, {context.event_date}"
    return (Measurement(float(len(lacking)), SHAFT, how=how),)


def _shaft_torque(at: Asked) -> tuple[Reading, ...]:
    rated = at.car.driveshaft.rated_torque
    if rated is None:
        return ()
    return (Reading(load_model.launch(at.car, at.scene, at.settings["shock_factor"]).mounts, SHAFT, given={"rated_torque": rated}),)


@quantity("shaft_torque", "torque", needs=(DRIVESHAFT,), reads=_shaft_torque, gives=("rated_torque",), no_remedy=BOUGHT, shock_factor=SHOCK)
def shaft_torque(snapshot: Snapshot, context: Context) -> Found:
    """Driveshaft torque at launch, shock factor included, where the maker has rated it."""
    torque, torque_words = _torque(context)
    rated = context.car.driveshaft.rated_torque
    if rated is None:
        return ()
    return (Measurement(torque.mounts, SHAFT, how=torque_words, points=centers(context.scene), given={"rated_torque": rated}),)


@quantity("shaft_speed", "turning", needs=(DRIVESHAFT,), clears=("-engine.rpm_limit",), gives=("rated_speed",))
def shaft_speed(snapshot: Snapshot, context: Context) -> Found:
    """Top speed of the driveshaft, limiter over top gear, where the maker has rated it."""
    rated = context.car.driveshaft.rated_speed
    if rated is None:
        return ()
    speed = shaft_speed_max(context.car)
    return (Measurement(speed, SHAFT, how=f"{speed / shaft.RPM:,.0f} rpm at the rev limiter in top gear", points=centers(context.scene),
                        given={"rated_speed": rated}),)


@formula("maker_torque", "torque", "rated_torque")
def maker_torque(given, settings):
    """Torque that the driveshaft's maker states."""
    return given["rated_torque"]


@formula("maker_speed", "turning", "rated_speed")
def maker_speed(given, settings):
    """Speed that the driveshaft's maker states."""
    return given["rated_speed"]
