"""Where powertrain and rear joint really are: weighted least squares on readings of a tape, a plumb bob and a level.

The unknowns are ten ``FREEDOMS``: six of the powertrain (those of a placement, crank height at the block's rear face), three of the rear
joint and the pinion's pitch. Each reading is a function of them (``Observation``). Derivatives are analytic: every reading is a product of
the same three derivatives of a rotation, so nothing is gained by complex steps, and points far from the crank lose no digits to a step.
Gauss-Newton with damping where a step does not help (Levenberg 1944, Marquardt 1963); covariance is the inverse of the normal matrix.

All arrays may carry leading axes: 1,000 builds are one call. Lengths mm, angles rad; standard uncertainties, not limits.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from .frames import Frame, rotation
from .measured_points import POWERTRAIN, REAR_END, Vector
from .scene import Scene

FREEDOMS = ("axle_to_block", "lateral", "crank_height", "roll", "pitch", "yaw", "rear_joint_x", "rear_joint_y", "rear_joint_z",
            "pinion_pitch")
WORDS = {"axle_to_block": "fore and aft", "lateral": "side to side", "crank_height": "height", "roll": "roll", "pitch": "pitch",
         "yaw": "yaw", "rear_joint_x": "rear joint, fore and aft", "rear_joint_y": "rear joint, side to side",
         "rear_joint_z": "rear joint, height", "pinion_pitch": "pinion pitch"}
"""What a builder calls each freedom."""
OF_POWERTRAIN = slice(0, 6)
ANGLES = np.array([name in ("roll", "pitch", "yaw", "pinion_pitch") for name in FREEDOMS])
SCALE = np.where(ANGLES, np.radians(1.0), 25.0)
"""What a car may be off by, mm and rad: a freedom that could be off by so much without any reading telling is not determined."""
NORMAL_95 = 1.959963984540054
"""Standard deviations either way that hold 95 % of a normal distribution."""

_STEPS, _ENOUGH = 40, 1e-13


@dataclass(frozen=True)
class Observation:
    """A reading as a function of the freedoms.

    how: ``plane`` (across . point + offset: along, up, aside, rail to plate), ``distance`` (between point and other), ``angle`` (asin of
    across . direction of the body, plus offset: a level). point, other: (body, coordinates on it); across: unit vector in the car frame;
    sigma: standard uncertainty.
    """
    how: str
    sigma: float
    point: tuple[str, Vector]
    across: Vector = (0.0, 0.0, 1.0)
    other: tuple[str, Vector] | None = None
    offset: float = 0.0


@dataclass(frozen=True, eq=False)
class Fit:
    """What readings tell. state (..., 10), in the order of ``FREEDOMS``; covariance (..., 10, 10), zero in what is held; used: readings
    that took part; free: freedoms that were fitted; lost: those of the free ones that the readings do not determine (kept as wanted as
    far as that goes); blind (k, 10): directions, in units of ``SCALE``, that no reading sees; predicted, residual (value less predicted)
    and checked (share of an error of a reading that its own residual shows, 0 where no other reading checks it): (..., n).
    """
    state: np.ndarray
    covariance: np.ndarray
    used: np.ndarray
    free: np.ndarray
    lost: tuple[str, ...]
    blind: np.ndarray
    predicted: np.ndarray
    residual: np.ndarray
    checked: np.ndarray
    slopes: np.ndarray

    @property
    def freedom(self) -> int:
        """Readings more than there are freedoms to fit."""
        return int(self.used.sum()) - int(self.free.sum()) + len(self.blind)

    def sigma(self) -> np.ndarray:
        """Standard uncertainty of each freedom, (..., 10); infinite in what is not determined."""
        found = np.sqrt(np.maximum(np.diagonal(self.covariance, axis1=-2, axis2=-1), 0.0))
        return np.where(np.isin(FREEDOMS, self.lost), np.inf, found)


def wanted(scene: Scene) -> np.ndarray:
    """The freedoms as a scene has them, (10,)."""
    stated = scene.placement
    pinion = float(-np.arcsin(scene.pinion_axis[2]))
    return np.array([float(_base(scene)), float(scene.engine_frame.origin[1]), float(scene.engine_frame.origin[2]), float(stated.roll),
                     float(scene.pitch), float(stated.yaw), *map(float, scene.rear_joint), pinion])


def _base(scene: Scene) -> float:
    return float(scene.engine_frame.origin[0]) - float(scene.engine.base_drop) * float(scene.engine_frame.rotation[0, 2])


def frames_of(state: np.ndarray, base_drop: float) -> dict[str, Frame]:
    """Body to its frame in the car, of states (..., 10)."""
    state = np.asarray(state, dtype=float)
    turned = rotation(state[..., 3], state[..., 4], state[..., 5])
    origin = np.stack([state[..., 0] + base_drop * turned[..., 0, 2], state[..., 1], state[..., 2]], axis=-1)
    return {POWERTRAIN: Frame(turned, origin), REAR_END: Frame(rotation(pitch=state[..., 9]), state[..., 6:9])}


def predict(observations: Sequence[Observation], state: np.ndarray, base_drop: float) -> tuple[np.ndarray, np.ndarray]:
    """(values (..., n), slopes (..., n, 10)) of readings at states (..., 10)."""
    state = np.asarray(state, dtype=float)
    frames, turning = frames_of(state, base_drop), _turning(state)
    values, slopes = np.empty((*state.shape[:-1], len(observations))), np.zeros((*state.shape[:-1], len(observations), 10))
    for i, one in enumerate(observations):
        across = np.asarray(one.across)
        body, at = one.point
        if one.how == "angle":
            seen, by = _direction(body, np.asarray(at), frames, turning, state.shape[:-1])
            sine = seen @ across
            values[..., i] = np.arcsin(np.clip(sine, -1.0, 1.0)) + one.offset
            slopes[..., i, :] = np.einsum("...ij,i->...j", by, across) / np.sqrt(np.maximum(1.0 - sine ** 2, 1e-12))[..., None]
            continue
        seen, by = _point(body, np.asarray(at), frames, turning, state.shape[:-1], base_drop)
        if one.how == "plane":
            values[..., i] = seen @ across + one.offset
            slopes[..., i, :] = np.einsum("...ij,i->...j", by, across)
            continue
        assert one.other is not None, one
        there, there_by = _point(one.other[0], np.asarray(one.other[1]), frames, turning, state.shape[:-1], base_drop)
        span = seen - there
        values[..., i] = length = np.linalg.norm(span, axis=-1)
        slopes[..., i, :] = np.einsum("...ij,...i->...j", by - there_by, span) / np.maximum(length, 1e-9)[..., None]
    return values, slopes


def _turning(state: np.ndarray) -> np.ndarray:
    """Derivatives of the powertrain's rotation by roll, pitch and yaw, (..., 3, 3, 3): R = Rz Ry Rx, each factor by its own angle."""
    zero = np.zeros_like(state[..., 3])
    factors = (rotation(zero, zero, state[..., 5]), rotation(zero, state[..., 4], zero), rotation(state[..., 3], zero, zero))
    z, y, x = factors
    about = [np.array(m, dtype=float) for m in ([[0, 0, 0], [0, 0, -1], [0, 1, 0]], [[0, 0, 1], [0, 0, 0], [-1, 0, 0]],
                                                [[0, -1, 0], [1, 0, 0], [0, 0, 0]])]
    return np.stack([z @ y @ x @ about[0], z @ y @ about[1] @ x, about[2] @ z @ y @ x], axis=-3)


