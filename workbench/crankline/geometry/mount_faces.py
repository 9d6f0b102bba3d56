"""The transmission mount put together from its faces: tab with its flanges, and the post under it with the cross bolt's hole. All of them
are planes and cylinders whose edges are known in closed form; what is not so plain is left to booleans (``transmission_mount``).

Engine frame, mm. Faces that look down are written on planes whose normal looks up, and turned over.
"""
from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..host import Part
from . import brep_text, mount_layout, outline
from .crossed_cylinders import SHARPEST, Crossing, crossing
from .tube_spec import Header

APART = 0.01
"""mm that post, holes, flanges and edges of the tab stay clear of each other (numerical)."""
STATIONS = 200
"""Lines through half a hole that its volume is taken from (numerical)."""
UPRIGHT = np.eye(3)

Wire = tuple[int, ...]


@dataclass(frozen=True)
class Post:
    """A tube on its lower end at a point, upward, with a hole right through it. seat: a point of the hole's axis; across: its direction."""
    foot: tuple[float, float, float]
    length: float
    outer_radius: float
    inner_radius: float
    hole_radius: float
    seat: tuple[float, float, float]
    across: tuple[float, float, float]


def build(spec: mount_layout.Spec) -> Part.Solid | None:
    """One solid, or None where a part of it runs into another one beside what it is welded to."""
    post, tab, strips = _post_of(spec), mount_layout.tab(spec), mount_layout.flanges(spec)
    if not _clear(spec, tab, strips):
        return None
    text = brep_text.Solid()
    written = _post(text, post)
    if written is None:
        return None
    faces, outside, inside = written
    return text.made((*faces, *_tab(text, spec, tab, strips, outside, inside)))


def closed_volume(spec: mount_layout.Spec) -> float | None:
    """Volume of the mount in closed form, mm3; None where a part of it runs into another one beside what it is welded to, or the hole is
    not wholly in the post."""
    post, tab, strips = _post_of(spec), mount_layout.tab(spec), mount_layout.flanges(spec)
    bored = _bored(post)
    if bored is None or not _clear(spec, tab, strips):
        return None
    return (tab.area * spec.tab_thickness + sum((x1 - x0) * (y1 - y0) * (z1 - z0) for x0, y0, z0, x1, y1, z1 in strips)
            + math.pi * (post.outer_radius ** 2 - post.inner_radius ** 2) * post.length - bored)


def _bored(post: Post) -> float | None:
    """What a hole through the middle of a post takes of its wall, mm3: how far each line along the drill runs in the wall, over the hole's
    section, by Gauss's quadrature of Chebyshev's second kind."""
    drill, (ahead, aside, rise) = np.array(post.across) / np.linalg.norm(post.across), np.subtract(post.seat, post.foot)
    level = math.hypot(drill[0], drill[1])
    if abs(ahead) + abs(aside) > brep_text.TOLERANCE or level < SHARPEST or post.hole_radius + APART > post.inner_radius:
        return None
    half = (post.hole_radius + post.outer_radius * abs(drill[2])) / level
    if not APART + half < rise < post.length - APART - half:
        return None
    turn = np.arange(1, STATIONS + 1) * math.pi / (STATIONS + 1)
    off = (post.hole_radius * np.cos(turn)) ** 2
    wall = np.sqrt(post.outer_radius ** 2 - off) - np.sqrt(post.inner_radius ** 2 - off)
    return float((np.sin(turn) ** 2 * wall).sum()) * 4.0 * post.hole_radius ** 2 / level * math.pi / (STATIONS + 1)


def _post_of(spec: mount_layout.Spec) -> Post:
    """The tube under the tab, with the cross bolt's hole."""
    x, y = spec.head
    return Post((x, y, spec.tube_low), spec.under - spec.tube_low, spec.outer_diameter / 2.0, spec.outer_diameter / 2.0 - spec.wall,
                (spec.cross_bolt + mount_layout.BOLT_CLEARANCE) / 2.0, spec.bolt_seat, spec.member_axis)


