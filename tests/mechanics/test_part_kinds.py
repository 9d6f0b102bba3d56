"""Every part says everything that is asked of a part, what it says names things that there are, and no list of parts is kept beside it."""
from __future__ import annotations

import ast
import re
from dataclasses import MISSING, fields, replace
from functools import cache
from pathlib import Path

import every_kind_of_part
import pytest
import source_trees
from conftest import ROOT, WORKBENCH

from crankline import model, sections, units
from crankline.checks.quantities import service
from crankline.features import plan, registry
from crankline.features.base import PartFeature
from crankline.features.hardware import hardware
from crankline.features.part_kind import Hold, Nothing, PartKind, Supply, none
from crankline.geometry.piece import Sheet
from crankline.measure import relations
from crankline.mechanics import mount_screening
from crankline.record import entries, filled
from crankline.remedies import paths
from crankline.snapshot import BETWEEN, CHASSIS, POWERTRAIN

DECLARED = registry.declared()
EACH = pytest.mark.parametrize("part", DECLARED.values(), ids=DECLARED)
FEATURES = WORKBENCH / "crankline" / "features"
ICONS = WORKBENCH / "crankline" / "gui" / "icons"


@cache
def described():
    """(car, scene, parts by key) of the cars that between them have every part."""
    found = []
    for car in every_kind_of_part.cars().values():
        scene = every_kind_of_part.placed(car)
        found.append((car, scene, plan.described(car, scene)))
    return found


def roles(keys):
    """Roles of the parts of some keys."""
    return {item.feature.declaration(key).role for _car, _scene, parts in described() for key, item in parts.items() if key in keys}


# ------------------------------------------------------------------------------------------------- nothing is left out

def test_no_entry_has_a_default():
    assert [field.name for field in fields(PartKind) if field.default is not MISSING or field.default_factory is not MISSING] == []


@EACH
def test_every_entry_is_given_or_says_why_there_is_none(part):
    for name, entry in part.entries().items():
        assert entry is not None and entry != () and entry != "", name
        if isinstance(entry, Nothing):
            assert len(entry.because.split()) >= 3, f"{name}: {entry.because!r} is no reason"


def test_none_is_empty_wherever_an_entry_is_read():
    assert not none("because of a reason") and (none("because of a reason") or ()) == ()


def test_every_feature_with_a_shape_is_registered_and_declares_itself():
    """A class that names a kind of its own stands in the registry under that kind; it is read, not imported, so none is overlooked."""
    found = {}
    for path in FEATURES.glob("*.py"):
        for node in source_trees.of_kind(path, ast.ClassDef):
            given = [item for item in node.body if isinstance(item, ast.Assign) and isinstance(item.targets[0], ast.Name)]
            named = {item.targets[0].id: item.value for item in given}
            if "kind" in named and {"geometry", "declares"} & set(named) and ast.literal_eval(named["kind"]):
                found[ast.literal_eval(named["kind"])] = (path.stem, node.name)
    assert found == registry.PARTS, f"features/registry.py: {sorted(set(found.items()) ^ set(registry.PARTS.items()))}"
    for kind in found:
        cls = registry.proxy_class(kind)
        assert issubclass(cls, PartFeature) and cls.declares and {part.kind for part in cls.declares} == {cls.kind}, kind
        assert "declares" in vars(cls), f"{kind} has the declaration of another part"
        assert (ICONS / f"{kind}.svg").is_file(), f"gui/icons/{kind}.svg is missing"


def test_roles_are_told_apart():
    told = [part.role for kind in registry.PARTS for part in registry.proxy_class(kind).declares]
    assert len(told) == len(set(told)) == len(DECLARED)


def test_every_part_is_in_a_car_that_the_sweeps_are_taken_over():
    """``every_kind_of_part`` has to have it, else no sweep sees it."""
    seen = {item.feature.declaration(key).role for _car, _scene, parts in described() for key, item in parts.items()}
    missing = set(DECLARED) - seen
    assert missing == set(), f"{missing}: give one to a car of tests/every_kind_of_part.py, and to features/plan.py the row that makes it"


@EACH
def test_its_shape_has_a_test_of_its_own(part):
    """``host/test_<stem>.py``, or another one there that takes its geometry."""
    stem = registry.proxy_class(part.kind).geometry.__name__.rpartition(".")[2]
    assert stem in taken_in_host_tests(), f"no test in tests/host takes geometry/{stem}.py: hold its volume against a closed form there"


@cache
def taken_in_host_tests():
    """Modules of geometry that tests of the host take."""
    texts = (path.read_text(encoding="utf-8") for path in (ROOT / "tests" / "host").glob("*.py"))
    lists = [names for text in texts for names in re.findall(r"^from crankline\.geometry import (\([^)]*\)|.*)", text, re.MULTILINE)]
    return {name for names in lists for name in re.findall(r"\w+", names)}


