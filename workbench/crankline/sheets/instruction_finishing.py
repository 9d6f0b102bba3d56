"""Steps of the instruction sheet from the last measuring of the tacked car to the finished one, and how the transmission comes out
later."""
from __future__ import annotations

from ..features.part_kind import Hold
from ..features.registry import declared
from ..units import sized
from . import safety_messages as safety
from .instruction_fitting import POWERTRAIN, TAIL
from .instruction_setting import HOIST, LEVEL_TOOL, TAPE_TOOLS
from .instruction_step import DOWN, PICTURE, PICTURE_REAR, PLACE, REARWARD, RIGHT, TOP, UP, Kit, Section, Step

WELD = ("welder",)
COOL = " Let each weld cool to the hand before the next one at the same tube."
LOOPS = ("split_loop", "fixed_loop")


def measured(kit: Kit) -> Section:
    """Everything is measured once more before it is welded."""
    shown = _in_car(kit)
    loops = tuple(one for loop in kit.car.containment.loops for one in kit.of_loop(loop.name))
    driveline = (*kit.read("Axle to front face of mid plate, at crank", "Joint to joint, center to center", "Pinion pitch, nose low"),
                 *loops)
    steps = [Step("STOP: measure the powertrain", "All tacks are in and the jacks are out. Measure and write down what you find.",
                  kit.of_sections(*POWERTRAIN), shown, RIGHT, (*TAPE_TOOLS, LEVEL_TOOL), kit.read(*PLACE), whole=True)]
    if driveline:
        steps.append(Step("STOP: measure the driveline", "Measure from the rear axle centerline forward. Do not weld before every line is "
                          "within its tolerance.", kit.keys("driveshaft", *LOOPS, "enclosure") or kit.keys("transmission"), shown, RIGHT,
                          (*TAPE_TOOLS, LEVEL_TOOL), driveline, whole=True))
    return Section("Measure again", tuple(steps), (safety.SHAFT,))


def welded(kit: Kit) -> Section:
    """The order of welding."""
    shown = _in_car(kit)
    steps = []
    front = kit.keys("plate_foot", "front_tab")
    if front:
        shims = ", shims in" if kit.has("front_tab") else ""
        steps.append(Step("Weld the front", f"Weld {kit.named(front)} to the rails{shims}: a third of each joint at a time, left and "
                          "right in turn." + COOL, front, shown, PICTURE, WELD))
    if kit.has("rail_tab"):
        tabs = kit.keys("rail_tab")
        steps.append(Step("Weld the rail tabs", f"Weld {kit.named(tabs)} to the rails with the shims in and the bolts hand tight: left "
                          "front, right rear, right front, left rear, a third of each at a time." + COOL, tabs, shown, PICTURE_REAR, WELD))
    if kit.has("support_tube"):
        tube = kit.keys("support_tube", "tie_tab")
        steps.append(Step("Weld the support tube", f"Weld {kit.named(kit.keys('support_tube'))} to the uprights, left and right in turn, "
                          f"then {kit.named(kit.keys('tie_tab'))} to it." + COOL, tube, shown, PICTURE_REAR, WELD))
    if kit.has("limiter_seat"):
        seat = kit.keys("limiter_seat")
        steps.append(Step("Weld the limiter seat", f"Take the rod end out of {kit.named(seat)} first; weld the seat all around.", seat,
                          shown,
                          PICTURE_REAR, WELD))
    if kit.has("cross_member"):
        tail = kit.keys("cross_member", "receiver")
        steps.append(Step("Weld the cross member", f"Weld {kit.named(tail)}: the cross member left and right in turn, then the receiver "
                          "with the mount's tube in it and the cross bolt in." + COOL, tail, shown, TOP, WELD))
    loops = kit.keys(*LOOPS)
    if loops:
        steps.append(Step("Weld the loops", f"Driveshaft and enclosure out. Weld {kit.named(loops)} with all pins in, left and right in "
                                            "turn."
                          + kit.look_alikes(loops), loops, shown, PICTURE_REAR, WELD))
    mounts = tuple(key for key in kit.keys("enclosure_mount") if key not in kit.at_tail)
    if mounts:
        steps.append(Step("Weld the enclosure mounts", f"Screws and enclosure out. Weld {kit.named(mounts)} to the loops on both sides of "
                          "the web, top and bottom in turn." + COOL, mounts, shown, PICTURE_REAR, WELD))
    done = {key for step in steps for key in step.parts}
    left = [key for key in kit.joined(Hold.WELDED) if key not in done]
    for role in dict.fromkeys(kit.roles[key] for key in left):
        own = tuple(key for key in left if kit.roles[key] == role)
        steps.append(Step(f"Weld the {declared()[role].label.lower()}", f"Weld {kit.named(own)} to "
                          f"{kit.named(kit.holding(own[0], Hold.WELDED))}, left and right in turn." + COOL, own, shown, PICTURE, WELD))
    if kit.has("rail_tab"):
        gap = sized(kit.car.mounts.rail_tabs.gap)
        steps.append(Step("Pull the shims", f"When all is cold, loosen the tab bolts and pull the shims: {gap} of room must be left on "
                          "each side of the plate. A shim that sticks means a tab that moved.", kit.keys("rail_tab", "front_tab"), shown,
                          PICTURE_REAR,
                          ("feeler gauge", "wrenches")))
    return Section("Weld in this order", tuple(steps), (safety.WELDS, safety.ARC, safety.CURRENT, safety.PLATES))


