"""Transmission mount: tab on the transmission's tail and tube down into the receiver on the cross member.

Its foot is where the chassis is and its head where the powertrain is, so it changes shape when one moves to the other.
"""
from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from .. import model
from ..compat import add_property
from ..geometry import transmission_mount
from ..host import FreeCAD as App
from ..mechanics.frames import Frame
from ..mechanics.scene import Scene
from ..snapshot import BETWEEN, PartView, Snapshot
from .base import PartFeature
from .joint_hardware import HardwareLine, tapped, through
from .part_kind import MOUNT, OUTLINE, Hold, Joint, PartKind, Removal, Supply, none
from .result_properties import output
from .side_item import Item, boxes

SERVICE_STATES = ("mounted", "folded")


def hardware(car: model.Car, _scene: Scene) -> tuple[HardwareLine, ...]:
    """Tail bolts, and the cross bolt through tube and receiver."""
    mount = car.mounts.transmission
    if mount is None:
        return ()
    sleeve = mount.tube.outer_diameter + 2.0 * (transmission_mount.SLEEVE_FIT + transmission_mount.SLEEVE_WALL)
    return (*tapped(car.transmission.mount_pad.bolt, mount.tail_bolts, mount.tab_thickness, ("transmission_mount", "transmission")),
            *through(mount.cross_bolt, 1, sleeve, ("receiver", "transmission_mount")))


def numbered(_snapshot: Snapshot, parts: tuple[PartView, ...]) -> Iterator[Item]:
    """Its middle."""
    for part, box in boxes(parts):
        yield Item("Transmission mount", box.Center.x, box.Center.z, None, None, part.material, True)


TAIL = tuple(f"mounts.transmission.{name}" for name in ("tab_thickness", "tube.outer_diameter", "tube.wall"))


class TransmissionMount(PartFeature):
    """Tab and tube. ``ServiceState`` folded shows it as it lies on the cross member while the transmission is out."""
    kind = "transmission_mount"
    declares = (PartKind(
        role="transmission_mount", kind="transmission_mount", label="Transmission mount", container="mounts",
        section="mounts.transmission",
        moves_with=BETWEEN, welded=False, reference=False, protective=False,
        supply=Supply.KIT, mark="TM",
        look=MOUNT,
        stands_on=none("its tube slides in the receiver"),
        joints=(Joint(Hold.BOLTED, ("transmission",)), Joint(Hold.SLIDING, ("receiver", "cross_member"))),
        keeps_clear=none("it hangs on the transmission and sits on the cross member"),
        near_driver=True,
        side_view=OUTLINE,
        numbered=numbered,
        hardware=hardware,
        removal=Removal(off_with="transmission_mount"),
        parameters=("mounts.cross_member.offset", "mounts.cross_member.z"),
        stronger={"tail_bolts": ("mounts.transmission.tail_bolts", "mounts.cross_member.offset"), "tail_tab": TAIL[:1], "tail": TAIL,
                  "cross_bolt": ("mounts.transmission.cross_bolt",), "tail_alone": TAIL}),)
    record = model.TransmissionMount
    geometry = transmission_mount
    states = (("ServiceState", SERVICE_STATES[0]), ("AsDelivered", False))
    links = (("CrossMember", "The cross member that it is mounted on"),)

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
