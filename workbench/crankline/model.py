"""One plain picture of a whole car: frozen records in mm, kg, N, s, rad (axes and words: DEVELOPERS.md).

Every field carries its kind, range, default and meaning (``record``); the car file's schema and the documents' property
tables are derived from these records, so a field is added here and nowhere else. ``None`` means absent. Points are in
the car frame unless the record says *engine frame*: origin where the crank centerline pierces the plane of the block's
rear face, x forward along the crank, y left, z up in the plane of the block.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .record import angle, choice, count, flag, holes, length, part, parts, points, quantity, ratio, size, text, texts
from .units import DEG, INCH

Hole = tuple[float, float, float]
"""(y, z, diameter) in mm, engine frame."""


@dataclass(frozen=True)
class Point:
    """A point in space."""
    x: float = length("forward", required=True)
    y: float = length("left", required=True)
    z: float = length("up", required=True)


@dataclass(frozen=True)
class SidePoint:
    """A point in side view."""
    x: float = length("forward", required=True)
    z: float = length("up", required=True)


@dataclass(frozen=True)
class Section:
    """A round tube."""
    outer_diameter: float = size("outside diameter", table="sections", required=True)
    wall: float = size("wall thickness", required=True)


@dataclass(frozen=True)
class DriverEnvelope:
    """The box that the driver occupies."""
    x_rear: float = length("rear end", required=True)
    x_front: float = length("front end", required=True)
    y_right: float = length("right side (negative is right of the center plane)", required=True)
    y_left: float = length("left side", required=True)
    z_low: float = length("lowest point", required=True)
    z_high: float = length("highest point", required=True)


@dataclass(frozen=True)
class Scales:
    """The car as it was weighed, driver in, level on four scales; and how high its center of gravity is, from weighing the rear axle again
    with the front wheels raised, suspension locked."""
    front_left: float = quantity("mass", "scale under the left front wheel", low=0.0, high=5000.0, required=True)
    front_right: float = quantity("mass", "scale under the right front wheel", low=0.0, high=5000.0, required=True)
    rear_left: float = quantity("mass", "scale under the left rear wheel", low=0.0, high=5000.0, required=True)
    rear_right: float = quantity("mass", "scale under the right rear wheel", low=0.0, high=5000.0, required=True)
    front_raised: float = size("how high the front wheels were raised for the second weighing", low=25.0, high=2000.0)
    rear_gain: float = quantity("mass", "what both rear scales together gained by it", low=0.0, high=1000.0)


@dataclass(frozen=True)
class CarRecord:
    """What the rules ask about the car as a whole; no shape reads it."""
    name: str = text("name of the car", required=True)
    class_: str = text("class it runs in", key="class")
    units: str = choice("unit of lengths in written files", "in", "mm", default="in")
    wheelbase: float = size("wheelbase", low=1000.0, high=10000.0, required=True)
    body: str = choice("bodywork", "full", "open", required=True)
    elapsed_time: float = quantity("time", "elapsed time it runs", low=1.0, high=60.0)
    track: str = choice("length of the track", "quarter", "eighth", default="quarter")
    speed: float = quantity("speed", "finish-line speed", low=1.0, high=250_000.0)
    power_adder: str = choice("power adder", "none", "nitrous", "supercharged", "turbocharged", default="none")
    transbrake: bool = flag("whether the transmission has a transbrake", default=False)
    tires: str = choice("rear tires", "slick", "street", default="slick")
    driver_position: str = choice("where the driver sits", "ahead_of_axle_left", "ahead_of_axle_right",
                                  "ahead_of_axle_centre", "astride_shaft", "behind_axle", default="ahead_of_axle_left")
    driver_envelope: DriverEnvelope = part(DriverEnvelope, "box that the driver occupies")
    front_track: float = size("front wheels, center to center of the tires", low=300.0, high=3000.0)
    rear_track: float = size("rear wheels, center to center of the tires", low=300.0, high=3000.0)
    scales: Scales = part(Scales, "the car as it was weighed")


@dataclass(frozen=True)
class RearTire:
    """Radii of the rear tire. The loaded radius at static ride height is the height of the axle."""
    loaded_radius: float = size("static loaded radius", low=50.0, high=1500.0, required=True)
    free_radius: float = size("radius unloaded", low=50.0, high=1500.0)
    growth_radius: float = length("growth of the radius at speed", low=0.0, high=500.0, default=0.0)


@dataclass(frozen=True)
class SurfacePlate:
    """The plate that the car is built on: its top below the track plane at X = 0, and how it leans to that plane."""
    height: float = length("depth of the plate's top below the track plane at X = 0", low=-2000.0, high=2000.0, default=0.0)
    rake: float = angle("angle of the track plane on the plate, positive nose down", limit=0.35, default=0.0)


@dataclass(frozen=True)
class Sketches:
    """An existing document whose sketches give the chassis, instead of numbers."""
    file: str = text("document file, beside the car file", required=True)
    side: str = text("label or name of the side-view sketch", required=True)
    plan: str = text("label or name of the plan sketch", required=True)


@dataclass(frozen=True)
class Rails:
    """Main lower rails."""
    kind: str = choice("lower main tubes per side", "single", "double", default="single")
    section: Section = part(Section, "tube", required=True)
    material: str = text("material", table="materials", default="4130N")
    half_spacing: float = size("center plane to rail centerline")
    height: float = length("rail centerline above the track", low=0.0, high=2000.0)
    upper_height: float = length("centerline of the second rail of a double-rail chassis", low=0.0, high=2000.0)
    x_rear: float = length("rear end of the rail")
    x_front: float = length("front end of the rail")


@dataclass(frozen=True)
class Uprights:
    """Uprights beside the mid plate, to which the support tube is welded."""
    x: float = length("station; absent: 1 1/8 in behind the firewall line, clear of the mid plate's ears")
    half_spacing: float = size("center plane to centerline")
    section: Section = part(Section, "tube", default=Section(outer_diameter=1.25 * INCH, wall=0.065 * INCH))


@dataclass(frozen=True)
class CrossTube:
    """A tube square across the car at one station."""
    x: float = length("station")
    z: float = length("centerline above the track")
    section: Section = part(Section, "tube", required=True)


@dataclass(frozen=True)
class UpperForeAft:
    """Upper fore-aft members over the driveshaft."""
    half_spacing: float = size("center plane to centerline")
    z: float = length("centerline above the track")
    section: Section = part(Section, "tube", default=Section(outer_diameter=1.25 * INCH, wall=0.065 * INCH))
    x_rear: float = length("rear end")
    x_front: float = length("front end")


@dataclass(frozen=True)
class Tube:
    """Any further tube of the chassis: floor tubes, loop carriers, seat and cage tubes. Its ends lie on the centerlines of the tubes that
    they are coped to."""
    name: str = text("name, unique among the tubes", required=True)
    section: Section = part(Section, "tube", required=True)
    material: str = text("material", table="materials", default="4130N")
    points: tuple[tuple[float, float, float], ...] = points("centerline from end to end, a point for each bend between")
    bend_radius: float = size("centerline radius of its bends; absent: three outside diameters")


def too_few_points(given: Sequence[tuple[float, float, float]]) -> str:
    """What is said of a tube without both of its ends."""
    return f"{len(given)} of the at least two points of its centerline were found; give both ends"


@dataclass(frozen=True)
class Firewall:
    """The firewall line in side view."""
    x: float = length("station at the mid plate", required=True)


@dataclass(frozen=True)
class Chassis:
    """The chassis as far as the powertrain meets it.

    Stations and heights of its tubes may be absent only where ``sketches`` names the sketches that give them.
    """
    rear_tire: RearTire = part(RearTire, "rear tire", required=True)
    surface_plate: SurfacePlate = part(SurfacePlate, "surface plate")
    sketches: Sketches = part(Sketches, "document and sketches instead of the numbers below")
    rails: Rails = part(Rails, "main lower rails", required=True)
    uprights: Uprights = part(Uprights, "uprights beside the mid plate")
    footwell_tube: CrossTube = part(CrossTube, "tube at the driver's feet")
    rear_cross_member: CrossTube = part(CrossTube, "rear cross member")
    upper_fore_aft: UpperForeAft = part(UpperForeAft, "upper fore-aft members")
    firewall: Firewall = part(Firewall, "firewall line")
    tubes: tuple[Tube, ...] = parts(Tube, "further tubes: floor tubes, loop carriers, seat and cage tubes", most=60, default=())


@dataclass(frozen=True)
class Housing:
    """Rear-end housing in its own frame: it gives the rear joint from the axle."""
    joint_ahead: float = length("rear joint ahead of the axle", required=True)
    hypoid_drop: float = length("pinion axis below the axle", required=True)


@dataclass(frozen=True)
class Link:
    """A suspension link in side view."""
    axle: SidePoint = part(SidePoint, "its end on the housing", required=True)
    chassis: SidePoint = part(SidePoint, "its end on the chassis", required=True)


@dataclass(frozen=True)
class Suspension:
    """Rear suspension in side view."""
    kind: str = choice("kind", "four_link", "ladder", "rigid", required=True)
    bump: float = length("axle travel up from static", low=0.0, high=1000.0, default=0.0)
    droop: float = length("axle travel down from static", low=0.0, high=1000.0, default=0.0)
    lower: Link = part(Link, "lower link of a four-link")
    upper: Link = part(Link, "upper link of a four-link")
    pivot: SidePoint = part(SidePoint, "front pivot of a ladder bar")
    launch_separation: float = length("axle travel down from static at launch: body rises; negative: it squats", low=-1000.0, high=1000.0)
    brake_dive: float = length("axle travel down from static under braking", low=0.0, high=1000.0)
    wheel_rate: float = quantity("rate", "rate at each rear wheel, springs and motion ratio: how far the body moves at launch follows",
                                 low=0.1, high=10_000.0)


@dataclass(frozen=True)
class RearEnd:
    """Rear axle, pinion and suspension."""
    pinion_joint: Point = part(Point, "center of the rear joint at static ride height")
    pinion_pitch: float = angle("pinion axis to the ground, positive nose down", limit=45 * DEG)
    housing: Housing = part(Housing, "housing dimensions")
    ratio: float = ratio("axle ratio", low=1.0, high=10.0, required=True)
    windup: float = angle("nose-up turn of the pinion at launch torque", limit=15 * DEG, default=0.0)
    suspension: Suspension = part(Suspension, "rear suspension")


@dataclass(frozen=True)
class Opening:
    """A round opening in a plate, engine frame."""
    y: float = length("left of the crank centerline", required=True)
    z: float = length("above the crank centerline", required=True)
    diameter: float = size("diameter", required=True)


@dataclass(frozen=True)
class EnginePan:
    """Oil pan below the crank centerline, engine frame."""
    x_rear: float = length("rear end", required=True)
    x_front: float = length("front end", required=True)
    depth: float = size("below the crank centerline", required=True)
    half_width: float = size("half width", default=4.0 * INCH)


@dataclass(frozen=True)
class ShopRow:
    """Where figures come from that a row of a shop's own catalog gave. The car holds them all, so it opens where that catalog is not."""
    source: str = text("where the figures come from", required=True)
    date: str = text("day on which they were taken, YYYY-MM-DD", form="date", required=True)


