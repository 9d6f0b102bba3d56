"""What holds a powertrain, as plain numbers: seats on rails and feet, ties, tail mount, strut; and how stiff each is.

Car frame; mm, N, MPa, kg. The powertrain counts as rigid, the chassis as a frame of tubes where one is given; what lies between them are
springs. ``mount_screening`` loads them.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from . import beams, limiter_strut, strength, tail_mount
from .beams import Bar
from .chassis_frame import Chassis
from .fasteners import Bolt
from .limiter_strut import Strut
from .mounts_load import Spring, shares
from .tail_mount import TailMount

__all__ = ["Bar", "FootSeat", "Hung", "Mounting", "Point", "RailSeat", "Spring", "Strip", "Strut", "TailMount", "Tie", "foot_spring",
           "rail_spring", "shares", "springs", "strut_spring", "tail_spring", "tie_spring"]

Point = tuple[float, float, float]


@dataclass(frozen=True)
class Strip:
    """Free strip of a plate between the engine's bolts and where the plate is held. width: across the strip; span: along it."""
    modulus: float
    poisson: float
    yield_strength: float
    thickness: float
    width: float
    span: float

    @property
    def stiffness(self) -> beams.StripStiffness:
        """Of the strip with both its ends clamped, N/mm."""
        return beams.strip_stiffness(self.modulus, self.poisson, self.thickness, self.width, self.span)


@dataclass(frozen=True)
class RailSeat:
    """Ear of a plate clamped by tabs on a rail; keys of plate and tabs."""
    name: str
    point: Point
    plate: str
    tabs: tuple[str, ...]
    strip: Strip
    mount: strength.RailMount


@dataclass(frozen=True)
class FootSeat:
    """Lug of a plate on a plate foot: a web in front, bolted on, and a tube down to the rail. bar: from the bolts to the
    rail's surface; direction: unit (y, z) along it; pitch: between its bolts, which stand in a column. weld_*: at the rail.
    bearing: (thickness, ultimate) of plate and web; hole, edge: of the bolts, in both. web: its width where the tube begins, and how far
    that is from the middle of the bolts."""
    name: str
    point: Point
    plate: str
    foot: str
    strip: Strip
    bolt: Bolt
    bolts: int
    pitch: float
    bar: Bar
    direction: tuple[float, float]
    weld_leg: float
    filler_strength: float
    hole: float
    edge: float
    bearing: tuple[tuple[float, float], tuple[float, float]]
    web: tuple[float, float]

    @property
    def lap(self) -> float:
        """From the middle of the plate to the middle of the web that is bolted on its face, mm."""
        return 0.5 * (self.bearing[0][0] + self.bearing[1][0])


@dataclass(frozen=True)
class Tie:
    """Tie tab between the top of the mid plate and the support tube, bent to an L. up: tie bolt to the level leg; back: plate
    to the weld under the tube; along: its place on the tube from the right end. weld: distance between the fillets in front of and behind
    the line where the leg touches the tube; tube_leg: fillet at the support tube's ends. bearing: (thickness, ultimate) of plate and tab;
    hole, edge: of the bolt, in both."""
    name: str
    point: Point
    key: str
    strip: Strip
    bolt: Bolt
    width: float
    thickness: float
    yield_strength: float
    up: float
    back: float
    along: float
    weld: float
    weld_leg: float
    tube_leg: float
    filler_strength: float
    hole: float
    edge: float
    bearing: tuple[tuple[float, float], tuple[float, float]]


@dataclass(frozen=True)
class Hung:
    """The transmission by itself: mass, center of gravity, and the middle of the bell's face, where the mid plate is."""
    mass: float
    cg: Point
    hinge: Point


@dataclass(frozen=True)
class Mounting:
    """Everything that holds one powertrain. support_tube: between its uprights (the ties pull at it); hung: what the tail mount carries
    where the plates give way. chassis: the tubes that the mounts stand on, its seats in the order of `springs`; absent: rigid."""
    mass: float
    cg: Point
    output_axis: Point
    rails: tuple[RailSeat, ...] = ()
    feet: tuple[FootSeat, ...] = ()
    ties: tuple[Tie, ...] = ()
    support_tube: Bar | None = None
    tail: TailMount | None = None
    strut: Strut | None = None
    hung: Hung | None = None
    chassis: Chassis | None = None


