"""Quantities of what parts are made of: whether metals that are welded together can be, whether the stock exists, and least sections of
what protects people. They follow from the records that the shapes are made from."""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from ... import catalog, model
from ...catalog import family
from ...features.part_kind import Hold
from ...features.registry import declaration, declared
from ...mechanics import shaft
from ...rules.quantity import NO_DIMENSION, Found, Measurement, Part, Setting, Unmeasured, quantity
from ...sections import DRIVESHAFT, MID_PLATE
from ...snapshot import Snapshot
from ...spelling import read as spelled
from ...units import INCH, sized
from ..context import Context

WELD_GROUPS = {"alloy_steel": "steel", "carbon_steel": "steel", "aluminium": "aluminum", "titanium": "titanium"}
"""Family of a metal to the group within which it is fusion welded."""

PRINTED = 1e-3
"""Sizes are nominal: a wall given in another unit differs by less than this share."""


# --- welds ------------------------------------------------------------------------------------------------------------


def _welded_to(kind: str, key: str) -> tuple[str, ...]:
    """Roles that a part is welded to, as it declares itself."""
    return tuple(role for joint in declaration(kind, key).joints or () if joint.hold == Hold.WELDED for role in joint.to)


def _in_a_weld(part: Part) -> bool:
    """Whether a part is on either side of a weld."""
    role = declaration(part.kind, part.key).role
    return bool(_welded_to(part.kind, part.key)) or any(role in joint.to for other in declared().values() for joint in other.joints or ()
                                                        if joint.hold == Hold.WELDED)


@quantity("unweldable_joints", "count", each=_in_a_weld, no_remedy=NO_DIMENSION)
def unweldable_joints(snapshot: Snapshot, context: Context) -> Found:
    """Welds between materials that are not fusion welded to each other by usual practice, one finding a part; none is one value of 0."""
    roles = {part.key: declaration(part.kind, part.key).role for part in snapshot.parts}
    found: list[Measurement | Unmeasured] = []
    pairs = 0
    for part in sorted(snapshot.parts, key=lambda part: part.key):
        if not part.material or family(part.material) is None:
            found.append(Unmeasured((part.key,), f"the material {part.material!r} of {part.key} is not in the catalog, so that nobody "
                                    "knows whether it can be welded"))
            continue
        wanted = _welded_to(part.kind, part.key)
        hosts = [other for other in snapshot.parts if roles[other.key] in wanted and other.key != part.key and other.material
                 and family(other.material) is not None]
        pairs += len(hosts)
        bad = [other for other in hosts if not _weldable(part.material, other.material)]
        if bad:
            names = ", ".join(dict.fromkeys(f"{roles[other.key].replace('_', ' ')} of {other.material}" for other in bad))
            found.append(Measurement(1.0, (part.key,), how=f"{part.key} of {part.material} is to be welded to {names}"))
    return tuple(found) or (Measurement(0.0, ("car",), how=f"{pairs} pairs of welded parts, each of metals that are welded together"),)


def _weldable(first: str, second: str) -> bool:
    """Whether two materials of the catalog are welded to each other by usual practice."""
    one, other = catalog.material(first), catalog.material(second)
    return bool(one.weldable and other.weldable) and WELD_GROUPS.get(one.family) == WELD_GROUPS.get(other.family) is not None


# --- stock ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Gauge:
    """A thickness that a car asks for: key of the part, path of the field, what it is made of, mm; whether a tube's wall."""
    key: str
    path: str
    material: str
    thickness: float
    tube: bool = False


PROTECTIVE = ("loop", "enclosure", "protector", "driveshaft")
"""First words of the keys of what contains a broken shaft or keeps a broken flywheel or converter from the driver, and of the shaft."""