@dataclass(frozen=True)
class Solid:
    """A file with the solid or mesh of the real thing, and three points picked on it, in the file's own coordinates."""
    file: str = text("file beside the catalog table, the car file or the document: STEP, BREP or STL", required=True)
    mesh_unit: str = choice("unit of the numbers in an STL file; the others bring theirs", "mm", "in", default="mm")
    origin: Point = part(Point, "point on the axis: of an engine where the crank centerline pierces the block's rear face, of a "
                         "transmission at the bell's front face", required=True)
    forward: Point = part(Point, "another point on the axis, ahead of it", required=True)
    left: Point = part(Point, "a point to the left of the axis, level with it across the block or case", required=True)
    digest: str = text("digest of the file as it was used; Crankline finds it")


@dataclass(frozen=True)
class Engine:
    """An engine: envelope, interfaces, mass and output. Points are in the engine frame."""
    use: str = text("row of the catalog that its figures are from", table="engines", required=True)
    kind: str = choice("layout", "V8", "V6", "inline", "V10", "V12", default="V8")
    material: str = choice("block material", "cast_iron", "aluminium")
    bore_spacing: float = size("bore spacing", required=True)
    deck_height: float = size("crank centerline to deck", required=True)
    block_length: float = size("rear face to front face of the block", required=True)
    base_drop: float = length("base of the block's rear face below the crank centerline", low=-500.0, high=500.0, required=True)
    block_half_width: float = size("half width of the block at the banks", default=9.0 * INCH)
    number_one_plug: Point = part(Point, "center of the number one plug", required=True)
    foremost_plug: Point = part(Point, "center of the foremost plug (setback is measured here)")
    nose_ahead_of_front_face: float = length("damper or pump nose ahead of the block's front face", low=0.0, default=0.0)
    pan: EnginePan = part(EnginePan, "oil pan")
    crank_flange_diameter: float = size("crank flange diameter", required=True)
    damper_diameter: float = size("crank damper diameter", default=7.25 * INCH)
    rear_holes: tuple[Hole, ...] = holes("rear-face bolt and dowel pattern", required=True)
    front_holes: tuple[Hole, ...] = holes("front-face bolt pattern")
    front_openings: tuple[Hole, ...] = holes("openings that pump, cam cover and the like ask of a front plate, the damper's apart")
    dowel_diameter: float = size("diameter of the two rear dowels", default=0.625 * INCH)
    dowel_length: float = size("dowel sticking out of the rear face", default=0.75 * INCH)
    peak_torque: float = quantity("torque", "peak torque", low=1.0, high=1e8, required=True)
    peak_torque_speed: float = quantity("turning", "speed of peak torque", low=1.0, high=5000.0)
    rpm_limit: float = quantity("turning", "limiter speed", low=1.0, high=5000.0, required=True)
    mass: float = quantity("mass", "mass, dressed", low=1.0, high=5000.0, required=True)
    cg: Point = part(Point, "center of gravity", required=True)
    solid: Solid = part(Solid, "solid or mesh of the real engine, in place of the envelope that the figures give")
    shop: ShopRow = part(ShopRow, "the row of a shop's own catalog that the figures are from", internal=True)
    overrides: tuple[str, ...] = texts("fields that the car file gives instead of the catalog", default=(), internal=True)
    row_digest: str = text("digest of the catalog row as it was used", internal=True)


