"""Hardware of a car's joints with counts: what is bought and bolted, joint by joint, for lists and kits.

Counted from the model with the sizes that the parts' geometry uses, so a list and the drilled holes cannot disagree. What is
drilled on assembly has no holes in the parts and says so. What belongs to engine and transmission themselves (studs in the block,
bolts of the converter's pads) is theirs and not listed; dowels and pad spacers are, because the plates between decide their length.
"""
from __future__ import annotations

import math
from dataclasses import dataclass

from .. import catalog, model
from ..geometry import (
    enclosure_mount,
    firewall,
    front_plate,
    limiter,
    loop_ring,
    mid_plate,
    plate_layout,
    split_loop,
    transmission_mount,
    tunnel,
)
from ..mechanics import scene as scenes
from ..mechanics.fasteners import INTO_METAL
from ..record import filled
from ..units import INCH

MOUNT_SCREW = 0.25 * INCH
"""Screws that hold the enclosure tube on a mount's saddle (common practice, no source)."""
MOUNT_SCREWS = 2
"""In each mount (common practice, no source)."""
PANEL_SCREW = 0.190 * INCH
"""No. 10 screws along the line at which the tunnel's removable top parts from its sides (common practice, no source)."""
EDGE_RIVET = 0.125 * INCH
"""Blind rivets along the firewall's outer edge (common practice, no source)."""
PITCH = 4.0 * INCH
"""Largest distance of screws or rivets along an edge of sheet (common practice, no source)."""
END = 1.0 * INCH
"""From the end of an edge to its first and last screw or rivet (common practice, no source)."""
ON_ASSEMBLY = "common practice, drilled on assembly"


@dataclass(frozen=True)
class HardwareLine:
    """``row``: name in the catalogue of hardware, or what it is where the catalogue has none (``known`` False).

    ``count``: None where it is not known; ``where``: keys of the parts that it joins; ``length`` of a bolt under its head, of a dowel as
    far as it stands out of the block, of a spacer its thickness, mm, None where the parts do not give it; ``note``: what else has to be
    known of it, such as that no hole is drawn.
    """
    row: str
    count: int | None
    where: tuple[str, ...]
    length: float | None = None
    known: bool = True
    note: str = ""


def hardware(car: model.Car) -> tuple[HardwareLine, ...]:
    """Every piece of hardware of a car, joint by joint; ValueError where a joint cannot be laid out."""
    scene, car = scenes.of(car), filled(car)
    mid, front, mounts = car.plates.mid, car.plates.front, car.mounts
    tabs = mounts.rail_tabs
    lines: list[HardwareLine] = []
    levels = ("", "_upper") if mid.kind == "double_rail" else ("",)
    for side in ("left", "right"):
        for level in levels:
            where = ("mid_plate", f"rail_tab/{side}_front{level}", f"rail_tab/{side}_rear{level}")
            lines += _through(tabs.bolt, tabs.bolts_per_rail, mid.thickness + 2.0 * (tabs.gap + tabs.thickness), where)
        if front is not None and front.kind == "wide":
            where = ("front_plate", f"front_tab/{side}_front", f"front_tab/{side}_rear")
            lines += _through(tabs.bolt, tabs.bolts_per_rail, front.thickness + 2.0 * (tabs.gap + tabs.thickness), where)
        elif front is not None:
            grip = front.thickness + (front.foot_web or tabs.thickness)
            lines += _through(plate_layout.lug(front, tabs, scene, side).bolt, front.foot_bolts, grip,
                              ("front_plate", f"plate_foot/{side}"))
        if mounts.support_tube is not None:
            lines += _through(tabs.bolt, 1, mid.thickness + tabs.thickness, ("mid_plate", f"tie_tab/{side}"))
    lines += _patterns(car, scene)
    if mounts.transmission is not None:
        mount = mounts.transmission
        lines += _tapped(car.transmission.mount_pad.bolt, mount.tail_bolts, mount.tab_thickness, ("transmission_mount", "transmission"))
        sleeve = mount.tube.outer_diameter + 2.0 * (transmission_mount.SLEEVE_FIT + transmission_mount.SLEEVE_WALL)
        lines += _through(mount.cross_bolt, 1, sleeve, ("receiver", "transmission_mount"))
    for loop in car.containment.loops:
        if loop.kind == "split":
            # As the loop is made: more pins than it has seats for are not bought.
            made = split_loop.spec(loop, scene)
            for seats in (split_loop.split_pins(made), split_loop.foot_pins(made)):
                lines += _item("pin", loop_ring.PIN, sum(pinned for _seat, pinned in seats), (f"loop/{loop.name}",))
    if mounts.limiter_strut is not None:
        lines += _limiter(mounts.limiter_strut, front)
    lines += _spacers(scene) + _sheets(car, scene)
    return tuple(lines)


