"""Quantities of the stack between block and transmission: what its plates do to converter, dowels, pilot and input shaft."""
from __future__ import annotations

from ... import catalog, model
from ...mechanics.stack import StackFit, stack_fit
from ...record import entries
from ...rules.quantity import Found, Measurement, NotEvaluated, Setting, quantity
from ...sections import MID_PLATE
from ...snapshot import Snapshot
from ...units import sized
from ..context import Context
from .clearing import STACK

SAME = 0.01
"""Hole and dowel that differ by less, mm, are of one size."""


def _fit(context) -> tuple[StackFit, tuple]:
    """The stack's arithmetic and the point where it is."""
    scene = context.scene
    return stack_fit(scene.engine, scene.transmission, scene.stack), (tuple(map(float, scene.engine_point(-scene.stack.total))),)


def washer_height(diameter: float) -> float:
    """Height of the washer under a bolt's head, mm, as the hardware list has it; a fifth of the bolt without a row in the catalog."""
    name = catalog.hardware_name("washer", diameter)
    return float(catalog.hardware(name).height or 0.0) if name else 0.2 * diameter


@quantity("converter_gap", "length", needs=(MID_PLATE,), clears=("transmission.pad_spacers", *STACK))
def converter_gap(snapshot: Snapshot, context: Context) -> Found:
    """Converter pads to flexplate with the converter pushed all the way back, plates and pad spacers included."""
    fit, points = _fit(context)
    if fit.kind != "automatic":
        return ()
    if fit.converter_gap is None or fit.spacers_for_gap is None or fit.pilot_lost is None or fit.pump_lost is None:
        raise NotEvaluated("the gap without plates is not known; measure it and give transmission.gap_without_plates")
    low, high = fit.spacers_for_gap
    how = (f"the plates widen the gap by {sized(fit.plates)}; pad spacers of {sized(low)} to {sized(high)} bring it into the "
           f"usual range, {sized(fit.pilot_lost)} is fitted; bolted up, the hub engages the pump {sized(fit.pump_lost)} less than "
           "without plates and spacers")
    return (Measurement(fit.converter_gap, ("transmission",), how=how, points=points),)


@quantity("dowel_in_bell", "length", needs=(MID_PLATE,), clears=("engine.dowel_length", *STACK))
def dowel_in_bell(snapshot: Snapshot, context: Context) -> Found:
    """Dowel that sticks out behind the plates and locates the bellhousing."""
    fit, points = _fit(context)
    if fit.dowel_in_bell is None:
        raise NotEvaluated("the length of the dowels is not known; give engine.dowel_length")
    how = f"dowel less {sized(fit.plates)} of plates; bolts through the plates must be longer by the same amount"
    return (Measurement(fit.dowel_in_bell, ("mid_plate",), how=how, points=points),)


@quantity("pilot_engagement_lost", "length", needs=(MID_PLATE,), clears=("transmission.pad_spacers", *STACK))
def pilot_engagement_lost(snapshot: Snapshot, context: Context) -> Found:
    """Pilot engagement of the converter or the input shaft in the crankshaft lost to the plates."""
    fit, points = _fit(context)
    what = "the pad spacers hold the converter back" if fit.kind == "automatic" else "the plates move the input shaft back"
    return (Measurement(fit.pilot_lost, ("transmission",), how=what, points=points),)


@quantity("input_ahead_of_block", "length", needs=(MID_PLATE,), clears=STACK)
def input_ahead_of_block(snapshot: Snapshot, context: Context) -> Found:
    """Tip of a clutch transmission's input shaft ahead of the block's rear face."""
    fit, points = _fit(context)
    if fit.kind == "automatic":
        return ()
    if fit.input_ahead_of_block is None:
        raise NotEvaluated("how far the input shaft sticks out is not known; give transmission.input_beyond_bell_face")
    how = f"input shaft past the bellhousing's front face, less {sized(fit.plates)} of plates"
    return (Measurement(fit.input_ahead_of_block, ("transmission",), how=how, points=points),)


@quantity("bell_bolt_engagement", "ratio", needs=(MID_PLATE,), clears=("transmission.bell_bolts.length", *STACK),
          block=Setting("choice", None, "material of the block", entries(model.Engine)["material"].choices))
def bell_bolt_engagement(snapshot: Snapshot, context: Context) -> Found:
    """Thread engagement of the bellhousing bolts in a block of one material, in bolt diameters."""
    fit, points = _fit(context)
    engine = context.scene.engine
    if fit.thread_in_block is None:
        return ()
    if engine.material is None:
        raise NotEvaluated("the block material is not known, so the thread depth it needs is not known; give engine.material")
    if engine.material != context.settings["block"]:
        return ()
    holes = [size for _y, _z, size in engine.rear_holes if not engine.dowel_diameter or abs(size - engine.dowel_diameter) >= SAME]
    bolt = catalog.bolt_in(min(holes)) if holes else None
    if bolt is None:
        raise NotEvaluated("no hole in engine.rear_holes, dowels aside, fits a bolt in the catalog with its usual clearance, so the "
                           "size of the bellhousing bolts is not known; give the holes as drilled in a plate")
    bolts = context.scene.transmission.bell_bolts
    washer = washer_height(bolt.diameter)
    thread = fit.thread_in_block - washer
    how = (f"{sized(thread)} of a {sized(bolt.diameter)} bolt: {sized(bolts.length)} under the head, less "
           f"{sized(washer)} of washer, {sized(bolts.flange)} of flange and {sized(fit.plates)} of plates")
    return (Measurement(thread / bolt.diameter, ("transmission",), how=how, points=points),)
