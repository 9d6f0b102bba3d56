"""Catalog tables: engines, transmissions, tube sections, sheet, materials, fasteners. Each row says where it comes from.

A table is one YAML file beside this module: ``catalog: 1``, ``rows: {name: {source, basis, ...}}``. Rows are typed by
the same descriptions as the car file, and read once a process. A shop's own rows (``shop``) come after ours and never replace one.
"""
from __future__ import annotations

import difflib
import hashlib
import json
import math
import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import cache
from typing import Any

from .. import model, schema, source, units
from ..mechanics import fasteners
from ..record import choice, entries, flag, quantity, ratio, size, text
from . import solid_files

FOLDER = os.path.dirname(__file__)


@dataclass(frozen=True)
class Row:
    """What every row of every table says about itself."""
    source: str = text("where the figures come from", required=True)
    basis: str = choice("how well they are known", "measured", "published", "standard", "closed_form", "memory", "invented", required=True)
    date: str = text("day on which the figures were taken, YYYY-MM-DD; a row of a shop needs it", form="date")
    note: str = text("what to keep in mind")


@dataclass(frozen=True)
class Material(Row):
    """A material: density kg/mm3, moduli and strengths MPa, lower values where sources give a range."""
    family: str = choice("what rules call it", "alloy_steel", "carbon_steel", "aluminium", "titanium", "composite", required=True)
    density: float = quantity("density", "density", low=1e-7, high=3e-5, required=True)
    modulus: float = quantity("stress", "modulus of elasticity", low=1000.0, high=2e6, required=True)
    shear_modulus: float = quantity("stress", "shear modulus", low=500.0, high=1e6)
    yield_strength: float = quantity("stress", "yield strength", low=1.0, high=1e4, key="yield")
    ultimate_strength: float = quantity("stress", "ultimate tensile strength", low=1.0, high=1e4, key="ultimate")
    weldable: bool = flag("whether a fabricator may weld it by usual practice")


@dataclass(frozen=True)
class TubeSection(Row):
    """A stock round tube."""
    outer_diameter: float = size("outside diameter", required=True)
    wall: float = size("wall thickness", required=True)

    @property
    def area(self) -> float:
        """Cross section, mm2."""
        return math.pi / 4 * (self.outer_diameter ** 2 - self.inner_diameter ** 2)

    @property
    def inner_diameter(self) -> float:
        """Inside diameter, mm."""
        return self.outer_diameter - 2 * self.wall

    @property
    def second_moment(self) -> float:
        """Second moment of area about a diameter, mm4; the polar one is twice it."""
        return math.pi / 64 * (self.outer_diameter ** 4 - self.inner_diameter ** 4)


@dataclass(frozen=True)
class Sheet(Row):
    """A stock thickness of sheet or plate."""
    thickness: float = size("thickness", required=True)
    material: str = text("material", table="materials", required=True)


@dataclass(frozen=True)
class Fastener(Row):
    """A bolt thread and its clearance holes."""
    diameter: float = size("nominal diameter", required=True)
    pitch: float = size("thread pitch", required=True)
    hole_close: float = size("clearance hole, close (fine) fit", required=True)
    hole_normal: float = size("clearance hole, normal (medium) fit", required=True)
    hole_loose: float = size("clearance hole, loose (coarse) fit", required=True)
    stress_factor: float = ratio("pitches taken off the diameter for the stress area: 0.9382 metric, 0.9743 inch threads",
                                 low=0.9, high=1.0, required=True)

    @property
    def stress_area(self) -> float:
        """Tensile stress area, mm2."""
        return float(fasteners.stress_area(self.diameter, self.pitch, self.stress_factor))


@dataclass(frozen=True)
class Grade(Row):
    """A strength grade of bolts, MPa."""
    proof: float = quantity("stress", "proof strength", low=1.0, high=1e4, required=True)
    yield_strength: float = quantity("stress", "yield strength", low=1.0, high=1e4, key="yield", required=True)
    ultimate_strength: float = quantity("stress", "ultimate tensile strength", low=1.0, high=1e4, key="ultimate", required=True)
    largest: float = size("largest nominal diameter the values hold for")


