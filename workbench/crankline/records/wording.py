"""Records, suggestions and remarks as lines that people read. The word INVENTED is beside every number of an invented record."""
from __future__ import annotations

from collections.abc import Iterable, Sequence

from ..carfile.writer import written
from ..record import entries
from .collection import Collection, Entry
from .placement_record import INVENTED, PlacementRecord, name_of, value_text
from .screening import Screening
from .suggestion import FIELDS, Near, Suggestion

LISTED = ("body", "wheelbase", "engine_mass", "power_adder", "power", "mass", "front_share", "axle_to_block", "crank_height", "sixty_foot",
          "left")


def listing(collection: Collection, system: str = "in") -> list[str]:
    """A table of records, a line each."""
    rows = [["record", "", *map(name_of, LISTED)]]
    rows += [[one.name, INVENTED if one.record.invented else "",
              *(value_text(field, getattr(one.record, field), system) for field in LISTED)] for one in collection.entries]
    return [*_aligned(rows), counted(len(collection.entries), collection.invented)]


def counted(count: int, invented: int) -> str:
    """How many records, and how many of them are invented."""
    return f"{count} record{'' if count == 1 else 's'}" + (f", {invented} of them {INVENTED}" if invented else "")


def record(one: Entry, system: str = "in") -> list[str]:
    """A record, a line each field that it has."""
    mark = f"  {INVENTED}" if one.record.invented else ""
    lines = [f"{one.name}{mark} ({one.where})" if one.file else f"{one.name}{mark}"]
    for field, entry in entries(PlacementRecord).items():
        value = getattr(one.record, field)
        if value is not None:
            lines.append(f"  {name_of(field):16s} {value_text(field, value, system)}{mark if entry.kind not in ('text', 'choice') else ''}")
    return lines


def suggestion(found: Suggestion, system: str = "in") -> list[str]:
    """A suggestion: estimates with what the car has now, or why there are none, and the nearest records with reasons."""
    mark = f"  {INVENTED}" if found.invented else ""
    lines = [f"{found.car.car}: {counted(found.count, found.invented)}"]
    if found.refused:
        lines.append("no estimate: the records say nothing of such a car")
        lines += [f"  {one.words(system)}{mark if not isinstance(one.value, str) else ''}" for one in found.outside]
        lines += [f"  {found.refusal}"] if found.refusal else []
    for field, estimate in found.estimates.items():
        value, low, high = (value_text(field, one, system, fewer=1) for one in (estimate.value, estimate.low, estimate.high))
        lines.append(f"{name_of(field):14s} {value}{mark}, {100 * estimate.share:.0f} % interval {low} to {high}, from "
                     f"{estimate.effective:.1f} records' worth; now {value_text(field, getattr(found.car, field), system)}")
    lines.append(f"compared by {', '.join(map(name_of, found.used)) or 'nothing'}"
                 + (f"; not by {', '.join(map(name_of, found.left_out))}, which the car or most records lack" if found.left_out else ""))
    if found.near:
        lines.append("nearest records, best first (distance in spreads; what spun, stood up or was slow comes later):")
    for number, near in enumerate(found.near, 1):
        lines += _near(number, near, found, system)
    return lines


def ran(one: PlacementRecord, over: float | None = None) -> str:
    """How a car ran, one clause."""
    said = [f"60 ft {value_text('sixty_foot', one.sixty_foot)}"] if one.sixty_foot is not None else []
    if over is not None:
        said[-1:] = [f"{said[-1]} ({abs(over):.3f} s {'over' if over > 0 else 'under'} what such a car does)"] if said else []
    said += {"straight": ["left straight"], "wheelstand": ["left in a wheelstand"], "spin": ["left spinning"]}.get(one.left, [])
    return ", ".join(said) or "how it ran is not known"


def _near(number: int, one: Near, found: Suggestion, system: str) -> list[str]:
    known = one.entry.record
    mark = f" {INVENTED}" if one.invented else ""
    placed = [f"{name_of(field)} {value_text(field, getattr(known, field), system)}" for field in FIELDS]
    lines = [f"  {number}. {one.entry.name}{mark}, distance {one.distance:.2f}: {', '.join(placed)}, {ran(known, one.sixty_foot_over)}"]
    def differing(fields: Sequence[str]) -> str:
        return ", ".join(_difference(field, getattr(known, field), getattr(found.car, field), system) for field in fields)
    said = [f"near: {', '.join(map(name_of, one.alike)) or 'nothing'}", f"not near: {differing(one.unlike) or 'nothing'}"]
    said[1:1] = [f"between: {differing(one.between)}"] if one.between else []
    return [*lines, f"     {'; '.join(said)}"]


def _difference(field: str, value: object, own: object, system: str) -> str:
    """How a record differs from the car in a field."""
    if isinstance(value, float) and isinstance(own, float):
        return f"{name_of(field)} {value_text(field, value - own, system, signed=True)}"
    return f"{name_of(field)} {value_text(field, value, system)}" if value is not None else f"{name_of(field)} not known"


def screening(found: Screening, collection: Collection, system: str = "in") -> list[str]:
    """What looks wrong in a collection."""
    lines = [f"{one.kind}: {one.entry.name}{f' {INVENTED}' if one.entry.record.invented else ''} ({one.entry.where}): {one.text(system)}"
             for one in found.remarks]
    lines += [f"not looked at: {clause}" for clause in found.not_looked_at]
    return [*lines, f"{counted(len(collection.entries), collection.invented)}: "
            f"{f'{len(found.remarks)} to look at' if found.remarks else 'nothing looks wrong'}"]


def _aligned(rows: Sequence[Sequence[str]]) -> Iterable[str]:
    widths = [max(map(len, column)) for column in zip(*rows)]
    return ["  ".join(cell.ljust(width) for cell, width in zip(row, widths)).rstrip() for row in rows]


def plain(one: Entry) -> dict[str, object]:
    """A record as plain data, in the units of its own file: quantities as text with their unit."""
    told_of = {"name": one.name, "invented": one.record.invented, "file": one.file, "line": one.line}
    return {**told_of, **dict(written(one.record, "in", one.file))}


