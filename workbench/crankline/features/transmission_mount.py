"""Transmission mount: tab on the transmission's tail and tube down into the receiver on the cross member.

Its foot is where the chassis is and its head where the powertrain is, so it changes shape when one moves to the other.
"""
from __future__ import annotations

import numpy as np

from .. import model
from ..compat import add_property
from ..geometry import transmission_mount
from ..host import FreeCAD as App
from ..mechanics.frames import Frame
from ..snapshot import BETWEEN
from .base import PartFeature, output

SERVICE_STATES = ("mounted", "folded")


class TransmissionMount(PartFeature):
    """Tab and tube. ``ServiceState`` folded shows it as it lies on the cross member while the transmission is out."""
    kind = "transmission_mount"
    record = model.TransmissionMount
    geometry = transmission_mount
    moves_with = BETWEEN
    states = (("ServiceState", SERVICE_STATES[0]), ("AsDelivered", False))
    links = (("CrossMember", "The cross member that it stands on"),)

    def ensure(self, obj) -> None:
        super().ensure(obj)
        if add_property(obj, "App::PropertyEnumeration", "ServiceState", "Service",
                        "Mounted, or with its bolts out, slid down and folded flat on the cross member"):
            obj.ServiceState = list(SERVICE_STATES)
        add_property(obj, "App::PropertyBool", "AsDelivered", "Service",
                     "Shown long, as it is delivered, before it is cut at the trim line")
        for name in ("TrimLineStart", "TrimLineEnd"):
            output(obj, "App::PropertyVector", name, "Results", "End of the line on the tab to which it is cut, in the car frame")
        output(obj, "App::PropertyDistance", "SlideTravel", "Results", "How far the tube can slide down in its receiver")

    @classmethod
    def spec(cls, records, scene):
        return transmission_mount.spec(records.own, records["CrossMember"], scene, bool(records.state["AsDelivered"]))

    @classmethod
    def frame(cls, records, scene) -> Frame:
        frame = scene.engine_frame
        if records.state["ServiceState"] == SERVICE_STATES[0]:
            return frame
        place = transmission_mount.folded(cls.spec(records, scene))
        matrix = place.toMatrix()
        turned = np.array(matrix.A).reshape(4, 4)[:3, :3]
        return Frame(frame.rotation @ turned, frame.to_car(np.array(place.Base)))

    def results(self, obj, records, spec, scene) -> None:
        for name, (y, x) in zip(("TrimLineStart", "TrimLineEnd"), transmission_mount.trim_line(spec)):
            point = scene.engine_point(spec.pad[0] + x, spec.pad[1] + y, spec.pad[2])
            setattr(obj, name, App.Vector(*point))
        obj.SlideTravel = transmission_mount.slide(spec)
