"""Tunnel: cover over loops and enclosure, between the driver and the driveshaft."""
from __future__ import annotations

from dataclasses import replace

from .. import model
from ..geometry import tunnel
from ..snapshot import CHASSIS
from .base import ChassisPart, developed_area, output
from .enclosure import Enclosure


class Tunnel(ChassisPart):
    """The cover; it is shaped by what it covers, and its top slopes as they do."""
    kind = "tunnel"
    record = model.Tunnel
    geometry = tunnel
    links = (("Enclosure", "The enclosure that it covers, if there is one"),)
    optional_links = ("Enclosure",)
    link_lists = (("Loops", "The loops that it covers"),)

    def ensure(self, obj) -> None:
        super().ensure(obj)
        developed_area(obj)
        output(obj, "App::PropertyDistance", "PanelLine", "Results",
               "Length of the line on each side at which the removable top parts from the sides, openings not taken off")

    @classmethod
    def spec(cls, records, scene):
        covered = model.Containment(loops=records["Loops"], enclosure=records["Enclosure"])
        return tunnel.spec(records.own, covered, scene)

    def results(self, obj, records, spec, scene) -> None:
        obj.DevelopedAreaMm2, obj.PanelLine = tunnel.developed_area(spec), tunnel.panel_line_length(spec)

    @classmethod
    def moves(cls, records) -> str:
        enclosure = records["Enclosure"]
        return CHASSIS if enclosure is None else Enclosure.moves(replace(records, own=enclosure))
