"""Tunnel: cover over loops and enclosure, between the driver and the driveshaft."""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from .. import model
from ..geometry import tunnel
from ..mechanics.scene import Scene
from ..snapshot import CHASSIS, PartView, Snapshot
from ..units import INCH
from .base import ChassisPart
from .enclosure import Enclosure
from .joint_hardware import ON_ASSEMBLY, HardwareLine, along, piece, spaced
from .part_kind import CHASSIS_TUBES, LOOPS, NOT_SCREENED, Hold, Joint, Look, PartKind, Removal, SideView, Supply, none
from .result_properties import developed_area, output
from .side_item import Item, boxes

PANEL_SCREW = 0.190 * INCH
"""No. 10 screws along the line at which the removable top parts from the sides (common practice, no source)."""
AT_A_LOOP = 4
"""Two on each side of the car (common practice, no source)."""
INTO_STRAPS = f"{ON_ASSEMBLY}, into straps around the loop, which are not drawn; never drill the loop itself"


def hardware(car: model.Car, scene: Scene) -> tuple[HardwareLine, ...]:
    """Screws of the removable top and at the loops, drilled on assembly."""
    if car.containment.tunnel is None:
        return ()
    made = tunnel.spec(car.containment.tunnel, car.containment, scene)
    count = sum(along(run) for side in (1, -1) for run in tunnel.panel_runs(made, side))
    return (*piece("screw", PANEL_SCREW, count, ("tunnel",), note=spaced()),
            *(line for loop in car.containment.loops
              for line in piece("screw", PANEL_SCREW, AT_A_LOOP, ("tunnel", f"loop/{loop.name}"), note=INTO_STRAPS)))


def numbered(_snapshot: Snapshot, parts: tuple[PartView, ...]) -> Iterator[Item]:
    """Its rear end, where it is highest."""
    for part, box in boxes(parts):
        yield Item("Tunnel", box.XMin + 0.02 * box.XLength, box.ZMax, None, None, part.material)


class Tunnel(ChassisPart):
    """The cover; it is shaped by what it covers, and its top slopes as they do."""
    kind = "tunnel"
    declares = (PartKind(
        role="tunnel", kind="tunnel", label="Tunnel", container="driveline",
        section="containment.tunnel",
        moves_with=CHASSIS, welded=False, reference=False, protective=True,
        supply=Supply.KIT, mark="TN",
        look=Look((0.70, 0.68, 0.78), 78),
        stands_on=none("it is trimmed to the tubes around it"),
        joints=(Joint(Hold.BOLTED, LOOPS), Joint(Hold.TRIMMED, CHASSIS_TUBES)),
        keeps_clear=("bell_to_chassis", "starter_to_chassis", "header_to_chassis", "shaft_to_containment"),
        near_driver=True,
        side_view=SideView("phantom"),
        numbered=numbered,
        hardware=hardware,
        removal=Removal(off_with="tunnel"),
        parameters=("containment.tunnel.clearance",),
        stronger=NOT_SCREENED),)
    record = model.Tunnel
    geometry = tunnel
    links = (("Enclosure", "The enclosure that it covers, if there is one"),)
    optional_links = ("Enclosure",)
    schema = 2
    link_lists = (("Loops", "The loops that it covers"), ("Tubes", "The further tubes of the chassis, on which the loops may be mounted"))

    def ensure(self, obj) -> None:
        super().ensure(obj)
        developed_area(obj)
        output(obj, "App::PropertyDistance", "PanelLine", "Results",
               "Length of the line on each side at which the removable top parts from the sides, openings not taken off")

    @classmethod
    def spec(cls, records, scene):
        covered = model.Containment(loops=records["Loops"], enclosure=records["Enclosure"])
        return tunnel.spec(records.own, covered, scene, records["Tubes"])

    def results(self, obj, records, spec, scene) -> None:
        obj.DevelopedAreaMm2, obj.PanelLine = tunnel.developed_area(spec), tunnel.panel_line_length(spec)

    @classmethod
    def moves(cls, records) -> str:
        enclosure = records["Enclosure"]
        return CHASSIS if enclosure is None else Enclosure.moves(replace(records, own=enclosure))