def finished(kit: Kit) -> Section:
    """Engine out, the rest of the welds, engine in, last check."""
    powertrain, shown = kit.of_sections(*POWERTRAIN), _in_car(kit)
    welds = kit.joined(Hold.WELDED)
    bolted = kit.keys("plate_foot", "front_tab", "rail_tab", "tie_tab", "limiter_bracket", "transmission_mount")
    held = [word for word, roles in (("plate feet", ("plate_foot",)), ("tabs", ("rail_tab",)), ("tie tabs", ("tie_tab",)),
                                     ("mount", ("transmission_mount",))) if kit.has(*roles)]
    bolts = f"Bolts out of {' and '.join([', '.join(held[:-1]), held[-1]] if len(held) > 1 else held)}; lift" if held else "Lift"
    steps = [Step("Pull the engine", f"{bolts} engine and transmission out with the plates on.",
                  powertrain, shown, PICTURE, HOIST, whole=True, moves=UP)]
    if welds:
        steps.append(Step("Finish the welds", "Weld what the engine hid, in the same order. Look at every weld from all sides; do not "
                                              "grind any.",
                          welds, kit.chassis, PICTURE, (*WELD, "lamp and mirror"), whole=True))
    steps += [Step("Put the engine back", "Clean, paint and put everything back. Draw every bolt to the torque table and mark it.",
                   bolted or powertrain, shown, PICTURE, (*HOIST, "torque wrench", "paint marker"), whole=True),
              Step("STOP: last check", "Measure once more and write it down. This is what the car is built to.", powertrain, shown, RIGHT,
                   (*TAPE_TOOLS, LEVEL_TOOL), kit.read(*PLACE, "Joint to joint, center to center"), whole=True)]
    return Section("Engine out, finish, engine in", tuple(steps), (safety.CRUSH, safety.WELDS, safety.SHAFT))


def serviced(kit: Kit) -> Section | None:
    """How the transmission comes out through the mount that folds."""
    if not kit.has("transmission_mount", "receiver"):
        return None
    mount, member = kit.keys("transmission_mount"), kit.keys("receiver", "cross_member")
    shown = (*kit.chassis, *kit.keys("transmission", "mid_plate"), *kit.of_sections(*TAIL), *kit.keys(*LOOPS))
    screws = "Take the screws of the enclosure mounts out, p" if kit.has("enclosure_mount") else "P"
    tools = {"tunnel": ("screwdriver",), "split_loop": ("screwdriver",) if kit.has("enclosure_mount") else (),
             "driveshaft": ("wrenches", "paint marker")}
    steps = []
    for role, title, how in (
            ("tunnel", "Take the tunnel off", "Screws out; take {} off."),
            ("split_loop", "Open the split loops", f"{screws}ull the upper pins of {{}} and lift their upper halves off."),
            ("driveshaft", "Take the driveshaft out", "Mark both yokes, undo the straps at the pinion and take {} out{}.")):
        if kit.has(role):
            own = (*kit.keys(role), *(kit.keys("enclosure") if role == "driveshaft" else ()))
            inside = " with the enclosure around it" if role == "driveshaft" and kit.has("enclosure") else ""
            inside += ", screws of its mounts out" if inside and kit.has("enclosure_mount") and not kit.has("split_loop") else ""
            steps.append(Step(title, how.format(kit.named(kit.keys(role)), inside), own, shown if role != "tunnel" else _in_car(kit),
                              PICTURE_REAR, tools[role], moves=REARWARD if role == "driveshaft" else UP, upper=role == "split_loop",
                              opened=role == "driveshaft"))
    travel = sized(kit.car.transmission.disengage_travel, 2)
    steps += [Step("Take up the weight", "Put a jack under the transmission and lift until the mount is just free.",
                   kit.keys("transmission"), shown, RIGHT, ("transmission jack",), moves=UP, opened=True),
              Step("Tail bolts out, cross bolt out", "Take the bolts out of the tail, then the cross bolt out of "
                                                     f"{kit.named(kit.keys('receiver'))}.",
                   (*mount, *kit.keys("receiver")), shown, PICTURE_REAR, ("wrenches",), opened=True),
              Step("Slide down and fold", f"Slide the tube of {kit.named(mount)} down in its receiver, lift it out and lay it flat on the "
                   "cross member.", (*mount, *member), shown, PICTURE_REAR, moves=DOWN, folded=True, opened=True),
              Step("Transmission back and out", f"Bolts of the bell out. Slide the transmission back by {travel} to clear dowels and "
                   "pilot, then lower it. Going back together is the same the other way round, with new locknuts.",
                   kit.keys("transmission"), shown, RIGHT, ("transmission jack", "wrenches"), whole=True, moves=REARWARD, opened=True)]
    return Section("Later: transmission out through the mount that folds", tuple(steps), (safety.DROP, safety.PINCH))


def _in_car(kit: Kit) -> tuple[str, ...]:
    return (*kit.chassis, *kit.of_sections(*POWERTRAIN, "mounts"), *kit.keys(*LOOPS))