def along(length: float) -> int:
    """Screws or rivets along an edge of sheet of a length in mm: one near either end and none further apart than ``PITCH``; one in the
    middle of an edge that is too short for two."""
    return 1 + math.ceil((length - 2.0 * END) / PITCH - 1e-9) if length > 2.0 * END else 1


def total(lines: tuple[HardwareLine, ...]) -> tuple[tuple[str, float | None, int | None], ...]:
    """(row, length, count) over all joints, sorted: what is ordered. One count that is not known makes the sum unknown."""
    sums: dict[tuple[str, float | None], int | None] = {}
    for line in lines:
        before = sums.get((line.row, line.length), 0)
        sums[line.row, line.length] = None if before is None or line.count is None else before + line.count
    return tuple((row, length, count) for (row, length), count in sorted(sums.items(), key=lambda item: (item[0][0], item[0][1] or 0.0)))


def _patterns(car: model.Car, scene) -> list[HardwareLine]:
    """Dowels and bolts of the block's rear and front face, by the size of their holes."""
    lines: list[HardwareLine] = []
    mid = mid_plate.spec(car.plates.mid, car.mounts.rail_tabs, car.mounts.support_tube, scene)
    rear = mid_plate.drilled(scene.engine.rear_holes, mid.openings)
    dowels = [hole for hole in rear if abs(hole[2] - scene.engine.dowel_diameter) < 0.01]
    stack = ("transmission", "mid_plate") + (("protector",) if car.plates.protector else ()) + ("engine",)
    lines += _item("dowel", scene.engine.dowel_diameter, len(dowels), stack, scene.engine.dowel_length)
    for diameter, count in _bolts([hole for hole in rear if hole not in dowels]):
        # Through the bell's flange: how long they are only the car can say.
        given = car.transmission.bell_bolts
        lines += _item("bolt", diameter, count, stack, given.length if given else None) + _item("washer", diameter, count, stack)
    if car.plates.front is not None:
        front = front_plate.spec(car.plates.front, car.mounts.rail_tabs, scene)
        for diameter, count in _bolts(list(front_plate.drilled(scene.engine.front_holes, front.openings))):
            lines += _tapped(diameter, count, car.plates.front.thickness, ("front_plate", "engine"))
    return lines


def _bolts(holes: list) -> list[tuple[float, int]]:
    """(bolt diameter, count) of clearance holes: the largest bolt of the catalogue that the hole clears closely."""
    counts: dict[float, int] = {}
    for _, _, hole in holes:
        fit = catalog.bolt_in(hole)
        diameter = fit.diameter if fit else hole
        counts[diameter] = counts.get(diameter, 0) + 1
    return sorted(counts.items())


def _spacers(scene) -> list[HardwareLine]:
    """Spacers on the converter's pads."""
    given = filled(scene.transmission)
    if given.kind != "automatic" or not given.pad_spacers:
        return []
    return [HardwareLine("converter pad spacer", None, ("transmission", "engine"), given.pad_spacers, False,
                         "as many as the converter has pads, which are not known")]


