"""Steps of the instruction sheet in which parts are tacked to the chassis: plates, transmission mount, driveshaft containment."""
from __future__ import annotations

from collections.abc import Sequence

from ..features.part_kind import Hold
from ..features.registry import declared
from ..geometry import limiter_strut
from ..units import sized
from . import safety_messages as safety
from .instruction_setting import LEVEL_TOOL, TAPE_TOOLS
from .instruction_step import DOWN, FORWARD, PICTURE, PICTURE_REAR, PLACE, REARWARD, RIGHT, TOP, UP, Kit, Section, Step, length

TACK = ("welder (tacks only)",)
POWERTRAIN = ("engine", "plates", "transmission")
"""Sections whose parts are set into the car in one piece."""
TAIL = ("mounts.cross_member", "mounts.transmission")
"""Sections whose parts carry the transmission."""


def tacked(kit: Kit) -> Section:
    """Front and middle of the powertrain are tacked."""
    shown = (*kit.chassis, *kit.of_sections(*POWERTRAIN), *kit.keys("plate_foot", "front_tab", "rail_tab"))
    steps = []
    if kit.has("plate_foot"):
        feet = kit.keys("plate_foot")
        steps.append(Step("Tack the plate feet", f"Tack {kit.named(feet)} to the rails: two tacks each, left and right in turn.", feet,
                          shown,
                          PICTURE, TACK))
    for role, what, view in (("front_tab", "front tabs", PICTURE), ("rail_tab", "rail tabs", PICTURE_REAR)):
        if kit.has(role):
            tabs = kit.keys(role)
            steps.append(Step(f"Tack the {what}", f"Shims in. Tack {kit.named(tabs)} to the rails: one tack each, front and rear tab in "
                              "turn, left and right in turn." + kit.look_alikes(tabs), tabs, shown, view, TACK))
    if kit.has("support_tube", "tie_tab"):
        steps += _support(kit, shown)
    if kit.has("limiter_strut"):
        steps += _limiter(kit, shown)
    steps.append(Step("STOP: did it move?", "Read the numbers again with the weight still on the jacks. If one is off, cut the tacks and "
                      "set it again.", kit.keys("engine", "mid_plate"), shown, RIGHT, (*TAPE_TOOLS, LEVEL_TOOL), kit.read(*PLACE),
                      whole=True))
    return Section("Tack the plates to the chassis", tuple(steps), (safety.ARC, safety.CRUSH, safety.CURRENT, safety.PLATES))


def _support(kit: Kit, shown: tuple[str, ...]) -> list[Step]:
    """The tube at the top of the mid plate, hung on its tabs."""
    tube, tabs = kit.keys("support_tube"), kit.keys("tie_tab")
    return [Step("Bolt on the tie tabs", f"Bolt {kit.named(tabs)} to the rear face of the mid plate at its top, hand tight.", tabs,
                 kit.keys("mid_plate"), PICTURE_REAR, ("wrenches",), moves=FORWARD),
            Step("Tack the support tube", f"Lay {kit.named(tube)} between the uprights, on the tie tabs. Tack it to both uprights, then "
                 "each tie tab to it.", (*tube, *tabs), shown, PICTURE_REAR, TACK,
                 kit.read("Rear face of mid plate to support tube", "Center of support tube above track"))]


def _limiter(kit: Kit, shown: tuple[str, ...]) -> list[Step]:
    """The strut that holds the front plate along the car."""
    bracket, strut, seat = (kit.keys(role) for role in ("limiter_bracket", "limiter_strut", "limiter_seat"))
    given = kit.car.mounts.limiter_strut
    apart = limiter_strut.length(limiter_strut.spec(given, kit.scene.designed or kit.scene))
    side = given.side
    return [Step("Bolt on the limiter bracket", f"Bolt {kit.named(bracket)} to the rear face of the front plate, {side} side.", bracket,
                 (*kit.keys("front_plate"), *bracket), PICTURE_REAR, ("wrenches",)),
            Step("Tack the limiter seat", f"Screw both rod ends halfway into {kit.named(strut)}, hang it in the bracket, bolt "
                 f"{kit.named(seat)} to its other end and tack the seat to the {side} rail.", (*strut, *seat), shown, PICTURE_REAR, TACK,
                 (length("Rod end to rod end, center to center", "distance", apart),))]


def mounted(kit: Kit) -> Section | None:
    """The tail of the transmission is carried."""
    if not kit.has("cross_member"):
        return None
    member = kit.keys("cross_member")
    given = kit.car.mounts.cross_member
    before = (*kit.chassis, *kit.keys("transmission"))
    across = "to the ends of the footwell tube" if given.reference == "footwell_tube" else "to the rails"
    steps = [Step("Tack the cross member", f"Set {kit.named(member)} to its station and height and tack it {across}.", member,
                  before, TOP, (*TAPE_TOOLS, *TACK),
                  kit.read("Axle to cross member, its middle", "Center of cross member above track"))]
    if kit.has("transmission_mount", "receiver"):
        mount, receiver = kit.keys("transmission_mount"), kit.keys("receiver")
        allowance = kit.car.mounts.transmission.blank_allowance
        cut = (Step("Trim the mount tab", f"Hold {kit.named(mount)} against the pad of the transmission: it comes {sized(allowance, 2)} "
                    "long. Check the etched line and cut along it.", mount, kit.keys("transmission"), PICTURE_REAR,
                    ("saw or grinder", "file")),) if allowance else ()
        steps += [*cut,
                  Step("Bolt the mount to the tail", f"Bolt {kit.named(mount)} to the pad of the transmission, tube down.", mount,
                       kit.keys("transmission"), PICTURE_REAR, ("torque wrench",), moves=UP),
                  Step("Tack the receiver", f"Push {kit.named(receiver)} over the mount's tube, put the cross bolt through, swing the "
                       "receiver against the cross member and tack it.", (*receiver, *mount, *member), before, PICTURE_REAR, TACK),
                  Step("Try the mount", "Jack under the transmission, bolts out: the tube must slide down by hand and fold flat on the "
                       "cross member. If it binds, cut the tacks.", (*mount, *receiver, *member), before, PICTURE_REAR,
                       ("transmission jack", "wrenches"), folded=True)]
    return Section("Mount the transmission", tuple(steps), (safety.DROP, safety.ARC, safety.PINCH))


