"""What a customer measures before a kit is made for his car, in the groups of the intake sheet: keys of the car file and what is asked."""
from __future__ import annotations

from dataclasses import dataclass

from ..carfile.template import Asked

KEEP = "delete the section if the car has none"
HOLES = "[{y: , z: , diameter: }]"
TUBES = "[{name: , section: {outer_diameter: , wall: }, points: [{x: , y: , z: }]}]"
"""How lists are written in the template."""


@dataclass(frozen=True)
class Group:
    """What stands on one page of the form. pictures: names of the drawings beside it (``intake_pictures``)."""
    title: str
    how: str
    asked: tuple[Asked, ...]
    pictures: tuple[str, ...] = ()


def _tube(path: str, name: str, needed: bool = True) -> tuple[Asked, ...]:
    return (Asked(f"{path}.section.outer_diameter", f"{name}: outside diameter", needed),
            Asked(f"{path}.section.wall", f"{name}: wall", needed))


CAR = Group("Car", "Circle the word that fits. Leave what you do not know blank and say so in the remarks.", (
    Asked("car.name", "Name of the car", True),
    Asked("car.class", "Class it runs in"),
    Asked("car.wheelbase", "Wheelbase", True),
    Asked("car.units", "Lengths are in", True),
    Asked("car.body", "Bodywork", True),
    Asked("car.elapsed_time", "Elapsed time it runs"),
    Asked("car.speed", "Finish-line speed"),
    Asked("car.track", "Length of the track"),
    Asked("car.power_adder", "Power adder"),
    Asked("car.transbrake", "Transbrake"),
    Asked("car.tires", "Rear tires"),
    Asked("car.driver_position", "Where the driver sits"),
    Asked("car.driver_envelope.x_rear", "Driver's room: rear end, forward of the axle"),
    Asked("car.driver_envelope.x_front", "Driver's room: front end, forward of the axle"),
    Asked("car.driver_envelope.y_right", "Driver's room: right side (negative = right of center)"),
    Asked("car.driver_envelope.y_left", "Driver's room: left side (positive = left of center)"),
    Asked("car.driver_envelope.z_low", "Driver's room: lowest point above track"),
    Asked("car.driver_envelope.z_high", "Driver's room: highest point above track")), ("driver",))

CHASSIS = Group("Chassis", "Car level at ride height, driver in. Measure forward from the rear axle centerline, up from the track, and to "
                "the left of the center plane; tubes to their centerlines.", (
    Asked("chassis.rear_tire.loaded_radius", "Rear axle centerline above track", True),
    Asked("chassis.rear_tire.free_radius", "Rear tire radius, unloaded"),
    Asked("chassis.rear_tire.growth_radius", "Growth of that radius at speed"),
    Asked("chassis.rails.section.outer_diameter", "Main rail: outside diameter", True),
    Asked("chassis.rails.section.wall", "Main rail: wall", True),
    Asked("chassis.rails.half_spacing", "Main rail: center plane to its centerline", True),
    Asked("chassis.rails.height", "Main rail: centerline above track", True),
    Asked("chassis.uprights.x", "Upright beside the mid plate: station"),
    Asked("chassis.uprights.half_spacing", "Upright: center plane to its centerline"),
    *_tube("chassis.uprights", "Upright", False),
    Asked("chassis.footwell_tube.x", f"Footwell tube: station ({KEEP})", True),
    Asked("chassis.footwell_tube.z", "Footwell tube: height", True), *_tube("chassis.footwell_tube", "Footwell tube"),
    Asked("chassis.rear_cross_member.x", f"Rear cross member: station ({KEEP})", True),
    Asked("chassis.rear_cross_member.z", "Rear cross member: height", True), *_tube("chassis.rear_cross_member", "Rear cross member"),
    Asked("chassis.upper_fore_aft.half_spacing", f"Upper members: center plane to centerline ({KEEP})", True),
    Asked("chassis.upper_fore_aft.z", "Upper members: height", True),
    *_tube("chassis.upper_fore_aft", "Upper members", False),
    Asked("chassis.firewall.x", f"Firewall line: station at the mid plate ({KEEP})", True),
    Asked("chassis.tubes", "Further tubes near the driveshaft (table on the last sheet)", form=TUBES),
    Asked("chassis.surface_plate.height", "Surface plate: its top below the track plane at the axle"),
    Asked("chassis.surface_plate.rake", "Surface plate: angle of the track plane on it, nose down")), ("side", "plan"))