# ----------------------------------------------------------------------------------------- what is named is what there is

@EACH
def test_it_stands_in_the_tree_and_moves_with_something(part):
    assert part.container in dict(plan.CONTAINERS) and part.moves_with in (POWERTRAIN, CHASSIS, BETWEEN)
    held = registry.proxy_class(part.kind).record
    edited = sections.paths_of(held) if held is not None else ()
    assert part.section in (edited or sections.sections()), f"entry section: {part.section}; it is edited in {edited or 'no such section'}"
    assert part.side_view.line in ("visible", "outline", "thin", "phantom")
    assert all(0.0 <= value <= 1.0 for color in (part.look.color, part.look.edge) for value in color) and 0 <= part.look.transparency < 100


def test_what_is_made_for_the_kit_has_a_mark_of_its_own_and_nothing_else_has():
    marks = [part.mark for part in DECLARED.values() if part.mark]
    assert len(marks) == len(set(marks)) and all(re.fullmatch("[A-Z]{2}", mark) for mark in marks)
    assert {role for role, part in DECLARED.items() if part.mark} == {role for role, part in DECLARED.items() if part.supply is Supply.KIT}
    assert all(part.supply or part.reference for part in DECLARED.values())


@pytest.mark.parametrize("name", every_kind_of_part.NAMES)
def test_it_moves_with_what_it_says(name):
    """Of a powertrain that is set elsewhere: what moves with the chassis is as it was, what moves with the powertrain is elsewhere too."""
    car = every_kind_of_part.cars()[name]
    scene, parts = described()[every_kind_of_part.NAMES.index(name)][1:]
    place = replace(car.placement, axle_to_block=car.placement.axle_to_block + 2.0, crank_height=car.placement.crank_height + 1.0)
    far = replace(car, placement=place)
    scene_of_far = every_kind_of_part.placed(far)
    elsewhere = plan.described(far, scene_of_far)
    for key, item in parts.items():
        moves, (was, now) = item.feature.moves(item.records), (state(item, scene), state(elsewhere[key], scene_of_far))
        assert moves != (POWERTRAIN if was == now else CHASSIS), f"{key}, entry moves_with: {moves}"


def state(item, scene):
    """What a part is and where it stands."""
    frame = item.frame(scene)
    return item.feature.digest(item.spec(scene)), frame and (frame.rotation.tolist(), frame.origin.tolist())


@EACH
def test_it_stands_on_and_is_joined_to_parts_that_there_are(part):
    keys = {key for _car, _scene, parts in described() for key in parts} | {"footwell_tube/left", "footwell_tube/right"}
    for group in part.stands_on or ():
        assert set(group) <= set(DECLARED) | keys, group
    for joint in part.joints or ():
        assert joint.to and set(joint.to) <= set(DECLARED), joint
    # What is welded on something touches it by design.
    for group in part.stands_on or ():
        for name in group:
            other = name.partition("/")[0]
            join = relations.joins().get(tuple(sorted((part.role, other))))
            assert join is not None and join.how == Hold.WELDED.value, f"entry joints: it is welded on {other}, as stands_on says"


def test_what_no_part_says_it_is_joined_to_is_no_oversight():
    """``OTHERS_SAY`` is true: another part names it."""
    joined = {role for pair in relations.joins() for role in pair}
    loose = {role for role, part in DECLARED.items() if role not in joined}
    reference = {role for role, part in DECLARED.items() if part.reference}
    assert loose == {"header", "shaft_envelope", "setup_bar", "setup_stand"} == reference, \
        f"entry joints: {sorted(loose ^ reference)} touch nothing by design; say what holds each, or that it is a reference"


@EACH
def test_it_keeps_clear_in_groups_that_there_are(part):
    assert set(part.keeps_clear or ()) <= set(relations.GROUPS)


@EACH
def test_it_comes_out_by_ways_that_there_are(part):
    removal = part.removal
    if removal:
        assert {*removal.moves, *removal.absent} <= set(service.PATH.choices) and not set(removal.moves) & set(removal.absent)
        assert removal.off_with in ("", *DECLARED) and removal.moves + removal.absent + (removal.off_with,) != ("",)
        if removal.off_with:
            assert removal.off_with in service.OFF.choices and not part.welded


def field_of(record, path):
    """The description of the field at a path of a record, of whose lists ``*`` is any entry."""
    name, _, rest = path.partition(".")
    entry = entries(record)[name]
    if not rest:
        return entry
    return field_of(entry.record, rest.removeprefix("*."))