def _direction(body: str, at: np.ndarray, frames: dict[str, Frame], turning: np.ndarray,
               shape: tuple[int, ...]) -> tuple[np.ndarray, np.ndarray]:
    """A direction of a body in the car frame (..., 3) and its slopes (..., 3, 10)."""
    by = np.zeros((*shape, 3, 10))
    if body == POWERTRAIN:
        by[..., 3:6] = np.moveaxis(turning @ at, -2, -1)
        return frames[POWERTRAIN].rotation @ at, by
    if body == REAR_END:
        turned = frames[REAR_END].rotation
        by[..., 9] = turned @ np.array([at[2], 0.0, -at[0]])
        return turned @ at, by
    return np.broadcast_to(at, (*shape, 3)), by


def _point(body: str, at: np.ndarray, frames: dict[str, Frame], turning: np.ndarray, shape: tuple[int, ...],
           base_drop: float) -> tuple[np.ndarray, np.ndarray]:
    """A point of a body in the car frame (..., 3) and its slopes (..., 3, 10)."""
    seen, by = _direction(body, at, frames, turning, shape)
    if body == POWERTRAIN:
        by[..., 0, 3:6] += base_drop * turning[..., 0, 2]
        by[..., [0, 1, 2], [0, 1, 2]] = 1.0
        return seen + frames[POWERTRAIN].origin, by
    if body == REAR_END:
        by[..., [0, 1, 2], [6, 7, 8]] = 1.0
        return seen + frames[REAR_END].origin, by
    return seen, by


