"""Steps of the instruction sheet up to the powertrain that is in its place: the kit, the chassis, block and transmission with their plates,
and the numbers of the placement."""
from __future__ import annotations

from ..geometry import setup_stand
from ..mechanics import stack as stacking
from ..mechanics.set_up import DIAGONALS, INSIDE_OF_RAIL, TAPE, Reading
from ..units import sized
from . import safety_messages as safety
from .instruction_step import ASIDE, DOWN, FORWARD, FRONT, PICTURE, PICTURE_REAR, PLACE, REARWARD, RIGHT, TOP, UP, Kit, Section, Step

TAPE_TOOLS = ("tape", "plumb bob", "straightedge")
LEVEL_TOOL = "digital level"
HOIST = ("engine hoist", "transmission jack")


def ready(kit: Kit) -> Section:
    """The kit is counted and the chassis is set up to be measured from."""
    made, chassis = kit.made, kit.chassis
    steps = [Step("Count the kit", "Lay every part out and tick it on the kit contents." + kit.look_alikes(made), made, (), PICTURE,
                  ("calipers", "kit contents"), apart=True),
             Step("Level the chassis", "Set the car on four jack stands at static ride height, with the driver's mass in it. Level it "
                  "across at both axles.", chassis, chassis, PICTURE, ("four jack stands", LEVEL_TOOL),
                  kit.read("Rear axle centerline above track", "Top of main rails above track"), whole=True),
             Step("Check the chassis", "Mark the center plane on the floor with a plumb bob. Measure rails and diagonals from it.",
                  kit.keys("rail"), chassis, TOP, TAPE_TOOLS,
                  kit.read(INSIDE_OF_RAIL, DIAGONALS),
                  whole=True)]
    return Section("Get ready", tuple(steps), (safety.CHASSIS, safety.EDGES, safety.MARKS))


def assembled(kit: Kit) -> Section:
    """Block, plates and transmission are put together outside the car."""
    shown: tuple[str, ...] = kit.keys("engine")
    steps = []

    def step(title: str, action: str, roles: tuple[str, ...], view: str, tools: tuple[str, ...], **more) -> None:
        nonlocal shown
        parts = kit.keys(*roles)
        shown = tuple(dict.fromkeys((*shown, *parts)))
        steps.append(Step(title, action, parts, shown, view, tools, **more))

    if kit.has("protector"):
        step("Hang the block protector", f"Push {kit.named(kit.keys('protector'))} over the dowels on the rear face of the block. It lies "
             "flat without bolts.", ("protector",), PICTURE_REAR, ("feeler gauge",), moves=FORWARD)
    if kit.has("mid_plate"):
        behind = "the protector" if kit.has("protector") else "the block"
        step("Hang the mid plate", f"Push {kit.named(kit.keys('mid_plate'))} over the dowels, flat against {behind}. The dowels reach "
             "out behind it.", ("mid_plate",), PICTURE_REAR, ("feeler gauge",), moves=FORWARD)
    step("Bolt up the transmission", _bolt_up(kit), ("transmission",), PICTURE_REAR, (*HOIST, "torque wrench"), whole=True, moves=FORWARD)
    if kit.has("front_plate"):
        step("Bolt on the front plate", f"Bolt {kit.named(kit.keys('front_plate'))} to the front face of the block.", ("front_plate",),
             PICTURE, ("torque wrench",), moves=REARWARD)
    if kit.has("plate_foot"):
        feet = kit.keys("plate_foot")
        step("Bolt on the plate feet", f"Bolt {kit.named(feet)} to the front plate, hand tight, tubes down and outward."
             + kit.look_alikes(feet), ("plate_foot",), PICTURE, ("wrenches",))
    tabs = kit.car.mounts.rail_tabs
    for role, plate in (("front_tab", "front plate"), ("rail_tab", "mid plate")):
        if kit.has(role) and tabs is not None:
            keys = kit.keys(role)
            step(f"Bolt tabs to the {plate}", f"Bolt {kit.named(keys)} to the ears of the {plate}, one in front and one behind. Put a "
                 f"shim of {sized(tabs.gap)} between each tab and the plate; draw the bolts hand tight." + kit.look_alikes(keys),
                 (role,), PICTURE if role == "front_tab" else PICTURE_REAR, (f"shims {sized(tabs.gap)}", "wrenches"))
    return Section("Put block, plates and transmission together", tuple(steps), (safety.CRUSH, safety.EDGES, safety.PLATES))


