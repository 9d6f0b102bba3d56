"""Placement records: where engines were set in a shop's cars, how these ran, and what that says of the next one.

    collection = records.load(folders)                 every record of some folders; what could not be read is in collection.problems
    car = records.of_car(car, scene)                a car as a record (its placement too), or any PlacementRecord
    records.nearest(car, collection, n)                the n nearest, best first: Near(entry, distance, order, alike, unlike, ...)
    records.suggest(car, collection)                   a Suggestion: axle-to-block and crank height with 80 % intervals, or why not

Dots of a placement window: ``entry.record.axle_to_block`` and ``.crank_height`` (mm, at the block's rear face) of ``collection.entries``.
Where ``entry.record.invented``, the word INVENTED is beside every number of it, and none is on a kit sheet: ``collection.own()`` has the
others.
``records.of_environment()`` are the folders that the environment names; the window's preferences name one (``preferences.held().records``).
"""
from .collection import Collection, Entry, add, load, of_environment
from .placement_record import INVENTED, PlacementRecord, of_car
from .suggestion import Near, Suggestion, nearest, suggest

__all__ = [
           "INVENTED",
           "Collection",
           "Entry",
           "Near",
           "PlacementRecord",
           "Suggestion",
           "add",
           "load",
           "nearest",
           "of_car",
           "of_environment",
           "suggest",
]