@EACH
def test_a_remedy_can_turn_what_it_names(part):
    stronger = dict(part.stronger or {})
    assert set(stronger) <= set(mount_screening.GROUPS)
    for path in (*(part.parameters or ()), *(path for group in stronger.values() for path in group)):
        assert field_of(model.Car, path.lstrip("+-")).kind in (*units.UNITS, "count"), path
        turned, = paths.of_path(path, (f"loop/{part.role}",))
        assert turned.name == path.lstrip("+-").replace("*", part.role) and "{by}" in turned.up + turned.down


def test_every_group_of_screened_joints_has_something_that_makes_it_stronger():
    assert {group for part in DECLARED.values() for group in dict(part.stronger or {})} == set(mount_screening.GROUPS)


# -------------------------------------------------------------------------------------------------- hardware and sheets

@cache
def listed():
    """Pairs of roles that a line of hardware joins, on any of the cars."""
    pairs = set()
    for car, _scene, _parts in described():
        for line in hardware(car):
            held = sorted(roles(line.where))
            pairs |= {(a, b) for a in held for b in held}
    return pairs


def test_what_is_bolted_has_its_bolts():
    """A part whose joint is bolted, and whose bolts nobody lists, would go out without them."""
    bolted = {pair for pair, join in relations.joins().items() if join.how == Hold.BOLTED.value}
    bare = {pair for pair in bolted if pair not in listed()}
    assert bare == set(), f"entry hardware: {sorted(bare)} are bolted together, and neither of two lists the bolts"


@EACH
def test_a_hardware_list_is_not_declared_and_empty(part):
    if part.hardware:
        lines = [line for car, scene, _parts in described() for line in part.hardware(filled(car), scene)]
        automatic_only = part.role == "transmission" and not lines     # pad spacers, where the car has some
        assert automatic_only or any(part.role in roles(line.where) for line in lines), "entry hardware: it lists nothing on any car"


@EACH
def test_what_is_made_for_the_kit_tells_its_pieces(part):
    geometry = registry.proxy_class(part.kind).geometry
    assert hasattr(geometry, "pieces") is (part.supply is Supply.KIT), \
        f"entry supply: {part.supply}; what is made for the kit, and nothing else, has pieces(spec) in {geometry.__name__}"


@pytest.mark.parametrize("name", every_kind_of_part.NAMES)
def test_what_has_a_flat_is_cut_from_it(name):
    """A plate whose geometry has an outline has a piece of sheet, else no cut file is made of it."""
    _car, scene, parts = described()[every_kind_of_part.NAMES.index(name)]
    for key, item in parts.items():
        geometry = item.feature.geometry
        if hasattr(geometry, "flat") and hasattr(geometry, "pieces"):
            sheets = [piece for piece in geometry.pieces(item.spec(scene)) if isinstance(piece, Sheet)]
            assert sheets, f"{key}: pieces(spec) of {geometry.__name__} has no Sheet, which flat(spec) gives the outline of"


@EACH
def test_a_sheet_numbers_what_is_declared_so(part):
    if not part.numbered:
        return
    from crankline.snapshot import PartView, Snapshot
    box = type("Box", (), dict(XMin=0.0, XMax=10.0, XLength=10.0, ZMin=0.0, ZMax=10.0, ZLength=10.0,
                               Center=type("Point", (), dict(x=5.0, z=5.0))))
    shape = type("Shape", (), dict(isNull=lambda _self: False, BoundBox=box))
    told = []
    for car, scene, parts in described():
        views = tuple(PartView(key, part.kind, key, "4130N", 1.0, shape(), part.moves_with, "") for key, item in parts.items()
                      if item.feature.declaration(key) is part)
        if views:
            told += list(part.numbered(Snapshot(car, scene, views), views))
    assert told, "entry numbered: it tells no item on any of the cars"
    assert all(item.name and not re.search(r"[a-z]_[a-z]", item.name) for item in told)


# ------------------------------------------------------------------------------------- lists beside the declarations

def test_no_table_of_kinds_is_kept_beside_the_declarations():
    """A list or mapping of four and more roles outside ``features`` and the rules' own measuring would have to be kept by hand."""
    wrong = []
    for path in sorted(Path(WORKBENCH / "crankline").rglob("*.py")):
        room = path.relative_to(WORKBENCH / "crankline").parts[0]
        if room not in ("gui", "sheets", "measure"):
            continue
        for node in source_trees.of_kind(path, ast.Dict, ast.Tuple, ast.List, ast.Set):
            items = node.keys if isinstance(node, ast.Dict) else node.elts
            named = {item.value for item in items if isinstance(item, ast.Constant) and isinstance(item.value, str)} & set(DECLARED)
            if len(named) >= 4:
                wrong.append(f"{path.name}:{node.lineno} {sorted(named)}")
    assert wrong == []