def _sheets(car: model.Car, scene) -> list[HardwareLine]:
    """What is drilled on assembly: screws of the enclosure's mounts and of the tunnel's top, rivets of the firewall."""
    lines: list[HardwareLine] = []
    containment = car.containment
    if containment.enclosure is not None:
        for end in enclosure_mount.ENDS:
            for side in enclosure_mount.SIDES:
                lines += _item("screw", MOUNT_SCREW, MOUNT_SCREWS, (f"enclosure_mount/{end}_{side}", "enclosure"), note=ON_ASSEMBLY)
    spaced = f"{ON_ASSEMBLY}, no further apart than {PITCH / INCH:g} in"
    if containment.tunnel is not None:
        made = tunnel.spec(containment.tunnel, containment, scene)
        count = sum(along(run) for side in (1, -1) for run in tunnel.panel_runs(made, side))
        lines += _item("screw", PANEL_SCREW, count, ("tunnel",), note=spaced)
    if scene.chassis.firewall is not None:
        panel = firewall.spec(car.plates.mid, car.mounts.rail_tabs, scene)
        # Up one side, over the top and down the other; the portal around the block stays free.
        edge = 2.0 * (panel.z_high - panel.z_low) + panel.left - panel.right
        lines += _item("rivet", EDGE_RIVET, along(edge), ("firewall",), note=spaced)
    return lines


def _limiter(strut: model.LimiterStrut, front: model.FrontPlate | None) -> list[HardwareLine]:
    bolt, lines = strut.bolt, []
    for end in ("limiter_bracket", "limiter_seat"):
        where = ("limiter_strut", end)
        for kind, count in (("rod_end", 1), ("jam_nut", 1), ("spacer", 2)):
            lines += _item(kind, bolt, count, where)
        lines += _through(bolt, 1, limiter.BALL_WIDTH * bolt + 2.0 * strut.bracket_thickness, where)
    if front is not None:
        lines += _through(bolt, 2, front.thickness + strut.bracket_thickness, ("front_plate", "limiter_bracket"))
    return lines


def _item(kind: str, diameter: float, count: int, where: tuple[str, ...], length: float | None = None,
          note: str = "") -> list[HardwareLine]:
    if count == 0:
        return []
    name = catalog.hardware_name(kind, diameter)
    return [HardwareLine(name or f"{kind.replace('_', ' ')} {diameter:.2f} mm", count, where, length, name is not None, note)]


def _height(kind: str, diameter: float) -> float:
    name = catalog.hardware_name(kind, diameter)
    # Without a row: a nut as high as its bolt is thick, a washer of a fifth.
    return catalog.hardware(name).height if name else diameter * {"nut": 1.0, "washer": 0.2}[kind]


def _bolt(diameter: float, count: int, least: float, where: tuple[str, ...]) -> list[HardwareLine]:
    """Bolts in the next length of the catalogue's steps."""
    name = catalog.hardware_name("bolt", diameter)
    step = catalog.hardware(name).step if name else 5.0
    return _item("bolt", diameter, count, where, round(step * math.ceil(least / step - 1e-9), 6))


def _through(diameter: float, count: int, grip: float, where: tuple[str, ...]) -> list[HardwareLine]:
    """Bolt, locknut and a washer under each; two threads stand out of the nut."""
    name = catalog.hardware_name("bolt", diameter)
    thread = catalog.hardware(name).thread if name else None
    pitch = catalog.fastener(thread).pitch if thread else 0.15 * diameter
    least = grip + 2.0 * _height("washer", diameter) + _height("nut", diameter) + 2.0 * pitch
    return (_bolt(diameter, count, least, where) + _item("nut", diameter, count, where)
            + _item("washer", diameter, 2 * count, where))


def _tapped(diameter: float, count: int, grip: float, where: tuple[str, ...]) -> list[HardwareLine]:
    """Bolt into a tapped hole, with a washer."""
    least = grip + _height("washer", diameter) + INTO_METAL * diameter
    return _bolt(diameter, count, least, where) + _item("washer", diameter, count, where)