def contained(kit: Kit) -> Section | None:
    """What is around the driveshaft."""
    shaft = kit.keys("driveshaft")
    if not (shaft or kit.has("enclosure") or kit.car.containment.loops):
        return None
    shown = (*kit.chassis, *kit.keys("transmission"), *kit.of_sections(*TAIL), *kit.keys("split_loop", "fixed_loop"), *shaft)
    steps = []
    if shaft:
        steps.append(Step("Check the driveshaft", "Slide the driveshaft in and measure it in the car, at ride height, before anything is "
                          "put around it.", shaft, shown, RIGHT, TAPE_TOOLS,
                          (*kit.read("Front joint above track", "Rear joint above track", "Joint to joint, center to center"),
                           *kit.read("Pinion pitch, nose low")), whole=True))
    for loop in kit.car.containment.loops:
        key = f"loop/{loop.name}"
        if key not in kit.roles:
            continue
        how = ("Pin both halves together and pin the feet, then tack the feet to their tubes" if loop.kind == "split" else
               "Tack it to the tubes below and above it, so that they close it")
        steps.append(Step(f"Tack loop {loop.name}", f"Set {kit.named((key,))} square to the car around the driveshaft. {how}."
                          + kit.look_alikes((key,)), (key,), shown, PICTURE_REAR, (*TAPE_TOOLS, *TACK), kit.of_loop(loop.name)))
    if kit.has("enclosure"):
        steps += _enclosure(kit, shown)
    for role, what in (("tunnel", "over loops and enclosure. Trim it where it meets a tube; drill it on assembly"),
                       ("firewall", "to the front face of the mid plate. Trim it where it meets a tube; drill it on assembly")):
        if kit.has(role):
            own = kit.keys(role)
            steps.append(Step(f"Fit the {role}", f"Fit {kit.named(own)} {what}." + (" Never drill a loop." if role == "tunnel" else ""),
                              own,
                              *((shown, PICTURE_REAR) if role == "tunnel" else ((*kit.chassis, *kit.keys("mid_plate")), PICTURE)),
                              ("snips", "drill", "clamps"), moves=DOWN if role == "tunnel" else REARWARD))
    return Section("Contain the driveshaft", tuple(steps), (safety.SHAFT, safety.ARC, safety.EDGES))


def _enclosure(kit: Kit, shown: tuple[str, ...]) -> list[Step]:
    """The tube around the front of the driveshaft, and what carries it."""
    tube, mounts, given = kit.keys("enclosure"), kit.keys("enclosure_mount"), kit.car.containment.enclosure
    tail = given.front_support == "transmission_tail"
    steps = [Step("Slide in the enclosure",
                  f"Take the driveshaft out, slide {kit.named(tube)} into the loops and put the driveshaft back.", tube,
                  shown, PICTURE_REAR, TAPE_TOOLS,
                  kit.read("Axle to enclosure, rear end", "Axle to enclosure, front end"))]
    if mounts:
        where = "The front ones bolt to the transmission's tail, the rear ones are tacked to the loop" if tail else "Tack each to its loop"
        steps.append(Step("Tack the enclosure mounts", f"Screw {kit.named(mounts)} to the enclosure, top and bottom. {where}."
                          + kit.look_alikes(mounts), mounts, shown, PICTURE_REAR, ("drill", *TACK)))
    return steps


def others(kit: Kit, sections: Sequence[Section]) -> Section:
    """What is made for the kit and no step of these sections fits: held as it declares, so that no part is left lying."""
    told = {key for section in sections for step in section.steps if not step.apart for key in step.parts}
    left = [key for key in kit.made if key not in told]
    steps = []
    for role in dict.fromkeys(kit.roles[key] for key in left):
        own = tuple(key for key in left if kit.roles[key] == role)
        verb, tools, near = next(((verb, tools, near) for hold, verb, tools in HELD if (near := kit.holding(own[0], hold))),
                                 ("Fit", ("wrenches",), ()))
        to = f" to {kit.named(near)}" if near else ""
        steps.append(Step(f"{verb} the {declared()[role].label.lower()}", f"{verb} {kit.named(own)}{to}." + kit.look_alikes(own), own,
                          (*kit.chassis, *near), PICTURE, tools))
    hot = (safety.ARC,) if any(step.tools == TACK for step in steps) else ()
    return Section("Fit the other parts", tuple(steps), (*hot, safety.EDGES))


HELD = ((Hold.WELDED, "Tack", TACK), (Hold.BOLTED, "Bolt", ("wrenches",)), (Hold.SLIDING, "Slide", ()),
        (Hold.TRIMMED, "Trim and fit", ("snips", "drill", "clamps")))
"""How a part is held on others, what is done, and with what."""