def gauges(car: model.Car) -> Iterator[Gauge]:
    """Every thickness that a car gives, with defaults filled in."""
    chassis, plates, mounts, held = car.chassis, car.plates, car.mounts, car.containment
    for name, key in (("rails", "rail/left"), ("uprights", "upright/left"), ("footwell_tube", "footwell_tube"),
                      ("rear_cross_member", "rear_cross_member"), ("upper_fore_aft", "upper_fore_aft/left")):
        tube = getattr(chassis, name)
        if tube is not None and tube.section is not None:
            yield Gauge(key, f"chassis.{name}.section.wall", chassis.rails.material, tube.section.wall, True)
    for further in chassis.tubes or ():
        yield Gauge(f"tube/{further.name}", f"chassis.tubes.{further.name}.section.wall", further.material, further.section.wall, True)
    if plates.front is not None:
        yield Gauge("front_plate", "plates.front.thickness", plates.front.material, plates.front.thickness)
        if plates.front.kind == "narrow" and mounts.rail_tabs is not None:
            yield Gauge("plate_foot/left", "plates.front.foot_tube.wall", mounts.rail_tabs.material, plates.front.foot_tube.wall, True)
            if plates.front.foot_web is not None:
                yield Gauge("plate_foot/left", "plates.front.foot_web", mounts.rail_tabs.material, plates.front.foot_web)
    if plates.protector is not None:
        yield Gauge("protector", "plates.protector.thickness", plates.protector.material, plates.protector.thickness)
    if plates.mid is not None:
        yield Gauge("mid_plate", "plates.mid.thickness", plates.mid.material, plates.mid.thickness)
    if mounts.rail_tabs is not None:
        yield Gauge("rail_tab/left_front", "mounts.rail_tabs.thickness", mounts.rail_tabs.material, mounts.rail_tabs.thickness)
    for name in ("support_tube", "cross_member"):
        tube = getattr(mounts, name)
        if tube is not None:
            yield Gauge(name, f"mounts.{name}.section.wall", tube.material, tube.section.wall, True)
    if mounts.transmission is not None:
        mount = mounts.transmission
        yield Gauge("transmission_mount", "mounts.transmission.tab_thickness", mount.material, mount.tab_thickness)
        yield Gauge("transmission_mount", "mounts.transmission.tube.wall", mount.material, mount.tube.wall, True)
    if mounts.limiter_strut is not None:
        strut = mounts.limiter_strut
        yield Gauge("limiter_strut", "mounts.limiter_strut.section.wall", strut.material, strut.section.wall, True)
        yield Gauge("limiter_strut", "mounts.limiter_strut.bracket_thickness", strut.material, strut.bracket_thickness)
    if car.driveshaft is not None:
        yield Gauge("driveshaft", "driveshaft.wall", car.driveshaft.material, car.driveshaft.wall, True)
    for loop in held.loops:
        path = f"containment.loops.{loop.name}"
        if loop.form == "tube" and loop.section is not None:
            yield Gauge(f"loop/{loop.name}", f"{path}.section.wall", loop.material, loop.section.wall, True)
        elif loop.form == "strap" and loop.strap_thickness is not None:
            yield Gauge(f"loop/{loop.name}", f"{path}.strap_thickness", loop.material, loop.strap_thickness)
    if held.enclosure is not None:
        tube = held.enclosure
        yield Gauge("enclosure", "containment.enclosure.wall", tube.material, tube.wall, True)
        yield Gauge("enclosure", "containment.enclosure.mount_thickness", tube.material, tube.mount_thickness)
    if held.tunnel is not None:
        yield Gauge("tunnel", "containment.tunnel.thickness", held.tunnel.material, held.tunnel.thickness)


def thinnest(material: str, tube: bool) -> float:
    """mm of the thinnest wall of tube that the catalog holds, or of the thinnest sheet of a material's group; tubes of composites are
    wound, and are compared with sheet."""
    return _thinnest(_group(material), tube)


@lru_cache(maxsize=64)
def _thinnest(group: str | None, tube: bool) -> float:
    if tube and group != "composite":
        return min(catalog.section(name).wall for name in catalog.ours("sections"))
    rows = [catalog.sheet(name) for name in catalog.ours("sheet")]
    same = [row.thickness for row in rows if _group(row.material) == group]
    return min(same or [row.thickness for row in rows])


def _group(material: str) -> str | None:
    """What stock is counted together: metals that are welded to each other, composites; None of a material without a row."""
    found = family(material)
    return None if found is None else WELD_GROUPS.get(found, found)


@quantity("stock_thickness", "ratio", no_remedy=NO_DIMENSION,
          of=Setting("choice", None, "which parts: those that protect people, or all others", ("protective", "others")))