@dataclass(frozen=True)
class Header:
    """A box that holds exhaust pipes, engine frame. Pipes that wind around a member are given as several boxes."""
    name: str = text("name, unique among the headers", required=True)
    x_rear: float = length("rear end", required=True)
    x_front: float = length("front end", required=True)
    y_right: float = length("right side (negative is right of the crank)", required=True)
    y_left: float = length("left side", required=True)
    z_low: float = length("lowest point", required=True)
    z_high: float = length("highest point", required=True)


@dataclass(frozen=True)
class MountPad:
    """Mount pad on the transmission's tail."""
    from_bell: float = size("behind the bell's front face", required=True)
    below_axis: float = length("below the output axis", required=True)
    bolt: float = size("diameter of its bolts", low=3.0, high=25.0, default=0.4375 * INCH)
    bolt_spacing: float = size("bolt spacing across the car", low=5.0, high=500.0, default=1.625 * INCH)


@dataclass(frozen=True)
class BellBolts:
    """Bolts that hold the bell to the block, as they are used: through the bell's flange and every plate before the block."""
    length: float = size("length under the head", required=True)
    flange: float = size("thickness of the bell's flange", required=True)


@dataclass(frozen=True)
class TransmissionPan:
    """Transmission pan."""
    from_bell_front: float = size("front edge behind the bell's front face", required=True)
    from_bell_rear: float = size("rear edge behind the bell's front face", required=True)
    half_width: float = size("half width", required=True)
    below_axis: float = size("bottom below the output axis", required=True)