# --- springs ----------------------------------------------------------------------------------------------------------


def springs(mounting: Mounting) -> tuple[Spring, ...]:
    """The mounts as springs, in the order rails, feet, ties, tail, strut."""
    # What the chassis gives is not counted twice.
    rigid = mounting.chassis is None
    return (*map(rail_spring, mounting.rails), *map(foot_spring, mounting.feet),
            *(tie_spring(tie, mounting.support_tube if rigid else None) for tie in mounting.ties),
            *((tail_spring(mounting.tail, rigid),) if mounting.tail else ()), *((strut_spring(mounting.strut),) if mounting.strut else ()))


def _in_series(*stiffness: float) -> float:
    """Give in mm/N of springs one behind the other."""
    return float(sum(1.0 / k for k in stiffness))


def _spring(name: str, point: Point, give: np.ndarray) -> Spring:
    return Spring(name, point, np.linalg.inv(give))


def _line(direction: ArrayLike) -> np.ndarray:
    """Projection (3, 3) on a unit vector."""
    return np.outer(direction, direction)


def rail_spring(seat: RailSeat) -> Spring:
    """Plate strip and tabs (cantilevers from the rail to their bolts) one behind the other."""
    mount, strip = seat.mount, seat.strip.stiffness
    w, t, h = mount.tab_width, mount.tab_thickness, mount.bolt_height
    modulus = beams.STEEL_MODULUS * mount.tabs
    fore_aft, along, up = 3.0 * modulus * w * t**3 / 12.0 / h**3, 3.0 * modulus * t * w**3 / 12.0 / h**3, modulus * w * t / h
    give = _in_series(strip.normal, fore_aft), _in_series(strip.along, along), _in_series(strip.across, up)
    return _spring(seat.name, seat.point, np.diag(give))


def foot_spring(seat: FootSeat) -> Spring:
    """Plate strip and foot one behind the other. In the plane of the plate the lug cannot turn and the foot is clamped at
    both ends (12 E I / L^3), fore-aft the plate turns with it (3 E I / L^3)."""
    strip, bar = seat.strip.stiffness, seat.bar
    y, z = seat.direction
    bent = bar.length**3 / bar.bending
    give = (np.diag([1.0 / strip.normal, 1.0 / strip.along, 1.0 / strip.across]) + bent / 3.0 * _line([1.0, 0.0, 0.0])
            + bent / 12.0 * _line([0.0, -z, y]) + bar.length / (bar.modulus * bar.section.area) * _line([0.0, y, z]))
    return _spring(seat.name, seat.point, give)


def tie_spring(tie: Tie, tube: Bar | None) -> Spring:
    """Plate strip, bent tab and support tube one behind the other; both ties pull at the tube alike."""
    strip, modulus = tie.strip.stiffness, beams.STEEL_MODULUS
    second = tie.width * tie.thickness**3 / 12.0
    fore_aft, up = [strip.normal, 3.0 * modulus * second / tie.up**3], [strip.along, 3.0 * modulus * second / tie.back**3]
    if tube is not None:
        near = min(tie.along, tube.length - tie.along)
        # Two equal forces F at `near` from both ends sag there by F near^2 (3 L - 4 near) / (6 E I).
        sag = 6.0 * tube.bending / (near**2 * (3.0 * tube.length - 4.0 * near))
        fore_aft.append(sag)
        up.append(sag)
    return _spring(tie.name, tie.point, np.diag([_in_series(*fore_aft), 1.0 / float(strip.across), _in_series(*up)]))


def tail_spring(tail: TailMount, on_member: bool = True) -> Spring:
    """Tab, tube and, unless the chassis gives it, cross member one behind the other."""
    return _spring("tail", tail.point, tail_mount.give(tail, on_member))


def strut_spring(strut: Strut) -> Spring:
    """Along its axis only."""
    return Spring("limiter strut", strut.point, limiter_strut.stiffness(strut))
