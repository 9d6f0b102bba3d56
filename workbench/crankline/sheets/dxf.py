"""Flat patterns as DXF for a laser or a water jet: 1:1, millimeters.

R2010, $INSUNITS 4 (mm). Outlines are closed LWPOLYLINEs whose arcs are bulges, round holes are CIRCLEs; the outside stands on layer
CUT_OUTER, everything cut out of it on CUT_INNER. What is etched is open LWPOLYLINEs on layers of their own: the part's mark, bend
lines, trim lines; a shop that does not etch turns these off. Nothing else is in the file: no text, no dimension, no spline. Equal
patterns make files that are equal byte for byte. A file is written under a temporary name, read again, compared with the flat
pattern, and only then renamed.
"""
from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from ..geometry.outline import Circle, Flat, Loop, Vertex
from ..replacing import replacing
from ..units import points_text, sized
from .drawing import SheetError

OUTER, INNER = "CUT_OUTER", "CUT_INNER"
MARK, BEND, TRIM = "ETCH_MARK", "ETCH_BEND", "ETCH_TRIM"
LAYERS = {OUTER: 7, INNER: 1, MARK: 5, BEND: 3, TRIM: 6}
"""Layer to color number of the AutoCAD color index: white (black on paper), red, blue, green and magenta."""

Line = Sequence[tuple[float, float]]

TOLERANCE = 1e-6
"""Relative agreement of areas, and mm of coordinates, between flat pattern and what is read back."""


def _ezdxf():
    try:
        import ezdxf
    except ImportError:
        raise SheetError("flat patterns need the Python package ezdxf, which is not installed; install it (Debian: python3-ezdxf, "
                         "conda: ezdxf) and run again") from None
    return ezdxf


@dataclass(frozen=True)
class Pattern:
    """A flat pattern where it lies, and the lines that are etched on it."""
    flat: Flat
    mark: Sequence[Line] = ()
    bends: Sequence[Line] = ()
    trims: Sequence[Line] = ()


def write(flat: Flat, path: str | Path, mark: Sequence[Line] = (), bends: Sequence[Line] = (), trims: Sequence[Line] = ()) -> Path:
    """Write a flat pattern with the lines that are etched on it; the path. SheetError where the pattern is not fit to cut, or the file
    does not hold it."""
    return write_patterns([Pattern(flat, mark, bends, trims)], path)


def write_patterns(patterns: Sequence[Pattern], path: str | Path) -> Path:
    """Write patterns that lie apart on one sheet; the path. Errors as of ``write``."""
    path = Path(path)
    if faults := [fault for pattern in patterns for fault in preflight(pattern.flat)]:
        raise SheetError(f"{path.name}: {faults[0]}" + (f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""))
    ezdxf = _ezdxf()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with replacing(path) as temporary, _timeless(ezdxf):
            _drawn(ezdxf, patterns).saveas(temporary)
            _verify([pattern.flat for pattern in patterns], *cuts_in(temporary), path.name)
    except OSError as error:
        raise SheetError(f"{path}: {error.strerror or error}; choose a writable folder") from None
    return path


def _drawn(ezdxf, patterns: Sequence[Pattern]):
    """The drawing of flat patterns."""
    from ezdxf import units as dxf_units
    document = ezdxf.new("R2010")
    document.units = dxf_units.MM
    document.header["$MEASUREMENT"] = 1
    for layer, colour in LAYERS.items():
        document.layers.add(layer, color=colour)
    space = document.modelspace()
    for pattern in patterns:
        for layer, item in [(OUTER, pattern.flat.outer), *((INNER, item) for item in pattern.flat.inner)]:
            if isinstance(item, Circle):
                space.add_circle((item.y, item.z), item.diameter / 2.0, dxfattribs={"layer": layer})
            else:
                space.add_lwpolyline([(v.y, v.z, v.bulge) for v in item.vertices], format="xyb", close=True, dxfattribs={"layer": layer})
        for layer, lines in ((MARK, pattern.mark), (BEND, pattern.bends), (TRIM, pattern.trims)):
            for line in lines:
                space.add_lwpolyline([(y, z) for y, z in line], format="xy", dxfattribs={"layer": layer})
    # The library would add these when it saves, in the order of a set, which is another one in every process.
    document.classes.add_required_classes(document.dxfversion)
    classes = document.classes.classes
    ordered = sorted(classes.items())
    classes.clear()
    classes.update(ordered)
    return document


@contextmanager
def _timeless(ezdxf) -> Iterator[None]:
    """Equal patterns shall make equal files, but the library stamps the clock and random numbers, unless this option of its is on."""
    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before