def _clear(spec: mount_layout.Spec, tab: outline.Flat, strips: tuple) -> bool:
    """Whether the post stands on plain sheet, and each flange under all of a straight edge."""
    (low_y, low_x, high_y, high_x), radius = tab.bounds, spec.outer_diameter / 2.0 + APART
    beside = spec.half_width - (spec.tab_thickness if strips else 0.0)
    straight = [segment for segment in tab.outer.segments if not segment.sweep and abs(segment.y1 - segment.y0) < APART]
    return (min(spec.reach - low_x, high_x - spec.reach, beside) > radius and high_y - low_y > 2.0 * spec.tab_thickness + APART
            and all(isinstance(hole, outline.Circle) and math.hypot(hole.z - spec.reach, hole.y) > hole.diameter / 2.0 + radius
                    and abs(hole.y) + hole.diameter / 2.0 + APART < beside for hole in tab.inner)
            and all(segment.sweep >= 0.0 for segment in tab.outer.segments)
            and all(any(abs(min(one.z0, one.z1) + spec.pad[0] - x0) < brep_text.TOLERANCE
                        and abs(max(one.z0, one.z1) + spec.pad[0] - x1) < brep_text.TOLERANCE for one in straight)
                    for x0, _y0, _z0, x1, _y1, _z1 in strips))


# ------------------------------------------------------------------------------------------------------------- post

def _post(text: brep_text.Solid, post: Post) -> tuple[list[int], int, int] | None:
    """The post's faces but the one at its top, and the circles there outside and inside, counterclockwise from above; None where the
    hole is not wholly in the tube."""
    foot, seat, drill = np.array(post.foot), np.array(post.seat), np.array(post.across) / np.linalg.norm(post.across)
    up = UPRIGHT[2]
    first = np.cross(drill, up)
    first /= np.linalg.norm(first)
    axes = np.array([first, np.cross(up, first), up])
    surfaces, rims, holes, bored = [], [], [], 0
    for radius in (post.outer_radius, post.inner_radius):
        surface = text.cylinder(foot, axes, radius)
        surfaces.append(surface)
        rims.append(_rims(text, surface, foot, axes, radius, post.length))
        pair = []
        for way in (1, -1):
            met = crossing(Header(post.foot, (0.0, 0.0, 1.0), 2.0 * radius), seat, drill, way)
            if met is None or not met.wrapped(post.hole_radius):
                return None
            basis = met.basis
            bored = bored or text.cylinder(seat, basis, post.hole_radius)
            fitted = brep_text.fitted(_mouth(met, post, axes), (1.0, 1.0, 1.0, post.hole_radius, 1.0, radius, 1.0))
            if fitted is None or fitted[0][:, 6].min() < APART or fitted[0][:, 6].max() > post.length - APART:
                return None
            values, poles, tolerance = fitted
            corner = text.corner(values[0, :3], tolerance)
            on = [(bored, text.flat_spline(poles[:, 3:5])), (surface, text.flat_spline(poles[:, 5:]))]
            pair.append((text.edge(text.spline(poles[:, :3]), 0.0, 1.0, (corner, corner), on, tolerance), corner, float(values[0, 4])))
        holes.append(pair)
    faces = []
    for sign, surface, (low, seam, high), ((ahead, *_), (behind, *_)) in zip((1, -1), surfaces, rims, holes):
        # Around the drill both edges run one way, so they run two ways as seen from outside.
        faces.append(sign * text.face(surface, (low, seam, -high, -seam), (-ahead,), (behind,)))
    for which in (0, 1):
        (low, start, begin), (high, end, stop) = (holes[1 - which][which], holes[which][which])
        line = text.line(seat + post.hole_radius * basis[0], basis[2])
        seam = text.edge(line, begin, stop, (start, end),
                         [(bored, text.flat_line((math.tau, 0.0), (0.0, 1.0)), text.flat_line((0.0, 0.0), (0.0, 1.0)))])
        faces.append(-text.face(bored, (low, seam, -high, -seam)))
    faces.append(-text.face(text.plane(foot, axes), (rims[0][0],), (-rims[1][0],)))
    return faces, rims[0][2], rims[1][2]