@dataclass(frozen=True)
class Transmission:
    """A transmission, measured back from the front face of its bell; CG in the engine frame's directions from there."""
    use: str = text("row of the catalog that its figures are from", table="transmissions", required=True)
    kind: str = choice("kind", "automatic", "manual", required=True)
    bellhousing_depth: float = size("depth of a separate bellhousing, part of bell_to_seal")
    bell_radius: float = size("radius of the bell at its front face", default=8.0 * INCH)
    bell_to_seal: float = size("bell's front face to the output seal", required=True)
    joint_from_seal: float = size("output seal to the front joint center at the stated slip exposure", required=True)
    slip_exposed: float = size("slip yoke exposed at static ride height", required=True)
    spline_engaged: float = size("spline engaged at static ride height", required=True)
    spline_diameter: float = size("spline diameter", required=True)
    mount_pad: MountPad = part(MountPad, "mount pad on the tail", required=True)
    pan: TransmissionPan = part(TransmissionPan, "pan")
    bell_bolts: BellBolts = part(BellBolts, "bolts that hold the bell to the block")
    starter: Opening = part(Opening, "opening that a starter beside the bell asks of the mid plate")
    case_below_axis: float = size("case bottom below the output axis")
    case_half_width: float = size("half width of the case", default=5.5 * INCH)
    first_gear: float = ratio("first gear", low=0.2, high=20.0, required=True)
    top_gear: float = ratio("top gear", low=0.2, high=20.0, required=True)
    converter_ratio: float = ratio("torque ratio of the converter at stall", low=1.0, high=5.0)
    clutch_capacity_factor: float = ratio("clutch capacity over engine torque", low=0.5, high=10.0)
    gap_without_plates: float = length("converter to flexplate gap with no plate between", low=0.0)
    pad_spacers: float = length("spacers between converter pads and flexplate", low=0.0, default=0.0)
    input_beyond_bell_face: float = length("input shaft beyond the bell's front face")
    disengage_travel: float = size("travel rearward that frees dowels and pilot", required=True)
    mass: float = quantity("mass", "mass", low=1.0, high=2000.0, required=True)
    cg: Point = part(Point, "center of gravity from the bell's front face", required=True)
    solid: Solid = part(Solid, "solid or mesh of the real transmission, in place of the envelope that the figures give")
    shop: ShopRow = part(ShopRow, "the row of a shop's own catalog that the figures are from", internal=True)
    overrides: tuple[str, ...] = texts("fields that the car file gives instead of the catalog", default=(), internal=True)
    row_digest: str = text("digest of the catalog row as it was used", internal=True)


