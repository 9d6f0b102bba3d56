"""What holds a powertrain, as plain numbers: seats on rails and feet, ties, tail mount, strut; and how stiff each is.

Car frame; mm, N, MPa, kg. Powertrain and chassis count as rigid; what lies between them are springs. ``mount_screening`` loads them.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from . import beams, shaft, strength
from .fasteners import Bolt

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
class Bar:
    """A round tube of some length, clamped at one end unless said otherwise."""
    outer_diameter: float
    wall: float
    length: float
    yield_strength: float
    modulus: float = strength.STEEL_MODULUS
    shear_modulus: float = 77_000.0

    @property
    def section(self) -> shaft.TubeSection:
        """Its section."""
        return shaft.tube_section(self.outer_diameter, self.wall)

    @property
    def bending(self) -> float:
        """E I, N.mm2."""
        return self.modulus * float(self.section.second_moment)

    def stress(self, axial, moment, torque=0.0) -> np.ndarray:
        """Equivalent stress, MPa: axial and bending add up, twist joins them as in sqrt(s^2 + 3 t^2) (von Mises)."""
        direct = np.abs(axial) / self.section.area + np.abs(moment) / beams.tube_modulus(self.outer_diameter, self.wall)
        return np.sqrt(direct**2 + 3.0 * shaft.torsion_stress(np.abs(torque), self.outer_diameter, self.wall) ** 2)


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
    rail's surface; direction: unit (y, z) along it; pitch: between its bolts, which stand in a column. weld_*: at the rail."""
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


@dataclass(frozen=True)
class Tie:
    """Tie tab between the top of the mid plate and the support tube, bent to an L. up: tie bolt to the level leg; back: plate
    to the weld under the tube; along: its place on the tube from the right end."""
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


@dataclass(frozen=True)
class TailMount:
    """Pad on the transmission's tail, tube, cross bolt in a receiver, cross member between the rails.

    point: the pad; bolt_point: the cross bolt; member_point: the cross member's axis below. tube: pad to cross bolt; member:
    rail to rail, offset (rearward, as a size) in its middle; receiver_*: its sleeve, welded on the member.
    """
    point: Point
    bolt_point: Point
    member_point: Point
    tube: Bar
    bolt: Bolt
    receiver_diameter: float
    receiver_wall: float
    fit: float
    weld_leg: float
    filler_strength: float
    member: Bar
    offset: float = 0.0


@dataclass(frozen=True)
class Strut:
    """Limiter strut between a plate and a rail: rod end on the plate, unit vector along it, tube, plate's key."""
    point: Point
    direction: Point
    tube: Bar
    plate: str


@dataclass(frozen=True)
class Mounting:
    """Everything that holds one powertrain. support_tube: between its uprights (the ties pull at it)."""
    mass: float
    cg: Point
    output_axis: Point
    rails: tuple[RailSeat, ...] = ()
    feet: tuple[FootSeat, ...] = ()
    ties: tuple[Tie, ...] = ()
    support_tube: Bar | None = None
    tail: TailMount | None = None
    strut: Strut | None = None


# --- springs ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Spring:
    """One mount as a spring: name, point in the car frame, stiffness (3, 3) in N/mm: force on it over its displacement."""
    name: str
    point: Point
    stiffness: np.ndarray


def springs(mounting: Mounting) -> tuple[Spring, ...]:
    """The mounts as springs, in the order rails, feet, ties, tail, strut."""
    return (*map(rail_spring, mounting.rails), *map(foot_spring, mounting.feet),
            *(tie_spring(tie, mounting.support_tube) for tie in mounting.ties),
            *((tail_spring(mounting.tail),) if mounting.tail else ()), *((strut_spring(mounting.strut),) if mounting.strut else ()))