def _mouth(met: Crossing, post: Post, axes: np.ndarray) -> Callable[[np.ndarray], np.ndarray]:
    """Where the hole goes through a surface of the post: point, turn and way about the drill, turn and way about the post."""
    own, offset = met.header_axes() @ met.basis, met.middle @ met.basis + np.array(post.seat) - np.array(post.foot)
    same = math.copysign(1.0, float(own[2] @ axes[2]))
    turned = math.atan2(float(own[0] @ axes[1]), float(own[0] @ axes[0]))

    def curve(share: np.ndarray) -> np.ndarray:
        row = met.at(post.hole_radius, share, 0.0)
        row[:, :3] = np.array(post.seat) + row[:, :3] @ met.basis
        row[:, 5], row[:, 6] = turned + same * row[:, 5], float(offset @ axes[2]) + same * row[:, 6]
        row[:, 5] -= math.tau * math.floor(row[0, 5] / math.tau)
        return row
    return curve


def _rims(text: brep_text.Solid, surface: int, foot: np.ndarray, axes: np.ndarray, radius: float, length: float) -> tuple[int, int, int]:
    """Lower circle, seam and upper circle of a cylinder."""
    corners = [text.corner(foot + radius * axes[0] + at * axes[2]) for at in (0.0, length)]
    low, high = (text.edge(text.circle(foot + at * axes[2], axes, radius), 0.0, math.tau, (corner, corner),
                           [(surface, text.flat_line((0.0, at), (1.0, 0.0)))]) for at, corner in zip((0.0, length), corners))
    seam = text.edge(text.line(foot + radius * axes[0], axes[2]), 0.0, length, (corners[0], corners[1]),
                     [(surface, text.flat_line((math.tau, 0.0), (0.0, 1.0)), text.flat_line((0.0, 0.0), (0.0, 1.0)))])
    return low, seam, high


# -------------------------------------------------------------------------------------------------------------- tab

def _tab(text: brep_text.Solid, spec: mount_layout.Spec, tab: outline.Flat, strips: tuple, outside: int, inside: int) -> list[int]:
    """Faces of the tab and its flanges, from the pad down to the post's top."""
    thick, center = spec.tab_thickness, np.array([spec.pad[0], spec.pad[1], spec.under])
    # The tab is laid out as (y, x): run backward, it is counterclockwise from above.
    sides = [(np.array([one.z1, one.y1, 0.0]), np.array([one.z0, one.y0, 0.0]), np.array([one.zc, one.yc, 0.0]), one.sweep)
             for one in reversed(tab.outer.segments)]
    rises = np.array([0.0, 0.0, thick])
    cylinders: dict[int, int] = {}
    on: list[list[tuple[int, int]]] = [[] for _side in sides]      # of the upright edge at which each side begins
    for number, (start, _end, middle, sweep) in enumerate(sides):
        if sweep:
            axes = _from(start - middle)
            cylinders[number] = text.cylinder(center + middle, axes, float(np.linalg.norm(start - middle)))
            on[number].append((cylinders[number], text.flat_line((0.0, 0.0), (0.0, 1.0))))
            on[(number + 1) % len(sides)].append((cylinders[number], text.flat_line((sweep, 0.0), (0.0, 1.0))))
    corners = [[text.corner(center + start + up * rises) for start, *_ in sides] for up in (0, 1)]
    upright = [text.edge(text.line(center + start, UPRIGHT[2]), 0.0, thick, (corners[0][number], corners[1][number]), on[number])
               for number, (start, *_) in enumerate(sides)]
    faces: list[int] = []
    lower: list[int] = []
    upper: list[int] = []
    for number, (start, end, middle, sweep) in enumerate(sides):
        after = (number + 1) % len(sides)
        pair = []
        for up in (0, 1):
            ends = corners[up][number], corners[up][after]
            if sweep:
                axes = _from(start - middle)
                curve = text.circle(center + middle + up * rises, axes, float(np.linalg.norm(start - middle)))
                pair.append(text.edge(curve, 0.0, sweep, ends, [(cylinders[number], text.flat_line((0.0, up * thick), (1.0, 0.0)))]))
            else:
                pair.append(_straight(text, center + start + up * rises, center + end + up * rises, ends))
        surface = cylinders[number] if sweep else _wall(text, center + start, end - start)
        faces.append(text.face(surface, (pair[0], upright[after], -pair[1], -upright[number])))
        upper.append(pair[1])
        strip = next((one for one in strips
                      if abs(start[1] - end[1]) < APART and start[1] * (one[1] + one[4] - 2.0 * center[1]) > 0.0), None)
        if strip is None:
            lower.append(pair[0])
        else:
            made, around = _strip(text, center + start, center + end, pair[0], (corners[0][number], corners[0][after]), thick,
                                  strip[5] - strip[2])
            faces += made
            lower += around
    low_holes, high_holes = [], []
    for hole in tab.holes:
        foot, radius = center + (hole.z, hole.y, 0.0), hole.diameter / 2.0
        surface = text.cylinder(foot, UPRIGHT, radius)
        low, seam, high = _rims(text, surface, foot, UPRIGHT, radius, thick)
        faces.append(-text.face(surface, (low, seam, -high, -seam)))
        low_holes.append((-low,))
        high_holes.append((-high,))
    under = text.plane(center, UPRIGHT)
    faces.append(text.face(text.plane(center + rises, UPRIGHT), tuple(upper), *high_holes))
    faces.append(-text.face(under, tuple(lower), *low_holes, (-outside,)))
    faces.append(-text.face(under, (inside,)))
    return faces