@dataclass(frozen=True)
class AsBuilt:
    """Where powertrain and rear joint were found in the real car. What was not measured of the rear end is absent and as wanted."""
    axle_to_block: float = size("rear axle centerline to the rear face of the block at its base", low=100.0, high=10000.0, required=True)
    crank_height: float = length("crank centerline above the track at the block's rear face", low=10.0, high=3000.0, required=True)
    pitch: float = angle("crank pitch, positive = rear of the engine higher", limit=30 * DEG, required=True)
    lateral: float = length("crank centerline left of the center plane at the rear face", low=-1000.0, high=1000.0, default=0.0)
    roll: float = angle("roll about X", limit=30 * DEG, default=0.0)
    yaw: float = angle("yaw about Z", limit=30 * DEG, default=0.0)
    rear_joint_x: float = length("rear joint ahead of the axle, as found")
    rear_joint_y: float = length("rear joint left of the center plane, as found")
    rear_joint_z: float = length("rear joint above the track, as found")
    pinion_pitch: float = angle("pinion axis to the ground, positive nose down, as found", limit=45 * DEG)
    measured: str = text("day on which it was measured, YYYY-MM-DD", form="date")


@dataclass(frozen=True)
class Placement:
    """The three numbers and the three that are usually zero; and, of a car that was measured, where the powertrain really is."""
    axle_to_block: float = size("rear axle centerline to the rear face of the block at its base", low=100.0, high=10000.0, required=True)
    crank_height: float = length("crank centerline above the track at the stated station", low=10.0, high=3000.0, required=True)
    height_at: str = choice("station of the crank height", "block_rear", "block_middle", "block_front", default="block_rear")
    pitch_mode: str = choice("how the pitch is found", "fixed", "parallel", "in_line", "balanced", required=True)
    pitch: float = angle("crank pitch, positive = rear of the engine higher; for mode fixed", limit=30 * DEG)
    lateral: float = length("crank centerline left of the center plane at the rear face", low=-1000.0, high=1000.0, default=0.0)
    roll: float = angle("roll about X", limit=30 * DEG, default=0.0)
    yaw: float = angle("yaw about Z", limit=30 * DEG, default=0.0)
    as_built: AsBuilt = part(AsBuilt, "placement as built, from readings of the real car")
    shown: str = choice("which placement is shown and checked", "as_designed", "as_built", default="as_designed")


@dataclass(frozen=True)
class FrontPlate:
    """Plate on the front of the block."""
    kind: str = choice("to the rails, or carried by plate feet", "narrow", "wide", required=True)
    thickness: float = size("thickness", low=0.5, high=50.0, required=True)
    material: str = text("material", table="materials", default="6061-T6")
    foot_half_spacing: float = size("center plane to plate feet")
    foot_drop: float = length("plate feet below the crank centerline")
    half_width: float = size("half width of a wide plate")
    foot_tube: Section = part(Section, "tube of the plate feet", default=Section(outer_diameter=1.25 * INCH, wall=0.065 * INCH))
    foot_bolt: float = size("diameter of the bolts of a plate foot; absent: as the rail tabs'", low=3.0, high=30.0)
    foot_bolts: int = count("bolts of a plate foot", low=2, high=4, default=2)
    foot_web: float = size("thickness of the web of a plate foot; absent: as the rail tabs'", low=0.5, high=25.0)
    lightening_holes: tuple[Hole, ...] = holes("lightening holes")


@dataclass(frozen=True)
class Protector:
    """Block protector between block and mid plate."""
    thickness: float = size("thickness", low=0.5, high=25.0, required=True)
    material: str = text("material", table="materials", default="6061-T6")
    crank_opening: float = size("diameter of the opening for the crank flange", required=True)