def cuts_in(path: Path) -> tuple[list[Loop], list[Loop | Circle]]:
    """Outlines and what is cut out of them in a file of ours. SheetError for anything else in it: another unit, layer or kind of entity."""
    ezdxf = _ezdxf()
    try:
        document = ezdxf.readfile(path)
    except (OSError, ezdxf.DXFError) as error:
        raise SheetError(f"{path.name}: cannot be read as DXF ({error}); write it again") from None
    if document.header.get("$INSUNITS") != 4:
        raise SheetError(f"{path.name}: $INSUNITS is {document.header.get('$INSUNITS')}, not 4 (mm); write it again")
    if errors := document.audit().errors:
        raise SheetError(f"{path.name}: the DXF has {len(errors)} errors; write it again")
    outer: list[Loop] = []
    inner: list[Loop | Circle] = []
    for entity in document.modelspace():
        if entity.dxf.layer not in LAYERS:
            raise SheetError(f"{path.name}: found the layer {entity.dxf.layer!r}; a cut file has {', '.join(LAYERS)} only")
        if entity.dxf.layer in (MARK, BEND, TRIM):
            if entity.dxftype() != "LWPOLYLINE" or entity.closed or entity.has_arc:
                raise SheetError(f"{path.name}: found an unexpected {entity.dxftype()} on {entity.dxf.layer}; what is etched is open "
                                 "LWPOLYLINEs of straight lines only")
            continue
        if entity.dxftype() == "CIRCLE":
            item: Loop | Circle = Circle(entity.dxf.center.x, entity.dxf.center.y, 2.0 * entity.dxf.radius)
        elif entity.dxftype() == "LWPOLYLINE" and entity.closed:
            item = Loop(tuple(Vertex(x, y, bulge) for x, y, bulge in entity.get_points("xyb")))
        else:
            raise SheetError(f"{path.name}: found an open or unexpected {entity.dxftype()}; a cut file has closed LWPOLYLINEs and "
                             "CIRCLEs only")
        if entity.dxf.layer == INNER:
            inner.append(item)
        elif isinstance(item, Loop):
            outer.append(item)
        else:
            raise SheetError(f"{path.name}: found a circle on {OUTER}; an outline is a closed LWPOLYLINE")
    return outer, inner


def preflight(flat: Flat) -> list[str]:
    """What would spoil the part on the machine, a sentence each: outline open, crossed or degenerate, cuts doubled, touching
    or outside. Empty: fit to cut."""
    found = []
    cuts = [flat.outer, *flat.inner]
    for i, item in enumerate(cuts):
        if isinstance(item, Circle) and not item.diameter > 0.0:
            found.append(f"a hole has the diameter {sized(item.diameter)}; give a positive one")
        for other in cuts[:i]:
            if _same(item, other):
                y, z = item.centroid
                found.append(f"the cut around {points_text([(y, z)])} is duplicated; remove one of the two")
    if found:
        return found
    try:
        flat.checked("flat pattern")
    except ValueError as error:
        found.append(str(error))
    return found


def _same(a, b) -> bool:
    if type(a) is not type(b):
        return False
    if isinstance(a, Circle):
        return math.dist((a.y, a.z), (b.y, b.z)) < 1e-3 and abs(a.diameter - b.diameter) < 1e-3
    return all(abs(p - q) < 1e-3 for p, q in zip(a.bounds, b.bounds)) and abs(a.area - b.area) < 1e-3 * max(a.perimeter, 1.0)


def _verify(wanted: Sequence[Flat], outer: Sequence[Loop], inner: Sequence[Loop | Circle], name: str) -> None:
    """SheetError unless what was read back is the flat patterns: extents, area, cut length, number and size of cuts."""
    def sizes(items: Iterable[Loop | Circle]) -> list[float]:
        return sorted(round(item.perimeter, 4) for item in items)

    def limits(loops: Sequence[Loop]) -> list[float]:
        return [value for loop in loops for value in loop.bounds]

    cuts = [item for flat in wanted for item in flat.inner]
    area, cut_length = sum(flat.area for flat in wanted), sum(flat.cut_length for flat in wanted)
    found = sum(loop.area for loop in outer) - sum(item.area for item in inner)
    same = (len(outer) == len(wanted)
            and all(abs(p - q) <= TOLERANCE for p, q in zip(limits([flat.outer for flat in wanted]), limits(outer)))
            and math.isclose(area, found, rel_tol=TOLERANCE) and sizes(cuts) == sizes(inner)
            and math.isclose(cut_length, sum(item.perimeter for item in (*outer, *inner)), rel_tol=TOLERANCE))
    if not same:
        raise SheetError(f"{name}: what was read back (area {found:.4f} mm2) is not the flat pattern (area {area:.4f} mm2); "
                         "please report this with the car file")
