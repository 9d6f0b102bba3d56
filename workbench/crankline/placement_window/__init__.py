"""Where a powertrain may stand: the placements of a car over axle-to-block, crank height and pitch, with what its rules say of each.

How it is asked (all lengths mm, angles rad, in the car frame):

    window = placement_window.grid(car, axle_to_block, crank_heights, pitches, level="warning", ignored=())
        car: ``model.Car``; two 1-D arrays; pitches: a list of angles, a pitch mode (`parallel`, `in_line`, `balanced`), or None for the
        car's own. level: the least severity of an open rule that closes a placement; ignored: ids of rules that close none.
    window.allowed                  (nx, nz, np) where every rule that is claimed and counts holds
    window.inside                   the same but for the rules that no placement meets (``window.nowhere``), which would close all of it:
                                    what borders, edges, ``window.reach()`` and the best placement are about, and told beside them
    window.best(weights)            the best allowed placement as a ``Point``, or None; weights as of ``region.WEIGHTS``
    window.edges(layer)             which rule binds on which edge (``region.Edge``)
    placement_window.at(car, x, z, pitch)    one placement as a ``Point``: figures, and every claimed rule with state and margin; pitch as
        above, one angle or mode. ``point.placement`` is a ``model.Placement`` to put into the car
    placement_window.figure(window, chosen=None, records=(), layer=None, best=None)    a matplotlib ``Figure`` without a canvas of its own:
        a panel gives it to ``FigureCanvasQTAgg``. chosen, best: ``Point``; records: (x, z, label) dots, mm; layer: one of the pitches,
        None for all side by side. Its axes carry the pitch's number as ``axes.get_gid()``; a click's xdata and ydata are in the car's
        unit, of ``length_of(car)`` -> (unit, mm)
    placement_window.dots(collection, window)    the records of a ``records.Collection`` within it: x, z in mm, ``invented``

A rule is claimed where the check reads it by the same function (``Quantity.reads``), with the same limits, conditions and tolerance;
``window.unclaimed`` names the others with the reason, and none of these is ever shown as holding: what hangs on shapes is only known where
a placement is built and checked.
"""
from __future__ import annotations

from .cells import Claim, Judge, State, length_of
from .plots import figure
from .point import Point, at
from .record_dots import Dot, dots
from .region import WEIGHTS, Edge
from .window import SPAN_X, SPAN_Z, Window, WindowError, grid

__all__ = ["SPAN_X", "SPAN_Z", "WEIGHTS", "Claim", "Dot", "Edge", "Judge", "Point", "State", "Window", "WindowError", "at", "dots",
           "figure", "grid", "length_of"]
