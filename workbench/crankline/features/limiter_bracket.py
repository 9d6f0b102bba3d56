"""Bracket of the limiter strut on the rear face of the front plate, bolted."""
from __future__ import annotations

from .. import model
from ..geometry import limiter, limiter_bracket
from ..mechanics.scene import Scene
from ..snapshot import POWERTRAIN
from .base import PartFeature
from .joint_hardware import HardwareLine, piece, through
from .part_kind import BEHIND_RAIL, MOUNT, OUTLINE, SWEPT_PAST, Hold, Joint, PartKind, Supply, none


def at(car: model.Car, end: str) -> tuple[HardwareLine, ...]:
    """Rod end and bolt at one end of the strut, which its bracket holds."""
    strut = car.mounts.limiter_strut
    if strut is None:
        return ()
    where = ("limiter_strut", end)
    lines = tuple(line for kind, count in (("rod_end", 1), ("jam_nut", 1), ("spacer", 2)) for line in piece(kind, strut.bolt, count, where))
    return lines + through(strut.bolt, 1, limiter.BALL_WIDTH * strut.bolt + 2.0 * strut.bracket_thickness, where)


def hardware(car: model.Car, _scene: Scene) -> tuple[HardwareLine, ...]:
    """What is at the bracket's end of the strut, and the bolts that hold the bracket on the plate."""
    strut, front = car.mounts.limiter_strut, car.plates.front
    if strut is None or front is None:
        return at(car, "limiter_bracket")
    grip = front.thickness + strut.bracket_thickness
    return at(car, "limiter_bracket") + through(strut.bolt, 2, grip, ("front_plate", "limiter_bracket"))


class LimiterBracket(PartFeature):
    """The bracket at the strut's front end."""
    kind = "limiter_bracket"
    declares = (PartKind(
        role="limiter_bracket", kind="limiter_bracket", label="Limiter bracket", container="mounts",
        section="mounts.limiter_strut",
        moves_with=POWERTRAIN, welded=False, reference=False, protective=False,
        supply=Supply.KIT, mark="LB",
        look=MOUNT,
        stands_on=none("it is bolted on the front plate"),
        joints=(Joint(Hold.BOLTED, ("front_plate", "limiter_strut")),),
        keeps_clear=none("it is on the front plate, within its outline"),
        near_driver=True,
        side_view=OUTLINE,
        numbered=BEHIND_RAIL,
        hardware=hardware,
        removal=SWEPT_PAST,
        parameters=("mounts.limiter_strut.plate_y", "mounts.limiter_strut.plate_z", "mounts.limiter_strut.run"),
        stronger={"bearing": ("mounts.limiter_strut.bracket_thickness",), "limiter_bracket": (
            "mounts.limiter_strut.bracket_thickness", "mounts.limiter_strut.run", "mounts.limiter_strut.plate_y")}),)
    geometry = limiter_bracket
    material_of = "LimiterStrut"
    links = (("LimiterStrut", "The strut that it holds"),)
    end = "plate"

    @classmethod
    def spec(cls, records, scene):
        return limiter_bracket.spec(records["LimiterStrut"], scene, cls.end)