@dataclass(frozen=True)
class Hardware(Row):
    """A piece of hardware that is bought: bolts by the step of their lengths, nuts and washers with their height."""
    kind: str = choice("what it is", "bolt", "nut", "washer", "pin", "rod_end", "jam_nut", "spacer", "dowel", "screw", "rivet",
                       required=True)
    diameter: float = size("nominal diameter", required=True)
    thread: str = text("thread", table="fasteners")
    grade: str = text("strength grade", table="grades")
    height: float = size("height of a nut, thickness of a washer")
    step: float = size("step of the lengths that bolts come in")


@dataclass(frozen=True)
class JointSeries(Row):
    """A series of cross joints."""
    span: float = size("over both caps of a trunnion", required=True)
    cap: float = size("diameter of a cap", required=True)
    torque: float = quantity("torque", "least elastic limit of one joint", low=1.0, high=1e8, required=True)
    torque_source: str = text("where the torque comes from", required=True)
    torque_basis: str = choice("how well the torque is known", "published", "memory", required=True)

    @property
    def least_swing(self) -> float:
        """Least diameter that the joint sweeps, mm: over the corners of its caps. Yokes and retainers add to it."""
        return math.hypot(self.span, self.cap)


@dataclass(frozen=True)
class Instrument(Row):
    """A tool to measure with: within what a reading of it is right, 95 times in 100."""
    within: float = size("of a length", high=50.0)
    within_angle: float = quantity("angle", "of an angle", low=1e-6, high=0.1)


@dataclass(frozen=True)
class Shim(Row):
    """A shim that is bought or cut."""
    thickness: float = size("thickness", required=True)


TABLES: dict[str, type] = {"engines": model.Engine, "transmissions": model.Transmission, "sections": TubeSection, "sheet": Sheet,
                           "materials": Material, "fasteners": Fastener, "grades": Grade,
                           "hardware": Hardware, "joint_series": JointSeries, "instruments": Instrument, "shims": Shim}
"""Table name to the record that types its rows."""
_ABOUT = tuple(entry.key for entry in entries(Row).values())


BOOKKEEPING = ("shop", "overrides", "row_digest")
"""What an engine or transmission in a car holds beside its figures: which row they are from, and what of it was changed."""

_SHOP: dict[str, dict[str, source.Node]] = {}
"""Table to a shop's own rows."""


@cache
def _rows(table: str) -> dict[str, source.Node]:
    if table not in TABLES:
        raise ValueError(f"there is no catalog table {table!r}; {schema.listed(tuple(TABLES))} is allowed")
    return read_rows(source.read(os.path.join(FOLDER, f"{table}.yaml")))


def read_rows(root: source.Node) -> dict[str, source.Node]:
    """Row name to its mapping, of a catalog file's top mapping; SourceError where it is no catalog."""
    for key, node in root.mapping.items():
        if key not in ("catalog", "catalogue", "rows"):
            raise schema.unknown(node, key, ("catalog", "rows"))
    number = root.at("catalogue") if "catalogue" in root.mapping else root.at("catalog")
    if number.value != "1":
        raise number.error("a catalog begins with 'catalog: 1'")
    rows = root.rows()
    for node in rows.values():
        node.expect("mapping")
    return rows


def typed(node: source.Node, name: str, record: type[Any],
          known: Callable[[str], Sequence[str] | None] = schema.nothing) -> Any:
    """A row as a record; SourceError with the catalogue's file and line where it is wrong."""
    typing = schema.Typing(known)
    if issubclass(record, Row):
        return typing.record(node, record)
    about = source.Node("mapping", {key: value for key, value in node.mapping.items() if key in _ABOUT}, node.file, node.line, node.path)
    typing.record(about, Row)
    if "use" in node.mapping:
        raise node.at("use").error("the key is unknown; a row's name is its catalog name")
    if "shop" in node.mapping:
        raise node.at("shop").error("the key is unknown; write source and date beside the figures")
    # ``use`` is required of the record but is the row's own name.
    found = typing.fields(node, record, extra=_ABOUT, partial=True)
    for field, entry in entries(record).items():
        if entry.required and field != "use" and field not in found:
            raise typing.missing(node, entry.key, entry)
    if found.get("solid") is not None:
        found["solid"] = with_digest(node, found["solid"], os.path.dirname(os.path.abspath(node.file)))
    return record(**found, use=name)


