"""Quantities of the stack between block and transmission: what its plates do to converter, dowels, pilot and input shaft."""
from __future__ import annotations

from ... import catalog, model
from ...mechanics.stack import StackFit, stack_fit
from ...record import entries
from ...rules.quantity import Measurement, NotEvaluated, Setting, quantity
from ...units import INCH

SAME = 0.01
"""Hole and dowel that differ by less, mm, are of one size."""


def _fit(context) -> tuple[StackFit, tuple]:
    """The stack's arithmetic and the point where it is."""
    scene = context.scene
    return stack_fit(scene.engine, scene.transmission, scene.stack), (tuple(map(float, scene.engine_point(-scene.stack.total))),)


@quantity("converter_gap", "length")
def converter_gap(snapshot, context):
    """Converter pads to flexplate with the converter pushed home, plates and pad spacers counted."""
    fit, points = _fit(context)
    if fit.kind != "automatic":
        return ()
    if fit.converter_gap is None:
        raise NotEvaluated("the gap without plates is not known; measure it and give transmission.gap_without_plates")
    low, high = fit.spacers_for_gap
    how = (f"the plates widen the gap by {fit.plates / INCH:.3f} in; pad spacers of {low / INCH:.3f} to {high / INCH:.3f} in bring it to "
           f"what is usual, {fit.pilot_lost / INCH:.3f} in are there; drawn up, the hub stands {fit.pump_lost / INCH:.3f} in less deep in "
           "the pump than without plates and spacers")
    return (Measurement(fit.converter_gap, ("transmission",), how=how, points=points),)


@quantity("dowel_in_bell", "length")
def dowel_in_bell(snapshot, context):
    """Dowel that stands out behind the plates and locates the bell."""
    fit, points = _fit(context)
    if fit.dowel_in_bell is None:
        raise NotEvaluated("the length of the dowels is not known; give engine.dowel_length")
    how = f"dowel less plates of {fit.plates / INCH:.3f} in; bolts through the plates are as much longer than without"
    return (Measurement(fit.dowel_in_bell, ("mid_plate",), how=how, points=points),)


@quantity("pilot_engagement_lost", "length")
def pilot_engagement_lost(snapshot, context):
    """How much less of the converter's nose, or of the input shaft, stands in the crankshaft's pilot than without plates."""
    fit, points = _fit(context)
    what = "the pad spacers hold the converter's nose back" if fit.kind == "automatic" else "the plates take the input shaft back"
    return (Measurement(fit.pilot_lost, ("transmission",), how=what, points=points),)


@quantity("input_ahead_of_block", "length")
def input_ahead_of_block(snapshot, context):
    """Tip of a clutch transmission's input shaft ahead of the block's rear face."""
    fit, points = _fit(context)
    if fit.kind == "automatic":
        return ()
    if fit.input_ahead_of_block is None:
        raise NotEvaluated("how far the input shaft stands out is not known; give transmission.input_beyond_bell_face")
    how = f"input shaft beyond the bell's front face less plates of {fit.plates / INCH:.3f} in"
    return (Measurement(fit.input_ahead_of_block, ("transmission",), how=how, points=points),)


@quantity("bell_bolt_engagement", "ratio",
          block=Setting("choice", None, "material of the block", entries(model.Engine)["material"].choices))
def bell_bolt_engagement(snapshot, context):
    """Thread of the bell's bolts that stands in a block of one material, over the diameter of the bolts."""
    fit, points = _fit(context)
    engine = context.scene.engine
    if fit.thread_in_block is None:
        return ()
    if engine.material is None:
        raise NotEvaluated("the material of the block is not known, so it is not known how deep its threads must be; give engine.material")
    if engine.material != context.settings["block"]:
        return ()
    holes = [size for _y, _z, size in engine.rear_holes if not engine.dowel_diameter or abs(size - engine.dowel_diameter) >= SAME]
    bolt = catalog.bolt_in(min(holes)) if holes else None
    if bolt is None:
        raise NotEvaluated("no hole of engine.rear_holes, dowels not counted, passes a bolt of the catalogue with its usual clearance, so "
                           "the size of the bell's bolts is not known; give the holes as a plate gets them")
    bolts = context.scene.transmission.bell_bolts
    how = (f"{fit.thread_in_block / INCH:.3f} in of a {bolt.diameter / INCH:.3f} in bolt: {bolts.length / INCH:.3f} in under the head, "
           f"less {bolts.flange / INCH:.3f} in of flange and {fit.plates / INCH:.3f} in of plates")
    return (Measurement(fit.thread_in_block / bolt.diameter, ("transmission",), how=how, points=points),)