def fit(observations: Sequence[Observation], values: np.ndarray, start: np.ndarray, base_drop: float,
        used: np.ndarray | None = None) -> Fit:
    """The freedoms that fit values (..., n) best, from the wanted ones (10,). used: (n,) readings that take part; absent: all.

    Freedoms of the rear end that the readings do not determine are held as wanted, and what hangs on them takes no part. What readings do
    not determine of the powertrain is named and stays as wanted in the directions that none of them sees.
    """
    values = np.asarray(values, dtype=float)
    taking = np.ones(len(observations), dtype=bool) if used is None else np.asarray(used, dtype=bool).copy()
    sigma = np.array([one.sigma for one in observations]) if observations else np.zeros(0)
    _at, slopes = predict(observations, start, base_drop)
    free, taking, blind = _determined(slopes / sigma[:, None] * SCALE, taking)
    state = _solved(observations, values, start, base_drop, taking, free, blind, sigma)
    predicted, slopes = predict(observations, state, base_drop)
    weighed = slopes[..., taking, :][..., free] / sigma[taking][:, None] * SCALE[free]
    covariance = np.zeros((*state.shape, 10))
    inverse = _inverse(weighed, blind[:, free])
    covariance[(..., *np.ix_(free, free))] = inverse * SCALE[free][:, None] * SCALE[free]
    checked = np.ones(predicted.shape)
    checked[..., taking] = 1.0 - np.einsum("...ij,...jk,...ik->...i", weighed, inverse, weighed)
    lost = tuple(name for name, seen in zip(FREEDOMS, np.sum(blind ** 2, axis=0)) if seen > 1e-3)
    return Fit(state, covariance, taking, free, lost, blind, predicted, values - predicted, np.clip(checked, 0.0, 1.0), slopes)


def _determined(weighed: np.ndarray, taking: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(free freedoms, readings that take part, blind directions (k, 10)) of slopes (n, 10) in standard uncertainties per ``SCALE``."""
    free = np.array([i < 6 or bool(np.any(np.abs(weighed[taking, i]) > 1.0)) for i in range(10)])
    while True:
        if not free[6:].all():
            # What hangs on a rear end that nobody measured says nothing sure of the powertrain.
            taking = taking & ~np.any(np.abs(weighed[:, 6:][:, ~free[6:]]) > 0.1, axis=1)
        blind = blind_directions(weighed[taking][:, free])
        whole = np.zeros((len(blind), 10))
        whole[:, free] = blind
        rear = free & (np.sum(whole ** 2, axis=0) > 1e-3)
        rear[:6] = False
        if not rear.any():
            return free, taking, whole
        free &= ~rear


def blind_directions(weighed: np.ndarray) -> np.ndarray:
    """Orthonormal directions (k, m) in which slopes (n, m), in standard uncertainties per ``SCALE``, tell less than one."""
    if not weighed.size:
        return np.eye(weighed.shape[1])
    _u, sizes, rows = np.linalg.svd(weighed)
    known = int(np.sum(sizes > 1.0))
    return rows[known:]


def _inverse(weighed: np.ndarray, blind: np.ndarray) -> np.ndarray:
    """Inverse of the normal matrix where it is blind nowhere, 0 along what it does not see."""
    seen = np.eye(weighed.shape[-1]) - blind.T @ blind
    weighed = weighed @ seen
    return np.linalg.inv(np.swapaxes(weighed, -1, -2) @ weighed + blind.T @ blind) - blind.T @ blind


def _solved(observations: Sequence[Observation], values: np.ndarray, start: np.ndarray, base_drop: float, taking: np.ndarray,
            free: np.ndarray, blind: np.ndarray, sigma: np.ndarray) -> np.ndarray:
    some = [one for one, takes in zip(observations, taking) if takes]
    values, sigma, hidden = values[..., taking], sigma[taking], blind[:, free]
    seen = np.eye(int(free.sum())) - hidden.T @ hidden
    state = np.broadcast_to(start, (*values.shape[:-1], 10)).copy()
    if not some:
        return state
    damping = np.zeros(values.shape[:-1])
    predicted, slopes = predict(some, state, base_drop)
    left = (values - predicted) / sigma
    for _ in range(_STEPS):
        weighed = (slopes[..., free] / sigma[:, None] * SCALE[free]) @ seen
        normal = np.swapaxes(weighed, -1, -2) @ weighed
        matrix = normal + damping[..., None, None] * np.eye(normal.shape[-1]) + hidden.T @ hidden
        step = np.linalg.solve(matrix, np.einsum("...ij,...i->...j", weighed, left)[..., None])[..., 0] @ seen
        tried = state.copy()
        tried[..., free] += step * SCALE[free]
        predicted, new_slopes = predict(some, tried, base_drop)
        new_left = (values - predicted) / sigma
        before, after = np.sum(left ** 2, axis=-1), np.sum(new_left ** 2, axis=-1)
        better = after <= before * (1.0 + 1e-12) + 1e-20
        damping = np.where(better, damping / 10.0, np.maximum(damping * 10.0, 1e-3))
        state = np.where(better[..., None], tried, state)
        left = np.where(better[..., None], new_left, left)
        slopes = np.where(better[..., None, None], new_slopes, slopes)
        if np.all(np.abs(step) < _ENOUGH):
            break
    return state


def nominal(one: Observation, state: np.ndarray, base_drop: float) -> float:
    """What a reading is at a state (10,)."""
    return float(predict([one], state, base_drop)[0][0])


def at(one: Observation, point: tuple[str, Vector]) -> Observation:
    """The same reading taken from another point."""
    return replace(one, point=point)
