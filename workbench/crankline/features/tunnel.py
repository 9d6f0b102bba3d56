"""Tunnel: cover over loops and enclosure, between the driver and the driveshaft."""
from __future__ import annotations

from .. import model
from ..geometry import tunnel
from ..snapshot import CHASSIS
from .base import ChassisPart, developed_area, linked_record, linked_records, output


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

    def spec(self, obj, scene):
        covered = model.Containment(loops=linked_records(obj, "Loops"), enclosure=linked_record(obj, "Enclosure"))
        return tunnel.spec(self.read(obj), covered, scene)

    def results(self, obj, spec) -> None:
        obj.DevelopedAreaMm2, obj.PanelLine = tunnel.developed_area(spec), tunnel.panel_line_length(spec)

    def moves(self, obj) -> str:
        enclosure = obj.Enclosure
        return CHASSIS if enclosure is None or enclosure.Proxy is None else enclosure.Proxy.moves(enclosure)