@dataclass(frozen=True)
class MidPlate:
    """Plate clamped between block and transmission."""
    kind: str = choice("lower main tubes per side that it meets", "single_rail", "double_rail", default="single_rail")
    thickness: float = size("thickness", low=0.5, high=50.0, required=True)
    material: str = text("material", table="materials", default="6061-T6")
    center_opening: float = size("diameter of the center opening", required=True)
    half_width: float = size("half width at the rails", required=True)
    above_crank: float = size("top edge above the crank centerline", required=True)
    below_crank: float = size("bottom edge below the crank centerline", required=True)
    corner_radius: float = size("radius of outline corners", low=0.5, high=200.0, default=0.5 * INCH)
    starter: Opening = part(Opening, "opening for the starter; absent: as the transmission asks")
    lightening_holes: tuple[Hole, ...] = holes("lightening holes")
    dowel_pilot: float = size("diameter at which the dowel holes of mid plate and protector are cut, to be reamed; absent: cut to size",
                              low=1.0, high=100.0)


@dataclass(frozen=True)
class Plates:
    """The plates around the block."""
    front: FrontPlate = part(FrontPlate, "front plate", none=True)
    protector: Protector = part(Protector, "block protector", none=True)
    mid: MidPlate = part(MidPlate, "mid plate")


@dataclass(frozen=True)
class SupportTube:
    """Upper cross tube to which the top of the mid plate is tied."""
    section: Section = part(Section, "tube", required=True)
    material: str = text("material", table="materials", default="4130N")
    above_crank: float = length("centerline above the crank centerline, square to the crank", required=True)
    behind_plate: float = length("centerline behind the mid plate's rear face", required=True)


@dataclass(frozen=True)
class RailTabs:
    """Pairs of tabs, in front of and behind the mid plate, on each main rail."""
    thickness: float = size("thickness", low=0.5, high=25.0, required=True)
    material: str = text("material", table="materials", default="4130N")
    gap: float = length("clearance between tab and plate", low=0.0, high=10.0, default=0.015 * INCH)
    bolts_per_rail: int = count("bolts through each pair", low=1, high=6, default=2)
    bolt: float = size("bolt diameter", low=3.0, high=30.0, required=True)
    width: float = size("width along the plate", default=1.75 * INCH)


@dataclass(frozen=True)
class TransmissionMount:
    """Tab on the tail, tube and receiver on the cross member."""
    action: str = choice("how it is taken apart", "slide_and_fold", default="slide_and_fold")
    tab_thickness: float = size("thickness of the tab", low=0.5, high=25.0, required=True)
    tube: Section = part(Section, "tube", required=True)
    material: str = text("material of tab, tube and receiver", table="materials", default="4130N")
    cross_bolt: float = size("cross bolt diameter", required=True)
    tail_bolts: int = count("bolts into the tail", low=1, high=8, default=2)
    blank_allowance: float = length("length supplied beyond the trim line", low=0.0, default=1.0 * INCH)


@dataclass(frozen=True)
class CrossMember:
    """Transmission cross member."""
    reference: str = choice("what its station is counted from", "footwell_tube", "chassis_x", default="footwell_tube")
    offset: float = length("station from the reference, negative rearward", default=0.0)
    section: Section = part(Section, "tube", required=True)
    z: float = length("centerline above the track", required=True)
    material: str = text("material", table="materials", default="4130N")


@dataclass(frozen=True)
class LimiterStrut:
    """Fore-aft strut with rod ends from the rear face of the front plate to a main rail: a plate by itself carries no fore-aft load."""
    side: str = choice("rail that it goes to", "left", "right", default="left")
    plate_y: float = size("its bracket on the plate, outward from the crank centerline", required=True)
    plate_z: float = length("its bracket on the plate, above the crank centerline", required=True)
    run: float = size("rear face of the plate rearward to the rod end on the rail", low=75.0, high=1500.0, default=10.0 * INCH)
    section: Section = part(Section, "tube", default=Section(outer_diameter=0.75 * INCH, wall=0.065 * INCH))
    material: str = text("material of strut and brackets", table="materials", default="4130N")
    bolt: float = size("diameter of the rod ends' bolts and of the bracket's", low=3.0, high=30.0, default=0.375 * INCH)
    bracket_thickness: float = size("thickness of the brackets", low=1.0, high=25.0, default=0.1875 * INCH)