def stock_thickness(snapshot: Snapshot, context: Context) -> Found:
    """Least thickness that a part asks for, over the thinnest sheet or tube wall of its kind of material in the catalog."""
    worst: dict[str, tuple[float, Gauge]] = {}
    for one in gauges(context.car):
        if (one.key.partition("/")[0] in PROTECTIVE) is not (context.settings["of"] == "protective"):
            continue
        if _group(one.material) is not None:
            share = one.thickness / thinnest(one.material, one.tube)
            worst[one.key] = min(worst.get(one.key, (share, one)), (share, one), key=lambda item: item[0])
    return tuple(Measurement(share, (key,), how=f"{one.path} is {sized(one.thickness)} of {one.material}; the thinnest in the catalog is "
                             f"{sized(thinnest(one.material, one.tube))}", accuracy=PRINTED) for key, (share, one) in worst.items())


# --- least sections ---------------------------------------------------------------------------------------------------


@quantity("protector_section", "length", clears=("plates.protector.thickness",), components={"material": "word", "thickness": "length"})
def protector_section(snapshot: Snapshot, context: Context) -> Found:
    """Thickness and material of the block protector."""
    given = context.car.plates.protector
    return () if given is None else _section("protector", given.material, "thickness", given.thickness)


@quantity("shaft_wall", "length", needs=(DRIVESHAFT,), clears=("driveshaft.wall",), components={"material": "word", "wall": "length"})
def shaft_wall(snapshot: Snapshot, context: Context) -> Found:
    """Wall and material of the driveshaft's tube."""
    given = context.car.driveshaft
    return _section("driveshaft", given.material, "wall", given.wall)


def _section(key: str, material: str, name: str, size: float) -> Found:
    found = family(material)
    if found is None:
        return (Unmeasured((key,), f"the material {material!r} of the {key} is not in the catalog"),)
    return (Measurement(None, (key,), how=f"{material}, {name} {sized(size)}", parts={"material": found, name: size}),)


@quantity("block_opening", "length", needs=(MID_PLATE,),
          no_remedy="a block protector, or a smaller opening in it, is for the builder to choose")
def block_opening(snapshot: Snapshot, context: Context) -> Found:
    """Opening through which parts of a failed flywheel or converter could reach the block and the pan: the smallest of those around the
    crank in the block protector and the mid plate."""
    plates = context.car.plates
    openings = [(plates.mid.center_opening, "mid_plate", "mid plate")]
    if plates.protector is not None:
        openings.append((plates.protector.crank_opening, "protector", "block protector"))
    size, key, name = min(openings)
    how = f"{name}, {sized(size)}" + ("" if plates.protector is not None else "; the car has no block protector")
    return (Measurement(size, (key,), how=how),)


# --- numbers against names --------------------------------------------------------------------------------------------

MODULI = {"axial_modulus": "modulus", "shear_modulus": "shear_modulus", "density": "density"}
"""Field of the driveshaft to that of its catalog material."""


def departures(driveshaft: model.Driveshaft) -> dict[str, float]:
    """Field of the driveshaft's material to the share by which it departs from the catalog's row of that name; what the row does not give
    is left out, and all of a material that the catalog does not hold."""
    if family(driveshaft.material) is None:
        return {}
    row, found = catalog.material(driveshaft.material), {}
    for name, field in MODULI.items():
        given, known = getattr(driveshaft, name), getattr(row, field)
        if given is not None and known:
            found[name] = max(given / known, known / given) - 1.0
    return found


TOLD = 0.10
"""Share by which a number of the driveshaft may depart from its catalog material before what follows from it says so."""


def as_stated(driveshaft: model.Driveshaft) -> str:
    """What a value that follows from the driveshaft's numbers must say of them: nothing where they are those of its catalog material."""
    off = [f"{name.replace('_', ' ')} {share:.0%}" for name, share in departures(driveshaft).items() if share > TOLD]
    return f"; as stated for the driveshaft, off the catalog's {driveshaft.material} by {', '.join(off)}" if off else ""


@quantity("catalog_departure", "ratio", needs=(DRIVESHAFT,), no_remedy=NO_DIMENSION,
          of=Setting("choice", None, "tubes of which material", ("metal", "composite")))
