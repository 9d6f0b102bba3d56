"""What holds a powertrain, as plain numbers: seats on rails and feet, ties, tail mount, strut; and how stiff each is.

Car frame; mm, N, MPa, kg. Powertrain and chassis count as rigid; what lies between them are springs, each along X, Y and Z on
its own. ``mount_screening`` loads them.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from . import beams, shaft, strength
from .fasteners import Bolt
from .mounts_load import Support

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
    rail's surface; direction: unit (y, z) along it."""
    name: str
    point: Point
    plate: str
    foot: str
    strip: Strip
    bolt: Bolt
    bolts: int
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


def _series(*stiffness: float) -> float:
    """Springs one behind the other."""
    return float(1.0 / sum(1.0 / k for k in stiffness))


def supports(mounting: Mounting) -> tuple[Support, ...]:
    """The mounts as springs along X, Y, Z, in the order rails, feet, ties, tail, strut."""
    return (*map(rail_spring, mounting.rails), *map(foot_spring, mounting.feet),
            *(tie_spring(tie, mounting.support_tube) for tie in mounting.ties),
            *((tail_spring(mounting.tail),) if mounting.tail else ()), *((strut_spring(mounting.strut),) if mounting.strut else ()))


def rail_spring(seat: RailSeat) -> Support:
    """Plate strip and tabs (cantilevers from the rail to their bolts) one behind the other."""
    mount, strip = seat.mount, seat.strip.stiffness
    w, t, h = mount.tab_width, mount.tab_thickness, mount.bolt_height
    modulus = strength.STEEL_MODULUS * mount.tabs
    fore_aft, along, up = (3.0 * modulus * w * t**3 / 12.0 / h**3, 3.0 * modulus * t * w**3 / 12.0 / h**3, modulus * w * t / h)
    return Support(seat.name, seat.point, (_series(strip.normal, fore_aft), _series(strip.along, along), _series(strip.across, up)))


def foot_spring(seat: FootSeat) -> Support:
    """Plate strip and foot (a cantilever from the rail) one behind the other."""
    strip, bar = seat.strip.stiffness, seat.bar
    bent, pushed = 3.0 * bar.bending / bar.length**3, bar.modulus * bar.section.area / bar.length
    y, z = np.square(seat.direction) / np.sum(np.square(seat.direction))
    stiff = (_series(strip.normal, bent), _series(strip.along, pushed * y + bent * z), _series(strip.across, pushed * z + bent * y))
    return Support(seat.name, seat.point, stiff)


def tie_spring(tie: Tie, tube: Bar | None) -> Support:
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
    return Support(tie.name, tie.point, (_series(*fore_aft), float(strip.across), _series(*up)))


def tail_spring(tail: TailMount) -> Support:
    """Tube leaning from the member to the pad, and the member, bent and twisted between the rails (its ends free to turn)."""
    tube, member = tail.tube, tail.member
    x, _, z = np.subtract(tail.point, tail.bolt_point)
    lean = x * x / (x * x + z * z)
    bent, pushed = tube.length**3 / (3.0 * tube.bending), tube.length / (tube.modulus * tube.section.area)
    sag = member.length**3 / (48.0 * member.bending)
    reach = np.subtract(tail.point, tail.member_point)
    twist = member.length / (4.0 * member.shear_modulus * member.section.polar_moment)
    rock = member.length / (12.0 * member.bending)
    soft = (bent * (1.0 - lean) + pushed * lean + sag + twist * reach[2] ** 2, bent + rock * reach[2] ** 2,
            bent * lean + pushed * (1.0 - lean) + sag + twist * reach[0] ** 2)
    return Support("tail", tail.point, tuple(float(1.0 / value) for value in soft))


def strut_spring(strut: Strut) -> Support:
    """Along the car only: what it pushes sideways and up is left out, and its share along the car is cos^2 of its lean."""
    axial = strut.tube.modulus * strut.tube.section.area / strut.tube.length
    return Support("limiter strut", strut.point, (float(axial * strut.direction[0] ** 2), 0.0, 0.0))