REAR_END = Group("Rear end", "Car at ride height. The pinion's angle is read on its yoke with a digital level that was zeroed on the "
                             "floor.", (
    Asked("rear_end.pinion_joint.x", "Rear joint center: forward of the axle", True),
    Asked("rear_end.pinion_joint.y", "Rear joint center: left of the center plane", True),
    Asked("rear_end.pinion_joint.z", "Rear joint center: above track", True),
    Asked("rear_end.pinion_pitch", "Pinion pitch, positive = nose low", True),
    Asked("rear_end.ratio", "Axle ratio", True),
    Asked("rear_end.windup", "Nose-up turn of the pinion at launch"),
    Asked("rear_end.suspension.kind", "Rear suspension", True),
    Asked("rear_end.suspension.bump", "Axle travel up from ride height", True),
    Asked("rear_end.suspension.droop", "Axle travel down from ride height", True),
    *(Asked(f"rear_end.suspension.{link}.{end}.{axis}", f"{word} link, end on the {place}: {way}")
      for link, word in (("lower", "Lower"), ("upper", "Upper")) for end, place in (("axle", "housing"), ("chassis", "chassis"))
      for axis, way in (("x", "forward of the axle"), ("z", "above track"))),
    Asked("rear_end.suspension.pivot.x", "Ladder bar, front pivot: forward of the axle"),
    Asked("rear_end.suspension.pivot.z", "Ladder bar, front pivot: above track")), ("rear_end",))

ENGINE = Group("Engine", "Name a row of the catalog; or give it a name, say who measured it and when, and measure all: forward from the "
               "rear face of the block, left and up from the crank centerline.", (
    Asked("engine.use", "Row of the catalog, or a name of your own", True),
    Asked("engine.shop.source", "Own figures: who measured them"), Asked("engine.shop.date", "Own figures: when, YYYY-MM-DD"),
    Asked("engine.kind", "Layout"), Asked("engine.material", "Block material"),
    Asked("engine.bore_spacing", "Bore spacing"), Asked("engine.deck_height", "Crank centerline to deck"),
    Asked("engine.block_length", "Rear face to front face of the block"),
    Asked("engine.base_drop", "Base of the rear face below the crank centerline"),
    Asked("engine.block_half_width", "Half width of the block at the banks"),
    Asked("engine.number_one_plug.x", "Number one plug: forward of the rear face"),
    Asked("engine.number_one_plug.y", "Number one plug: left of the crank"),
    Asked("engine.number_one_plug.z", "Number one plug: above the crank"),
    Asked("engine.nose_ahead_of_front_face", "Damper or pump nose ahead of the front face"),
    Asked("engine.damper_diameter", "Damper diameter"),
    Asked("engine.pan.x_rear", "Oil pan: rear end, forward of the rear face"), Asked("engine.pan.x_front", "Oil pan: front end"),
    Asked("engine.pan.depth", "Oil pan: below the crank centerline"), Asked("engine.pan.half_width", "Oil pan: half width"),
    Asked("engine.crank_flange_diameter", "Crank flange diameter"),
    Asked("engine.rear_holes", "Rear face: bolts and dowels (table on the last sheet)", form=HOLES),
    Asked("engine.front_holes", "Front face: bolts (table on the last sheet)", form=HOLES),
    Asked("engine.dowel_diameter", "Rear dowels: diameter"), Asked("engine.dowel_length", "Rear dowels: standing out of the block"),
    Asked("engine.peak_torque", "Peak torque"), Asked("engine.peak_torque_speed", "Speed of peak torque"),
    Asked("engine.rpm_limit", "Limiter speed"),
    Asked("engine.mass", "Mass, dressed"),
    Asked("engine.cg.x", "Center of gravity: forward of the rear face"), Asked("engine.cg.y", "Center of gravity: left of the crank"),
    Asked("engine.cg.z", "Center of gravity: above the crank")), ("engine", "rear_face"))