@dataclass(frozen=True)
class SetUpStands:
    """Two plates that stand across the main rails, behind and ahead of the block, and carry a bar through its main bearing bores, the
    crank being out, at the crank's height and pitch. They set the block and are taken away; no part of the car."""
    bar: Section = part(Section, "bar through the main bearing bores: outside diameter a sliding fit in them", required=True)
    bar_material: str = text("material of the bar", table="materials", default="4130N")
    thickness: float = size("thickness of the plates", low=1.0, high=50.0, default=0.25 * INCH)
    material: str = text("material of the plates", table="materials", default="A36")
    behind_block: float = size("block's rear face rearward to the rear plate, along the crank", low=1.0, high=2000.0, default=3.0 * INCH)
    ahead_of_block: float = size("block's front face forward to the front plate, along the crank", low=1.0 * INCH, high=2000.0,
                                 default=3.0 * INCH)
    web: float = size("least depth of the plates under the bar and over the rails", low=1.0 * INCH, high=500.0, default=3.0 * INCH)


@dataclass(frozen=True)
class Mounts:
    """What holds plates and transmission to the chassis."""
    support_tube: SupportTube = part(SupportTube, "support tube")
    rail_tabs: RailTabs = part(RailTabs, "rail tabs")
    transmission: TransmissionMount = part(TransmissionMount, "transmission mount")
    cross_member: CrossMember = part(CrossMember, "transmission cross member")
    limiter_strut: LimiterStrut = part(LimiterStrut, "fore-aft strut of the front plate")
    setup_stands: SetUpStands = part(SetUpStands, "set-up stands")


@dataclass(frozen=True)
class Driveshaft:
    """Driveshaft between front and rear joint center."""
    material: str = text("material", table="materials", required=True)
    axial_modulus: float = quantity("stress", "modulus along the axis", low=1000.0, high=2e6, required=True)
    shear_modulus: float = quantity("stress", "shear modulus", low=500.0, high=1e6, required=True)
    density: float = quantity("density", "density", low=1e-7, high=3e-5, required=True)
    outer_diameter: float = size("outside diameter of the tube", low=10.0, high=500.0, table="sections", required=True)
    wall: float = size("wall thickness", low=0.2, high=100.0, required=True)
    joint_swing_diameter: float = size("diameter that the joints sweep", low=10.0, high=500.0, required=True)
    phase: float = angle("phase error between the yokes", default=0.0)
    whip_allowance: float = length("radial allowance for whip, added to what the shaft sweeps", low=0.0, high=100.0,
                                   default=0.25 * INCH)
    joint_series: str = text("series of its U-joints; absent: the one that room and torque ask for", table="joint_series")
    rated_torque: float = quantity("torque", "torque that its maker rates it for", low=1.0, high=1e8)
    rated_speed: float = quantity("turning", "speed that its maker rates it for", low=1.0, high=5000.0)
    rating_date: str = text("date of the maker's rating, YYYY-MM-DD", form="date")


@dataclass(frozen=True)
class Loop:
    """Ring around the driveshaft, standing on chassis tubes: its station is a chassis X."""
    name: str = text("name, unique among the loops", required=True)
    kind: str = choice("split at mid height, or welded in", "split", "fixed", required=True)
    x: float = length("station of the loop's plane", required=True)
    form: str = choice("tube or flat strap", "tube", "strap", default="tube")
    inner_diameter: float = size("inside diameter of a round loop")
    inner_width: float = size("inside width of a loop with straight legs")
    inner_height: float = size("inside height of a loop with straight legs")
    center_y: float = length("center left of the center plane; absent: on the shaft axis, to the nearest 1/4 in")
    center_z: float = length("center above the track; absent: on the shaft axis, to the nearest 1/4 in")
    section: Section = part(Section, "tube")
    strap_thickness: float = size("radial thickness of a strap")
    strap_width: float = size("width of a strap along the car")
    open_angle: float = quantity("angle", "angle left open, at the bottom; 0 for a closed loop", low=0.0, high=6.2, default=0.0)
    material: str = text("material", table="materials", default="4130N")
    pins_split: int = count("pins at the split", low=0, high=8)
    pins_feet: int = count("pins at the feet", low=0, high=8)


@dataclass(frozen=True)
class Enclosure:
    """Tube around the front of the driveshaft."""
    x_front: float = length("front end", required=True)
    x_rear: float = length("rear end", required=True)
    outer_diameter: float = size("outside diameter", table="sections", required=True)
    wall: float = size("wall thickness", required=True)
    material: str = text("material", table="materials", default="4130N")
    front_support: str = choice("what carries its front", "loop", "transmission_tail", default="loop")
    rear_support: str = choice("what carries its rear", "loop", default="loop")
    mount_thickness: float = size("thickness of its mounts", low=0.5, high=25.0, default=0.125 * INCH)
    mount_width: float = size("width of its mounts around the tube; as long along it", low=5.0, high=500.0, default=2.0 * INCH)