def with_digest(node: source.Node, solid: model.Solid, folder: str | None) -> model.Solid:
    """The solid of an engine or transmission (the mapping of which is given) with the digest of its file, which is beside that file, or
    in a folder that is looked in where ``folder`` is None; SourceError where it is not."""
    where = node.at("solid", "file")
    if told := solid_files.wrong_name(solid.file):
        raise where.error(told)
    path = solid_files.beside(solid.file, folder)
    if path is None:
        raise where.error(f"there is no file {source.quoted(solid.file)} beside this one; put it there")
    try:
        found: model.Solid = replace(solid, digest=solid_files.digest_of(path))
    except (OSError, ValueError) as error:
        raise where.error(str(error)) from None
    if solid.digest not in (None, found.digest):
        raise node.at("solid", "digest").error(f"{source.quoted(solid.file)} is not the file of this digest; leave the key out to take the "
                                               "file as it is")
    return found


def hold(rows: Mapping[str, Mapping[str, source.Node]]) -> None:
    """Take a shop's rows (table to name to mapping) in place of those held before; ``shop.use`` has looked at them."""
    _SHOP.clear()
    _SHOP.update({table: dict(found) for table, found in rows.items()})
    for kept in (row, row_digest, engine, transmission):
        kept.cache_clear()


def names(table: str) -> tuple[str, ...]:
    """Row names of a table, in the file's order, a shop's after ours."""
    return (*_rows(table), *_SHOP.get(table, ()))


def ours(table: str) -> tuple[str, ...]:
    """Row names of a table of the program's own: what a car means is the same on every machine."""
    return tuple(_rows(table))


def nodes(table: str) -> dict[str, source.Node]:
    """Row name to its mapping, of ours and a shop's."""
    return {**_rows(table), **_SHOP.get(table, {})}


def table(name: str) -> dict[str, dict[str, Any]]:
    """Row name to the row as written: dicts, lists and text."""
    return {row: source.plain_data(node) for row, node in nodes(name).items()}


def about(table: str, name: str) -> Row:
    """What a row says about itself; KeyError where there is none."""
    node = nodes(table)[name]
    own = {key: value for key, value in node.mapping.items() if key in _ABOUT}
    found: Row = schema.Typing().record(source.Node("mapping", own, node.file, node.line, node.path), Row)
    return found


def of_shop(table: str, name: str) -> model.ShopRow | None:
    """Source and date of a shop's own row; None of one of ours, or where there is none of this name."""
    if name not in _SHOP.get(table, ()):
        return None
    own = about(table, name)
    return model.ShopRow(source=own.source, date=own.date)


@cache
def row(table: str, name: str) -> Any:
    """A row as a record; ValueError listing the names where there is none, SourceError where the row is wrong."""
    rows = nodes(table)
    if name not in rows:
        near = difflib.get_close_matches(name[:60], rows, 1)
        raise ValueError(f"{source.quoted(name)} is not in the catalog of {table}; {schema.listed(tuple(rows))} is allowed"
                         + (f" (did you mean {near[0]}?)" if near else ""))
    return typed(rows[name], name, TABLES[table], names)


@cache
def row_digest(table: str, name: str) -> str:
    """Digest of a row's values (not of its spelling), so that a changed row can be told."""
    return digest_of(row(table, name))


def digest_of(record: Any) -> str:
    """Digest of a row's values, or of an engine's or transmission's figures in a car, as ``row_digest`` has it."""
    values = {key: value for key, value in _canonical(record).items() if key not in (*_ABOUT, *BOOKKEEPING)}
    return hashlib.blake2b(json.dumps(values, sort_keys=True).encode(), digest_size=16).hexdigest()


def _canonical(value: Any) -> Any:
    if is_dataclass(value):
        # Absent fields are left out: a field added to a record later changes no digest.
        return {f.name: _canonical(getattr(value, f.name)) for f in fields(value) if getattr(value, f.name) not in (None, ())}
    if isinstance(value, tuple):
        return [_canonical(item) for item in value]
    return units.rounded(value) if isinstance(value, float) else value


