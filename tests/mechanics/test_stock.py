"""What parts are made of: welds that cannot be made, stock that does not exist, numbers that contradict the name beside them."""
from __future__ import annotations

import datetime
from dataclasses import replace

import pytest
import snapshot_fakes as fakes
from every_rule import changed

from crankline import catalog, model
from crankline.checks.finding import State
from crankline.checks.quantities import stock
from crankline.record import filled

EVENT = datetime.date(2026, 5, 1)
INCH = 25.4


def told(car, rule, snapshot=None):
    outcome = fakes.checked(snapshot or fakes.snapshot(car), event_date=EVENT, today=EVENT)
    return [item for item in outcome.findings if item.rule == rule and item.state not in (State.PASSED, State.NOT_APPLICABLE)]


@pytest.mark.parametrize("material, bad", [("4130N", 0), ("1020_DOM", 0), ("6061-T6", 1), ("7075-T6", 1), ("Ti-6Al-4V", 1), ("carbon", 1)])
def test_rail_tabs_are_of_a_metal_that_is_welded_to_the_rails(material, bad):
    """Aluminum tabs on 4130 rails are a weld that cannot be made."""
    car = changed(fakes.automatic(), {"mounts.rail_tabs.material": material})
    shot = fakes.snapshot(car)
    shot = replace(shot, parts=(*shot.parts, fakes.view("rail/left", "chassis_tube", "chassis", welded=True)))
    found = told(car, "PRO-WELD", shot)
    assert len(found) == bad
    if bad:
        assert found[0].subjects == ("rail_tab/left_front",) and found[0].counts("error") and not found[0].waivable
        assert f"rail_tab/left_front of {material} is to be welded to rail of 4130N" in found[0].how


@pytest.mark.parametrize("first, second, good", [("4130N", "A36", True), ("6061-T6", "6061-T6", True), ("7075-T6", "7075-T6", False),
                                                 ("6061-T6", "4130N", False), ("carbon", "carbon", False),
                                                 ("Ti-6Al-4V", "Ti-6Al-4V", True), ("Ti-6Al-4V", "4130N", False)])
def test_metals_of_one_family_are_welded_where_the_catalog_says_that_they_are(first, second, good):
    assert stock._weldable(first, second) is stock._weldable(second, first) is good


FOIL = {"enclosure": ({"containment.enclosure.wall": 0.001 * INCH}, {"PRO-STOCK": "error", "PRO-ENCLOSURE-WALL": "warning"}),
        "protector of foil": ({"plates.protector.thickness": 0.5}, {"PRO-STOCK": "error", "PRO-PROTECTOR-SECTION": "advice"}),
        "no protector under an opening of 12 in": ({"plates.protector": None}, {"PRO-BLOCK-OPENING": "warning"}),
        "composite shaft of 0.2 mm": ({"driveshaft.wall": 0.2}, {"PRO-SHAFT-WALL": "advice", "PRO-STOCK": "error"}),
        "mid plate of 0.6 mm": ({"plates.mid.thickness": 0.6}, {"PRO-STOCK-OTHERS": "error"}),
        "rails of 0.2 mm": ({"chassis.rails.section.wall": 0.2}, {"PRO-STOCK-OTHERS": "error"}),
        "loop of carbon": ({"containment.loops[front].material": "carbon"}, {"PRO-LOOP-SECTION": "warning", "PRO-WELD": "error",
                                                                           "NHRA-LOOP-SECTION": "error"}),
        "enclosure of aluminum": ({"containment.enclosure.material": "6061-T6"}, {"PRO-ENCLOSURE-WALL": "warning", "PRO-WELD": "error"}),
        "steel of ten times its modulus": ({"driveshaft.material": "4130N", "driveshaft.axial_modulus": 2000e3,
                                            "driveshaft.shear_modulus": 77e3, "driveshaft.density": 7.833e-6},
                                           {"PRO-MATERIAL-METAL": "error"}),
        "carbon under the name of steel": ({"driveshaft.material": "4130N"}, {"PRO-MATERIAL-METAL": "error"}),
        "a limiter that is not the engine's": ({"engine.rpm_limit": 400.0}, {"PRO-OVERRIDE": "warning", "PRO-FINISH-SPEED": "warning"})}


@pytest.mark.parametrize("fault", FOIL)
def test_what_cannot_protect_anybody_is_told(fault):
    """Each of these had exit 0 and the findings of the sound car."""
    changes, wanted = FOIL[fault]
    car = changed(fakes.automatic(), changes)
    for rule, severity in wanted.items():
        assert not told(fakes.automatic(), rule), rule
        found = told(car, rule)
        assert found and {item.state for item in found} == {State.OPEN} and found[0].severity == severity, rule


def test_nothing_that_follows_from_a_departing_number_keeps_silent():
    """No rule passes on a modulus that is not the material's without saying so."""
    car = changed(fakes.clutch(), {"driveshaft.axial_modulus": 2000e3})
    for rule, says in (("DRV-CRITICAL", True), ("DRV-HALF-CRITICAL", True), ("DRV-TORSION", True)):
        for one, told_ in ((car, says), (fakes.clutch(), False)):
            outcome = fakes.checked(fakes.snapshot(one), event_date=EVENT, today=EVENT)
            found = [item for item in outcome.findings if item.rule == rule]
            assert found and all(("off the catalog's 4130N by axial modulus 900%" in item.how) is told_ for item in found), rule


def test_every_thickness_of_a_car_is_looked_at():
    """A thickness that the model gains is named here, or the quantity does not see it."""
    from crankline.record import entries
    tube = model.Tube(name="floor", section=model.Section(outer_diameter=25.0, wall=0.3), points=((0.0, 0.0, 0.0), (100.0, 0.0, 0.0)))
    found, = told(changed(fakes.automatic(), {"chassis.tubes": (tube,)}), "PRO-STOCK-OTHERS")
    assert found.subjects == ("tube/floor",) and found.severity == "error"
    seen = {one.path for car in (fakes.automatic(), fakes.clutch()) for one in stock.gauges(filled(car))}
    assert {"plates.mid.thickness", "containment.loops.front.section.wall", "containment.enclosure.mount_thickness",
            "chassis.upper_fore_aft.section.wall", "mounts.transmission.tube.wall", "containment.tunnel.thickness"} <= seen
    for path, record in (("plates.mid", model.MidPlate), ("plates.protector", model.Protector), ("mounts.rail_tabs", model.RailTabs),
                         ("containment.enclosure", model.Enclosure), ("containment.tunnel", model.Tunnel)):
        for name in entries(record):
            if name in ("thickness", "wall", "mount_thickness", "tab_thickness", "bracket_thickness"):
                assert f"{path}.{name}" in seen


@pytest.mark.parametrize("material, tube, inches", [("4130N", False, 0.032), ("A36", False, 0.032), ("6061-T6", False, 0.040),
                                                    ("2024-T3", False, 0.040), ("Ti-6Al-4V", False, 0.063), ("4130N", True, 0.049),
                                                    ("carbon", True, 0.060)])
def test_the_thinnest_stock_is_that_of_its_metals(material, tube, inches):
    assert stock.thinnest(material, tube) == pytest.approx(inches * INCH)
    assert material in catalog.names("materials")