@dataclass(frozen=True)
class Tunnel:
    """Cover over loops and enclosure."""
    material: str = text("material", table="materials", required=True)
    thickness: float = size("thickness", low=0.1, high=50.0, required=True)
    clearance: float = length("clearance to what it covers", low=0.0, high=500.0, required=True)


@dataclass(frozen=True)
class Containment:
    """What contains the driveshaft."""
    loops: tuple[Loop, ...] = parts(Loop, "loops", most=12, default=())
    enclosure: Enclosure = part(Enclosure, "enclosure tube", none=True)
    tunnel: Tunnel = part(Tunnel, "tunnel cover", none=True)


@dataclass(frozen=True)
class Mass:
    """A component's mass; engine and transmission bring their own."""
    name: str = text("component", required=True)
    mass: float = quantity("mass", "mass", low=0.0, high=10_000.0, required=True)
    cg: Point = part(Point, "center of gravity", required=True)
    unsprung: bool = flag("whether it moves with the wheels", default=False)
    role: str = choice("what it is, where balance has to know", "driver", "fuel", "battery", "ballast", "converter", "chassis", "body",
                       "front_end", "rear_end", "power_adder", "driveline")


@dataclass(frozen=True)
class ProtectiveItem:
    """A part that carries a specification and a date."""
    item: str = text("item", required=True)
    specification: str = text("specification number", required=True)
    issued: str = text("date of issue, YYYY-MM-DD", form="date")
    expires: str = text("date of expiry, YYYY-MM-DD", form="date")


@dataclass(frozen=True)
class Waiver:
    """A finding that somebody has decided to live with."""
    rule: str = text("rule id", required=True)
    subjects: tuple[str, ...] = texts("part keys", default=())
    reason: str = text("reason", required=True)
    author: str = text("who decided", required=True)
    date: str = text("date, YYYY-MM-DD", form="date", required=True)
    expires: str = text("date of expiry, YYYY-MM-DD", form="date")
    edition: str = text("edition of the rule set that it was given for")
    measured: float = ratio("value measured then, in the rule's unit", low=-1e12, high=1e12)
    compared: str = text("what was measured then: the size that decided, where the rule compares several, and the unit, "
                         "such as 'wall (in)'")


@dataclass(frozen=True)
class Rules:
    """Which rule sets apply, and what was waived."""
    sets: tuple[str, ...] = texts("rule sets", default=())
    event_date: str = text("date of the event, YYYY-MM-DD", form="date")
    waivers: tuple[Waiver, ...] = parts(Waiver, "waivers", default=())


SHEET_SIZES = ("A4", "A3", "A2", "A", "B", "C")
"""Sizes that a car's sheets may have: ISO 216 and ANSI/ASME Y14.1. A sheet that needs more room takes the next one of its series."""


@dataclass(frozen=True)
class TitleBlock:
    """Who made the drawings of a car: the fields of their title blocks. What is absent is left to be written by hand."""
    shop: str = text("shop that owns the drawings")
    drawn_by: str = text("who drew them")
    approved_by: str = text("who approved them")
    issued: str = text("date of issue, YYYY-MM-DD", form="date")
    revision: str = text("revision")
    drawing_number: str = text("drawing number")
    sheet_size: str = choice("size of the sheets", *SHEET_SIZES)


@dataclass(frozen=True)
class Car:
    """A car: chassis, rear end, engine, transmission and placement make one; what it does not have yet is absent."""
    car: CarRecord = part(CarRecord, "the car", required=True)
    chassis: Chassis = part(Chassis, "chassis", required=True)
    rear_end: RearEnd = part(RearEnd, "rear end", required=True)
    engine: Engine = part(Engine, "engine", required=True)
    transmission: Transmission = part(Transmission, "transmission", required=True)
    placement: Placement = part(Placement, "placement", required=True)
    plates: Plates = part(Plates, "plates", required=True)
    mounts: Mounts = part(Mounts, "mounts", required=True)
    driveshaft: Driveshaft = part(Driveshaft, "driveshaft")
    headers: tuple[Header, ...] = parts(Header, "boxes that hold the exhaust headers, in the engine frame", most=40, default=())
    containment: Containment = part(Containment, "containment", default=Containment())
    masses: tuple[Mass, ...] = parts(Mass, "every component but engine and transmission, once", default=())
    protective_items: tuple[ProtectiveItem, ...] = parts(ProtectiveItem, "protective items", default=())
    rules: Rules = part(Rules, "rules", default=Rules())
    title_block: TitleBlock = part(TitleBlock, "title block of the drawings", default=TitleBlock())
