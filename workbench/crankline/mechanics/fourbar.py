"""The four-bar behind a four-link: closed form in the angle of one link, and the range over which it holds; mm, rad.

A point (x, z) of the side view is the complex number x + i z; a rotation of a about +Y is a factor exp(-i a).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

CLOSURE = 1e-9
"""Largest error of a link's length or of the axle's height, mm per mm of the linkage's size, that counts as closed."""


class SuspensionError(ValueError):
    """A suspension that is none. The message is one sentence: what was found, what is allowed."""


def circle_intersection(
    centre_1: ArrayLike, radius_1: ArrayLike, centre_2: ArrayLike, radius_2: ArrayLike, side: ArrayLike
) -> np.ndarray:
    """Point (complex x + i z) common to two circles, to the left (side 1) or right (side -1) of the way from center 1 to
    center 2; nan where they do not meet."""
    between = np.asarray(centre_2) - centre_1
    distance = np.abs(between)
    with np.errstate(divide="ignore", invalid="ignore"):
        along = (distance**2 + (radius_1 - np.asarray(radius_2)) * (np.asarray(radius_1) + radius_2)) / (2.0 * distance)
        # Factored: the difference of squares loses half the digits where the circles touch. Circles that miss each other
        # by rounding touch.
        square = (radius_1 - along) * (radius_1 + along)
        rounding = 1e-14 * np.square(distance + radius_1 + radius_2)
        across = np.sqrt(np.where((square < 0.0) & (square > -rounding), 0.0, square))
        return centre_1 + (along + 1j * np.asarray(side) * across) * between / distance