@cache
def engine(name: str) -> model.Engine:
    """An engine of the catalog, as a car that uses it without overrides has it."""
    found: model.Engine = replace(row("engines", name), overrides=(), row_digest=row_digest("engines", name),
                                  shop=of_shop("engines", name))
    return found


@cache
def transmission(name: str) -> model.Transmission:
    """A transmission of the catalog, as a car that uses it without overrides has it."""
    found: model.Transmission = replace(row("transmissions", name), overrides=(), row_digest=row_digest("transmissions", name),
                                  shop=of_shop("transmissions", name))
    return found


def material(name: str) -> Material:
    """A material; ValueError listing the names where there is none."""
    found: Material = row("materials", name)
    return found


FAMILIES = tuple(entries(Material)["family"].choices)
"""Families of materials, as rules name them."""


def family(material_: str) -> str | None:
    """alloy_steel, carbon_steel, aluminum, titanium or composite; None for a material that is not in the catalog."""
    return material(material_).family if material_ in _rows("materials") or material_ in _SHOP.get("materials", ()) else None


def is_composite(material_: str) -> bool | None:
    """Whether a shaft's material is a composite; None where the catalog does not know it."""
    known = family(material_)
    return None if known is None else known == "composite"


def section(name: str) -> TubeSection:
    """A stock tube such as ``1.625x0.083``."""
    found: TubeSection = row("sections", name)
    return found


def sheet(name: str) -> Sheet:
    """A stock sheet or plate."""
    found: Sheet = row("sheet", name)
    return found


def fastener(name: str) -> Fastener:
    """A bolt thread such as ``3/8-16`` or ``M10``."""
    found: Fastener = row("fasteners", name)
    return found


def hardware_name(kind: str, diameter: float) -> str | None:
    """Row name of the piece of hardware of a kind and nominal diameter in mm; None where the catalog has none."""
    return next((name for name in names("hardware") if row("hardware", name).kind == kind
                 and abs(row("hardware", name).diameter - diameter) < 0.02), None)


def hardware(name: str) -> Hardware:
    """A piece of hardware such as ``locknut 3/8-16``."""
    found: Hardware = row("hardware", name)
    return found


def grade(name: str) -> Grade:
    """A bolt grade such as ``SAE 8`` or ``ISO 10.9``."""
    found: Grade = row("grades", name)
    return found


def bolt_for(diameter: float) -> Fastener:
    """The fastener of a nominal diameter in mm; ValueError where the catalog has none."""
    for name in names("fasteners"):
        found = fastener(name)
        if abs(found.diameter - diameter) < 0.02:
            return found
    raise ValueError(f"a bolt of {units.sized(diameter)} is not in the catalog of fasteners; "
                     f"{schema.listed(names('fasteners'))} is allowed")


def bolt_in(hole: float) -> Fastener | None:
    """The largest fastener that a hole (diameter in mm) clears, no closer than its close and no looser than its loose fit; None where
    none fits."""
    rows = [fastener(name) for name in names("fasteners")]
    return max((row for row in rows if row.hole_close - 0.02 <= hole <= row.hole_loose + 0.02), key=lambda row: row.diameter, default=None)


@dataclass(frozen=True)
class JointChoice:
    """The series of joints that a driveshaft is ordered with. governs: ``stated`` by the builder; ``torque``: the smallest that carries it
    and fits; ``room``: none that fits carries the torque, this is the largest that does fit."""
    name: str
    row: JointSeries
    governs: str


def joint_series(swing: float, torque: float, stated: str | None = None) -> JointChoice | None:
    """The series for a swing diameter (mm) and a torque (N.mm, shock included); None where the swing is too small for any."""
    if stated is not None:
        return JointChoice(stated, row("joint_series", stated), "stated")
    rows = [(name, row("joint_series", name)) for name in names("joint_series")]
    fitting = sorted((found for found in rows if found[1].least_swing <= swing), key=lambda found: found[1].least_swing)
    carrying = [found for found in fitting if found[1].torque >= torque]
    if carrying:
        return JointChoice(*carrying[0], "torque")
    return JointChoice(*fitting[-1], "room") if fitting else None
