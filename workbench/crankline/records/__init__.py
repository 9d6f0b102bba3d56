"""Placement records: where engines were set in a shop's cars, how these ran, and what that says of the next one.

    library = records.load(folders)                 every record of some folders; what could not be read is in library.problems
    car = records.of_car(car, scene)                a car as a record (its placement too), or any PlacementRecord
    records.nearest(car, library, n)                the n nearest, best first: Near(entry, distance, order, alike, unlike, ...)
    records.suggest(car, library)                   a Suggestion: axle-to-block and crank height with 80 % intervals, or why not

Dots of a placement window: ``entry.record.axle_to_block`` and ``.crank_height`` (mm, at the rear face of the block) of ``library.entries``.
Where ``entry.record.invented``, the word INVENTED is beside every number of it, and none is on a kit sheet: ``library.own()`` has the
others.
``records.of_environment()`` are the folders that the environment names; the window's preferences name one (``preferences.held().records``).
"""
from .library import Entry, Library, add, load, of_environment
from .placement_record import INVENTED, PlacementRecord, of_car
from .suggestion import Near, Suggestion, nearest, suggest

__all__ = ["INVENTED", "Entry", "Library", "Near", "PlacementRecord", "Suggestion", "add", "load", "nearest", "of_car", "of_environment",
           "suggest"]