def shares(held: Sequence[Spring], force: ArrayLike, moment: ArrayLike) -> np.ndarray:
    """Forces (..., n, 3) in N that a rigid powertrain puts on its springs; their sum is force, their moment is moment.

    As ``mounts_load.mount_forces``, for springs that push across as they give along (a leaning foot, a strut). force (..., 3);
    moment (..., 3) about the car's origin, N.mm. ValueError where the springs leave a motion free.
    """
    points, stiffness = np.array([spring.point for spring in held]), np.array([spring.stiffness for spring in held])
    force, moment = np.broadcast_arrays(np.asarray(force, dtype=float), np.asarray(moment, dtype=float))
    # Turning about the middle of the springs, in units of their extent, keeps the equations well scaled.
    middle = points.mean(axis=0)
    extent = max(float(np.linalg.norm(points - middle, axis=-1).max()), 1e-9)
    arm, unit = (points - middle) / extent, np.eye(3)
    moved = np.concatenate([np.broadcast_to(unit, (len(held), 3, 3)), np.cross(unit, arm[:, None]).swapaxes(1, 2)], axis=-1)
    matrix = np.einsum("nij,nik,nkl->jl", moved, stiffness, moved)
    if not np.linalg.cond(matrix) < 1e12:
        raise ValueError("mounts: found a motion of the powertrain that no mount holds; add a front plate, a transmission mount or a "
                         "support tube")
    load = np.concatenate([force, (moment - np.cross(middle, force)) / extent], axis=-1)
    motion = np.linalg.solve(matrix, load[..., None])[..., 0]
    return np.einsum("nij,njk,...k->...ni", stiffness, moved, motion)


def _beside(*stiffness: float) -> float:
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
    modulus = strength.STEEL_MODULUS * mount.tabs
    fore_aft, along, up = 3.0 * modulus * w * t**3 / 12.0 / h**3, 3.0 * modulus * t * w**3 / 12.0 / h**3, modulus * w * t / h
    give = _beside(strip.normal, fore_aft), _beside(strip.along, along), _beside(strip.across, up)
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
    strip, modulus = tie.strip.stiffness, strength.STEEL_MODULUS
    second = tie.width * tie.thickness**3 / 12.0
    fore_aft, up = [strip.normal, 3.0 * modulus * second / tie.up**3], [strip.along, 3.0 * modulus * second / tie.back**3]
    if tube is not None:
        near = min(tie.along, tube.length - tie.along)
        # Two equal forces F at `near` from both ends sag there by F near^2 (3 L - 4 near) / (6 E I).
        sag = 6.0 * tube.bending / (near**2 * (3.0 * tube.length - 4.0 * near))
        fore_aft.append(sag)
        up.append(sag)
    return _spring(tie.name, tie.point, np.diag([_beside(*fore_aft), 1.0 / float(strip.across), _beside(*up)]))


def tail_spring(tail: TailMount) -> Spring:
    """Tube leaning from the cross bolt to the pad, and the member, bent and twisted between the rails (its ends free to turn
    in bending, held in twist)."""
    tube, member = tail.tube, tail.member
    along = np.subtract(tail.point, tail.bolt_point)
    along = along / np.linalg.norm(along)
    sag = member.length**3 / (48.0 * member.bending)
    reach = np.subtract(tail.point, tail.member_point)
    twist, rock = member.length / (4.0 * member.shear_modulus * float(member.section.polar_moment)), member.length / (12.0 * member.bending)
    give = (tube.length**3 / (3.0 * tube.bending) * (np.eye(3) - _line(along))
            + tube.length / (tube.modulus * tube.section.area) * _line(along) + np.diag([sag, 0.0, sag])
            + twist * _line(np.cross([0.0, 1.0, 0.0], reach)) + rock * _line(np.cross([1.0, 0.0, 0.0], reach)))
    return _spring("tail", tail.point, give)


def strut_spring(strut: Strut) -> Spring:
    """Along its axis only."""
    tube = strut.tube
    return Spring("limiter strut", strut.point, tube.modulus * float(tube.section.area) / tube.length * _line(strut.direction))
