"""Every part that there is, in documents of cars that between them have all: one valid solid, whose volume is what its own mesh encloses
(divergence theorem, which knows nothing of how the solid was built), that touches what it is joined to, and is what it declares.

``--solids N`` takes N placements of each car instead of one.
"""
from __future__ import annotations

import every_kind_of_part
import FreeCAD as App
import pytest
from meshes import mesh_volume
from oracles import come_within

from crankline import record
from crankline.features import make, plan, read
from crankline.features.part_kind import Supply
from crankline.geometry import measure
from crankline.measure import relations

GAP = 1.0
"""mm between parts that are joined and no farther apart than fits are."""
APART = {"tunnel": "it is drawn clear of what it covers, and its straps are not drawn",
         "split_loop": "what carries it is a rule of containment", "fixed_loop": "what carries it is a rule of containment"}
"""Roles that need not touch anything that they are joined to, and why."""


def check_shapes(views):
    """Each shape by itself; the volumes of what the demo cars have are held against meshes in ``test_sweep_cars.py``."""
    for view in views:
        assert view.shape.isValid() and len(view.shape.Solids) == 1, view.key
        if relations.role(view) not in every_kind_of_part.in_the_demos():
            assert mesh_volume(view.shape) == pytest.approx(measure.volume(view.shape), rel=3e-3), view.key


def check_joints(views):
    """Each shape against what it is joined to."""
    for view in views:
        role = relations.role(view)
        near = [other for other in views if other is not view and relations.join(view, other) is not None and relations.role(other) != role]
        if role in APART or not near:
            continue
        box = view.shape.BoundBox
        box.enlarge(GAP)
        touched = (other for other in near if box.intersect(other.shape.BoundBox) and come_within(view.shape, other.shape, GAP))
        assert next(touched, None) is not None, f"{view.key} stands free of {', '.join(other.key for other in near)}"


@pytest.mark.parametrize("name", every_kind_of_part.NAMES)
def test_every_part_is_what_it_declares_and_stands_where_it_belongs(name, solids, seed):
    for number in range(solids(1)):
        car = every_kind_of_part.cars(seed(1) + number)[name]
        document = make.document(car, name)
        try:
            layout = read.only_layout(document)
            now = read.snapshot(layout)
            assert record.difference(now.car, car) == [] and now.unsound == ()
            check_shapes(now.parts)
            check_joints(now.parts)
            described = plan.described(car, now.scene)
            assert set(described) == {view.key for view in now.parts}
            for view in now.parts:
                item, about = described[view.key], relations.declaration(view)
                weighs = not about.reference or about.supply is Supply.KIT
                assert (view.welded, view.reference, bool(view.mass)) == (about.welded, about.reference, weighs), view.key
                assert view.digest == item.feature.digest(item.spec(now.scene)), view.key
        finally:
            App.closeDocument(document.Name)