def _strip(text: brep_text.Solid, start: np.ndarray, end: np.ndarray, edge: int, ends: tuple[int, int], thick: float,
           depth: float) -> tuple[list[int], list[int]]:
    """The faces of a flange under a straight edge of the tab, and the edges by which the tab's underside goes around it."""
    along = (end - start) / np.linalg.norm(end - start)
    inward = thick * np.cross(UPRIGHT[2], along)
    points = [start, end, end + inward, start + inward]
    drop = np.array([0.0, 0.0, -depth])
    tops = [*ends, *(text.corner(point) for point in points[2:])]
    bottoms = [text.corner(point + drop) for point in points]
    upright = [text.edge(text.line(point + drop, UPRIGHT[2]), 0.0, depth, pair, ()) for point, pair in zip(points, zip(bottoms, tops))]
    faces, low, high = [], [], []
    for number, point in enumerate(points):
        after = (number + 1) % 4
        low.append(_straight(text, point + drop, points[after] + drop, (bottoms[number], bottoms[after])))
        high.append(edge if number == 0 else _straight(text, point, points[after], (tops[number], tops[after])))
        faces.append(text.face(_wall(text, point, points[after] - point), (low[-1], upright[after], -high[-1], -upright[number])))
    faces.append(-text.face(text.plane(start + drop, UPRIGHT), tuple(low)))
    return faces, [-high[3], -high[2], -high[1]]


def _from(direction: np.ndarray) -> np.ndarray:
    """Axes about the upright one, the first along a level direction."""
    first = direction / np.linalg.norm(direction)
    return np.array([first, np.cross(UPRIGHT[2], first), UPRIGHT[2]])


def _wall(text: brep_text.Solid, point: np.ndarray, along: np.ndarray) -> int:
    """An upright plane whose normal looks to the right of a direction."""
    first = along / np.linalg.norm(along)
    return text.plane(point, np.array([first, UPRIGHT[2], np.cross(first, UPRIGHT[2])]))


def _straight(text: brep_text.Solid, start: np.ndarray, end: np.ndarray, ends: tuple[int, int]) -> int:
    length = float(np.linalg.norm(end - start))
    return text.edge(text.line(start, (end - start) / length), 0.0, length, ends, ())