def _bolt_up(kit: Kit) -> str:
    """How the transmission goes on, by its kind."""
    given, fit = kit.car.transmission, stacking.stack_fit(kit.car.engine, kit.car.transmission, kit.scene.stack)
    if given.kind == "manual":
        return ("Fit clutch and bellhousing as their makers say. Slide the transmission on without letting it hang on its input shaft, "
                "then draw the bolts evenly.")
    text = ("Push the converter home into the pump, slide the transmission on over the dowels and draw the bolts evenly. The converter "
            "must turn by hand.")
    if given.pad_spacers:
        text += f" A spacer of {sized(given.pad_spacers)} goes on each converter pad."
    if fit.converter_gap is not None:
        text += f" Pads to flexplate, converter pushed home: {sized(fit.converter_gap)}."
    return text


def placed(kit: Kit) -> Section:
    """The powertrain goes into the car and is set by its numbers."""
    powertrain = kit.keys("engine", "protector", "mid_plate", "transmission", "front_plate", "plate_foot", "front_tab", "rail_tab")
    shown = (*kit.chassis, *powertrain)
    height, front, pitch, roll, aside, along = PLACE
    solved = " Height and pitch work on each other: go from one to the other until both are right."
    steps = (
        *_on_stands(kit),
        Step("Lower it in", "Lower engine and transmission between the rails in one piece. Jacks carry it under the pans' rails or the "
             "plates, never under a pan.", powertrain, shown, PICTURE, HOIST, whole=True, moves=DOWN),
        Step("Center it", "Move it across the car until the crank is at its distance from the center plane, at both faces of the block.",
             kit.keys("engine"), shown, FRONT, ("plumb bob", "tape"), kit.read(aside, aside.replace("rear", "front")), moves=ASIDE),
        Step("Level it across", "Turn it until a level across the block or the mid plate reads its value.",
             kit.keys("mid_plate") or kit.keys("engine"), shown, FRONT, (LEVEL_TOOL,), kit.read(roll)),
        Step("Set the height", "Raise or lower it until the crank is at its height over the floor.", kit.keys("engine"), shown,
             RIGHT, ("tape", "plumb bob", LEVEL_TOOL), kit.read(height, front), moves=UP),
        Step("Set the pitch", "Tip it until the level on the crank's line reads its value, rear high." + solved, kit.keys("engine"), shown,
             RIGHT, (LEVEL_TOOL,), kit.read(pitch)),
        Step("Set axle to block", "Move it along the car until the rear face of the block, at its base, is at its distance from the rear "
             "axle centerline, the same on both sides.", kit.keys("engine", "transmission"), shown, RIGHT, TAPE_TOOLS,
             kit.read(along, "Axle to number one plug"), whole=True, moves=FORWARD),
        Step("STOP: read it all again", "Nothing is tacked yet. Read every number once more; where one is off, go back to its step.",
             powertrain, shown, RIGHT, (*TAPE_TOOLS, LEVEL_TOOL), kit.read(*PLACE), whole=True))
    return Section("Set the powertrain", steps, (safety.CRUSH, safety.CHASSIS))


def _on_stands(kit: Kit) -> tuple[Step, ...]:
    """The bare block on its stands, where the kit has them: a place to hold rails and plates against before the whole powertrain is set."""
    given = kit.car.mounts.setup_stands
    if given is None or not kit.has("setup_bar", "setup_stand"):
        return ()
    front, rear = (f"setup_stand/{end}" for end in setup_stand.ENDS)
    bar, stands = kit.keys("setup_bar"), (front, rear)
    on_block = kit.keys("engine", "protector", "mid_plate", "front_plate", "plate_foot", "front_tab", "rail_tab")
    action = (f"For a trial with the bare block, crank and damper out: slide {kit.named(bar)} through the main bearing bores. Set "
              f"{kit.named([front])} on the rails ahead of the block and {kit.named([rear])} behind it, holes to the left, and lay the bar "
              "into both cradles: the crank's line has its height and pitch. Take bar and set-up stands away before the "
              "powertrain goes in.")
    at = {end: float(setup_stand.station(given, kit.scene.designed or kit.scene, end)) for end in ("rear", "front")}
    return (Step("Try the bare block on its set-up stands", action, (*bar, *stands), (*kit.chassis, *on_block, *bar, *stands), RIGHT,
                 TAPE_TOOLS, tuple(Reading(f"Axle to rear face of {end} set-up stand", "along", x, TAPE) for end, x in at.items())),)