TRANSMISSION = Group("Transmission", "Name a row of the catalog; or give it a name, say who measured it and when, and measure all: back "
                     "from the front face of the bell, down from the output's centerline.", (
    Asked("transmission.use", "Row of the catalog, or a name of your own", True),
    Asked("transmission.shop.source", "Own figures: who measured them"), Asked("transmission.shop.date", "Own figures: when, YYYY-MM-DD"),
    Asked("transmission.kind", "Kind"), Asked("transmission.bellhousing_depth", "Depth of a separate bellhousing"),
    Asked("transmission.bell_radius", "Radius of the bell at its front face"),
    Asked("transmission.bell_to_seal", "Front face of the bell to the output seal"),
    Asked("transmission.joint_from_seal", "Output seal to front joint center"),
    Asked("transmission.slip_exposed", "Slip yoke exposed at ride height"),
    Asked("transmission.spline_engaged", "Spline engaged at ride height"), Asked("transmission.spline_diameter", "Spline diameter"),
    Asked("transmission.mount_pad.from_bell", "Mount pad: behind the front face of the bell"),
    Asked("transmission.mount_pad.below_axis", "Mount pad: below the output's centerline"),
    Asked("transmission.mount_pad.bolt", "Mount pad: bolt diameter"),
    Asked("transmission.mount_pad.bolt_spacing", "Mount pad: bolts apart across the car"),
    Asked("transmission.pan.from_bell_front", "Pan: front edge behind the bell"),
    Asked("transmission.pan.from_bell_rear", "Pan: rear edge"),
    Asked("transmission.pan.half_width", "Pan: half width"),
    Asked("transmission.pan.below_axis", "Pan: bottom below the output's centerline"),
    Asked("transmission.first_gear", "First gear ratio"), Asked("transmission.top_gear", "Top gear ratio"),
    Asked("transmission.converter_ratio", "Torque ratio of the converter at stall"),
    Asked("transmission.clutch_capacity_factor", "Clutch capacity over engine torque"),
    Asked("transmission.gap_without_plates", "Converter to flexplate, no plate between"),
    Asked("transmission.input_beyond_bell_face", "Input shaft beyond the front face of the bell"),
    Asked("transmission.disengage_travel", "Travel back that frees dowels and pilot"),
    Asked("transmission.mass", "Mass"),
    Asked("transmission.cg.x", "Center of gravity: forward of the bell (behind: negative)"),
    Asked("transmission.cg.y", "Center of gravity: left"), Asked("transmission.cg.z", "Center of gravity: up")), ("transmission",))

PLACEMENT = Group("Placement", "What the car is to have. Write the shop's word where the shop decides.", (
    Asked("placement.axle_to_block", "Rear axle centerline to rear face of the block, at its base", True),
    Asked("placement.crank_height", "Crank centerline above track", True),
    Asked("placement.height_at", "Crank height is at"),
    Asked("placement.pitch", "Crank pitch, positive = rear high", True),
    Asked("placement.lateral", "Crank left of the center plane")), ("placement",))

GROUPS = (CAR, CHASSIS, REAR_END, ENGINE, TRANSMISSION, PLACEMENT)
"""The form, page by page."""


def asked() -> tuple[Asked, ...]:
    """Everything that is asked for, in the order of its numbers."""
    return tuple(one for group in GROUPS for one in group.asked)
