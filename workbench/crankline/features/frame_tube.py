"""A further tube of the chassis: floor tubes, loop carriers, seat and cage tubes. Its points are its own, or what the sketches draw."""
from __future__ import annotations

from collections.abc import Iterator

from .. import model
from ..compat import add_property
from ..geometry import bent_tube, frame_tube
from ..record import filled
from ..snapshot import CHASSIS, PartView, Snapshot
from . import drawn_tubes, props
from .base import ChassisPart, layout_of
from .part_kind import CHASSIS_IS_AROUND, NOT_SCREENED, OWN, STAYS, STEEL_TUBE, THIN, Hold, Joint, PartKind, Supply, Weld, none
from .result_properties import developed_length
from .side_item import Item, tube


def numbered(snapshot: Snapshot, parts: tuple[PartView, ...]) -> Iterator[Item]:
    """Tubes that look alike from the side, which left and right mostly do, are one item."""
    keys = {part.key for part in parts}
    alike: dict[tuple, list[model.Tube]] = {}
    for given in filled(snapshot.car.chassis).tubes or ():
        if f"tube/{given.name}" in keys and given.points:
            alike.setdefault(tuple((x, z) for x, _y, z in given.points), []).append(given)
    for points, tubes in alike.items():
        (ax, az), (bx, bz) = points[0], points[1]
        z = 0.6 * az + 0.4 * bz
        yield Item(f"Tube {', '.join(one.name.replace('_', ' ') for one in tubes)}", 0.6 * ax + 0.4 * bx, z, None, z,
                   tube(tubes[0].section, tubes[0].material, snapshot.system), True)


class FrameTube(ChassisPart):
    """One tube; where its ends lie on the centerlines of other tubes it is coped to them."""
    kind = "frame_tube"
    declares = (PartKind(
        role="frame_tube", kind="frame_tube", label="Chassis tube", container="chassis", section="chassis.tubes",
        moves_with=CHASSIS, welded=False,
        reference=False, protective=False, look=STEEL_TUBE,
        supply=Supply.CUSTOMER, mark=OWN,
        stands_on=none("it is the chassis that others are built on"),
        joints=(Joint(Hold.WELDED, ("cross_member",), Weld.AROUND),),
        keeps_clear=("oil_pan_to_members", "transmission_pan_to_members", "bell_to_chassis", "starter_to_chassis", "damper_to_chassis",
                     "header_to_chassis", "shaft_to_containment"),
        near_driver=CHASSIS_IS_AROUND, side_view=THIN, numbered=numbered,
        hardware=none("it is welded"), removal=STAYS,
        parameters=none("where it runs is given by its points"), stronger=NOT_SCREENED),)
    record = model.Tube
    geometry = frame_tube
    links = (("CrossMember", "The transmission cross member, to which it may be welded"),)
    optional_links = ("CrossMember",)
    link_lists = (("Tubes", "The tubes ahead of it in the list: where it meets one of them it is coped to it"),)

    def ensure(self, obj) -> None:
        super().ensure(obj)
        add_property(obj, "App::PropertyInteger", "Number", "Identity", "Place in the list of tubes")
        obj.setPropertyStatus("Number", "Output")
        obj.setPropertyStatus("Unset", ["Hidden", "Output"])
        developed_length(obj, "Length of the centerline before bending and coping, grip allowance not included")

    def show(self, obj, scene) -> None:
        drawn = drawn_tubes.of(layout_of(obj).Chassis).get(drawn_tubes.role_of(self.read(obj).name))
        if drawn is not None:
            rows = {row.name: row for row in self.rows()}
            props.derive(obj, rows["Points"], drawn.points)
            if drawn.bend_radius:
                props.derive(obj, rows["BendRadius"], drawn.bend_radius)

    @classmethod
    def spec(cls, records, scene):
        return frame_tube.spec(records.own, scene, records["CrossMember"], records["Tubes"])

    def results(self, obj, records, spec, scene) -> None:
        obj.DevelopedLength = bent_tube.developed_length(spec.points, spec.bend_radius)