class FourBar:
    """A four-link with its lower link as the crank of a four-bar: closed form in that link's angle `phi`.

    Points at static ride height as x + i z: axle (arm) and chassis (pivot) end of either link, and the axle center.
    SuspensionError where a link stands in line with the housing there, or the instant center over or under the axle.

    `phi` runs, continuously from static, over the range in which neither link comes in line with the housing and the
    axle's height keeps changing the same way; the height is monotonic in it. Kept on s, with phi = middle - half cos(s):
    at the ends, where the height runs like a square root of phi, it is smooth in s.
    """

    LINKS = ("lower link", "upper link")
    NODES = 65

    def __init__(
        self, lower_arm: complex, lower_pivot: complex, upper_arm: complex, upper_pivot: complex, axle: complex
    ) -> None:
        self.lower_pivot, self.upper_pivot = lower_pivot, upper_pivot
        self.lower_length, self.upper_length = abs(lower_arm - self.lower_pivot), abs(upper_arm - self.upper_pivot)
        self.housing = upper_arm - lower_arm
        self.axle_arm = axle - lower_arm
        self.axle = axle
        self.phi = float(np.angle(lower_arm - self.lower_pivot))
        self.side = np.sign(cross(self.upper_pivot - lower_arm, self.housing))
        self.size = max(self.lower_length, self.upper_length, abs(self.housing), abs(self.axle_arm))
        static = self._margins(np.array([self.phi]))[:, 0]
        if self.side == 0.0 or not np.all(np.abs(static) > 1e-6):
            raise SuspensionError(
                f"four-link: found the {self.LINKS[int(np.argmin(np.abs(static[:2])))]} in line with the housing, or the "
                "instant center straight above or below the axle, at static ride height; move a link end so that both "
                "links hold the housing.")
        self.signs = np.sign(static)
        ends = self._ends()
        self.middle, self.half = 0.5 * (ends[1] + ends[0]), 0.5 * (ends[1] - ends[0])
        self.nodes = np.linspace(0.0, np.pi, self.NODES)
        self.heights = self._solve(self.middle - self.half * np.cos(self.nodes))[0].imag - axle.imag
        if self.heights[0] > self.heights[-1]:
            self.nodes, self.heights = self.nodes[::-1], self.heights[::-1]
        self.travel_range = (float(self.heights[0]), float(self.heights[-1]))

    @classmethod
    @lru_cache(maxsize=64)
    def of(cls, *points: complex) -> FourBar:
        """The same; the last few are kept, because every pose and sweep of a car asks for the same one."""
        return cls(*points)

    def _solve(self, phi: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
        """Axle center, housing's turn factor and both links as vectors toward the axle, at angles of the lower link."""
        lower = self.lower_length * np.exp(1j * phi)
        lower_end = self.lower_pivot + lower
        upper_end = circle_intersection(lower_end, abs(self.housing), self.upper_pivot, self.upper_length, self.side)
        turn = (upper_end - lower_end) / self.housing
        return lower_end + self.axle_arm * turn, turn, lower, upper_end - self.upper_pivot

    def _height_rate(self, turn: np.ndarray, lower: np.ndarray, upper: np.ndarray) -> np.ndarray:
        """d(axle height)/d(phi): the housing's spin follows from the upper end moving square to the upper link."""
        along = upper / np.abs(upper)
        # (velocity of the lower end + spin x housing) . upper = 0
        spin = -dot(1j * lower, along) / dot(1j * self.housing * turn, along)
        return (1j * lower + 1j * spin * self.axle_arm * turn).imag

    def _margins(self, phi: np.ndarray) -> np.ndarray:
        """Sines between each link and the housing, and the axle's rise per phi over the size: (3, n); nan = no closure."""
        with np.errstate(divide="ignore", invalid="ignore"):
            _centre, turn, lower, upper = self._solve(phi)
            housing = self.housing * turn
            sines = [cross(link, housing) / (np.abs(link) * abs(self.housing)) for link in (lower, upper)]
            return np.stack([*sines, self._height_rate(turn, lower, upper) / self.size])

    def _ends(self) -> tuple[float, float]:
        """Angles of the lower link at which the range ends, below and above static; zoomed in until adjacent doubles."""
        ends = []
        for way in (-1.0, 1.0):
            near, far = 0.0, np.pi
            for _zoom in range(12):
                steps = np.linspace(near, far, 129)
                margins = self._margins(self.phi + way * steps)
                good = np.all(np.nan_to_num(margins * self.signs[:, None], nan=-1.0) > 0.0, axis=0)
                good[0] = True
                last = int(np.argmin(good)) - 1 if not good.all() else steps.size - 2
                near, far = float(steps[last]), float(steps[last + 1])
                if far - near < 4e-16 * np.pi:
                    break
            ends.append(self.phi + way * near)
        return ends[0], ends[1]

    def at_travel(self, travel: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Axle center, rotation about +Y and closure at these travels."""
        lowest, highest = self.travel_range
        tolerance = CLOSURE * self.size
        closes = (travel >= lowest - tolerance) & (travel <= highest + tolerance)
        wanted = np.clip(np.where(closes, travel, 0.0), lowest, highest)
        s = np.interp(wanted, self.heights, self.nodes)
        for _step in range(12):
            centre, turn, lower, upper = self._solve(self.middle - self.half * np.cos(s))
            error = centre.imag - self.axle.imag - wanted
            if np.all(np.abs(error) < 1e-3 * tolerance):
                break
            with np.errstate(divide="ignore", invalid="ignore"):
                change = error / (self._height_rate(turn, lower, upper) * self.half * np.sin(s))
            s = np.clip(s - np.where(np.isfinite(change), change, 0.0), 0.0, np.pi)
        closes = closes & (np.abs(error) <= tolerance)
        return centre, -np.angle(turn), closes

    def link_at(self, direction: str) -> str:
        """Name of the link nearest to in line with the housing at the end of this range."""
        end = self.nodes[-1 if direction == "bump" else 0]
        margins = self._margins(np.array([self.middle - self.half * np.cos(end)]))[:2, 0]
        return self.LINKS[int(np.argmin(np.nan_to_num(np.abs(margins))))]


def cross(a: ArrayLike, b: ArrayLike) -> np.ndarray:
    """x of a times z of b less z of a times x of b."""
    return np.real(a) * np.imag(b) - np.imag(a) * np.real(b)


def dot(a: ArrayLike, b: ArrayLike) -> np.ndarray:
    """Scalar product."""
    return np.real(a) * np.real(b) + np.imag(a) * np.imag(b)