def catalog_departure(snapshot: Snapshot, context: Context) -> Found:
    """Share by which a number of the driveshaft's material departs from the catalog's row of that name."""
    given = context.car.driveshaft
    known = family(given.material)
    if known is None:
        return (Unmeasured(("driveshaft",), f"the material {given.material!r} of the driveshaft is not in the catalog, so that its numbers "
                           "are compared with nothing"),)
    if (known == "composite") is not (context.settings["of"] == "composite"):
        return ()
    row = catalog.material(given.material)
    return tuple(Measurement(share, ("driveshaft",), name.replace("_", " "),
                             how=f"driveshaft.{name} is {getattr(given, name) / getattr(row, MODULI[name]):.3g} times the catalog's for "
                             f"{given.material} ({spelled(known)})") for name, share in departures(given).items())


OVERRIDES = {"engine": ("peak_torque", "rpm_limit", "mass"),
             "transmission": ("first_gear", "top_gear", "converter_ratio", "mass", "slip_exposed", "spline_engaged")}
"""Numbers of a catalog row on which strength, speed and slip hang."""


@quantity("override_departure", "ratio", no_remedy=NO_DIMENSION)
def override_departure(snapshot: Snapshot, context: Context) -> Found:
    """Share by which a number that the car file gives for its engine or transmission departs from the catalog's row of that name."""
    found: list[Measurement | Unmeasured] = []
    for name, fields in OVERRIDES.items():
        given, table = getattr(context.car, name), f"{name}s"
        if given.use not in catalog.names(table):
            changed = [field for field in fields if field in (given.overrides or ())]
            # Figures of a shop's row, whose catalog is elsewhere, are that row's unless the car says that they were changed.
            if given.shop is None or changed:
                found.append(Unmeasured((f"{name}_data",), f"{given.use!r} is not in the catalog of {table}" + (
                    f" of this machine, so that its changed {', '.join(changed)} {'is' if len(changed) == 1 else 'are'} compared with "
                    "nothing" if changed else "")))
            continue
        row = catalog.row(table, given.use)
        for field in fields:
            mine, theirs = getattr(given, field), getattr(row, field)
            if mine is not None and theirs:
                share = max(mine / theirs, theirs / mine) - 1.0 if mine > 0.0 < theirs else 0.0
                found.append(Measurement(share, (f"{name}_data",), field.replace("_", " "),
                                         how=f"{name}.{field} is {mine / theirs:.3g} times that of {given.use}"))
    return tuple(found)


@quantity("finish_speed_share", "ratio", no_remedy=NO_DIMENSION)
def finish_speed_share(snapshot: Snapshot, context: Context) -> Found:
    """Shaft speed at the stated finish-line speed over the highest that limiter and top gear allow; tire at its loaded radius and growth,
    no slip."""
    car, scene = context.car, context.scene
    if car.car.speed is None:
        return ()
    tire = scene.chassis.rear_tire
    most = float(shaft.maximum_speed(car.engine.rpm_limit, car.transmission.top_gear))
    share = car.car.speed / (tire.loaded_radius + tire.growth_radius) * scene.rear_end.ratio / most
    return (Measurement(float(share), ("car",), how="car.speed through the axle ratio, against engine.rpm_limit over the top gear"),)


TRACK = {"quarter": 1320.0 * 12.0 * INCH, "eighth": 660.0 * 12.0 * INCH}
"""Length of a track, mm."""


@quantity("elapsed_time_share", "ratio", no_remedy=NO_DIMENSION)
def elapsed_time_share(snapshot: Snapshot, context: Context) -> Found:
    """Stated elapsed time over the one that a constant acceleration from rest to the stated finish-line speed takes (twice the track over
    that speed). A car that pulls hardest at the start takes less, and none that is fastest at the finish takes less than half: then it
    would have had that speed all the way."""
    car = context.car.car
    if car.speed is None or car.elapsed_time is None:
        return ()
    longest = 2.0 * TRACK[car.track] / car.speed
    return (Measurement(car.elapsed_time / longest, ("car",), how=f"{car.elapsed_time:g} s stated for car.elapsed_time, {longest:.2f} s at "
                        f"constant acceleration over the {car.track} mile to car.speed"),)
