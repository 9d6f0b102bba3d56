"""Every row of published rules and limits that was collected is a rule here, or stands on the list of what no rule looks at."""
from __future__ import annotations

import pytest

from crankline import checks  # which registers the quantities that rules name
from crankline.rules import rule_sets

assert checks.quantities
SETS = [rule_sets.read(f"{rule_sets.FOLDER}/{name}.yaml") for name in rule_sets.available()]
RULES = {rule.id for item in SETS for rule in item.rules}
NOT_COVERED = [about for item in SETS for about, _clause in item.not_covered]

WHERE = {
    # Loops and enclosures.
    "strap and tube of the loop, NHRA": "NHRA-LOOP-SECTION", "strap and tube of the loop, ANDRA": "ANDRA-LOOP-SECTION",
    "closed all around": "NHRA-LOOP-CLOSED", "within 6 in of the front joint, NHRA": "NHRA-LOOP-PLACE",
    "within 6 in behind the front joint, ANDRA": "ANDRA-LOOP-PLACE", "securely mounted": "NHRA-LOOP-MOUNTED",
    "loop by elapsed time": "NHRA-CHART-LOOP", "enclosed where it passes the driver, NHRA": "NHRA-ENCLOSURE-FULL",
    "wall of that enclosure, NHRA": "NHRA-ENCLOSURE-WALL", "fixed to the frame": "NHRA-ENCLOSURE-FIXED",
    "wall of that enclosure, ANDRA": "ANDRA-ENCLOSURE-WALL", "12 in of it, ANDRA": "ANDRA-ENCLOSURE-LENGTH",
    "shield over the joints": "NHRA-JOINT-SHIELD", "loop on all cars of a class": "classes in which every car needs a loop",
    "gap of a removable tunnel": "removable tunnel",
    # Papers.
    "flexplate 29.1": "NHRA-SFI-FLEXPLATE", "flexplate shield 30.1": "NHRA-SFI-FLEXPLATE-SHIELD", "4.1": "NHRA-SFI-TRANSMISSION",
    "clutch 1.1, 1.2": "NHRA-SFI-CLUTCH", "bellhousing 6.1, 6.2": "NHRA-SFI-BELLHOUSING", "bellhousing, IHRA": "IHRA-BELLHOUSING",
    "damper 18.1": "NHRA-SFI-DAMPER", "transmission shield, ANDRA": "ANDRA-TRANSMISSION-SHIELD",
    "fabricated transmission shield": "fabricated transmission shield", "rotary engines": "rotary engine",
    "damper and pulley of steel": "material of crank damper", "reverse lockout": "reverse lockout", "neutral start": "neutral start",
    # Plates.
    "motor plate 1/4 in, top classes": "IHRA-TOP-PLATE", "four corners": "IHRA-TOP-MOUNTS", "bolts of the corners": "IHRA-TOP-MOUNT-BOLTS",
    "bolts above the crank": "IHRA-TOP-BOLTS-ABOVE", "bolts below the crank": "IHRA-TOP-BOLTS-BELOW", "shoulder bolts": "shoulder bolts",
    "liner": "clutch liner", "crank opening, top classes": "IHRA-TOP-OPENING", "crank opening, others": "IHRA-PLATE-OPENING",
    "plate for 6.1": "IHRA-PLATE-61", "plate for 6.3": "IHRA-PLATE-63", "bolts below, others": "IHRA-PLATE-BOLTS",
    "grade of bolts": "grade of the bolts", "starter opening": "IHRA-PLATE-STARTER", "fabricated clutch shield": "fabricated clutch shield",
    # Engine place.
    "crank height, NHRA": "NHRA-CRANK-HEIGHT", "crank height, ANDRA": "ANDRA-CRANK-HEIGHT",
    "trucks, junior cars": "crank height of production",
    "setback, door cars": "SETBACK-DOOR", "setback, altereds": "SETBACK-OPEN", "production location": "engine in the production location",
    "on the car's centerline": "engine on the car's centerline",
    # Ground, wheelbase, ballast, liquids.
    "3 in front": "GND-FRONT", "2 in rest": "GND-REST", "left and right wheelbase": "left and right wheelbase",
    "wheelbase": "ANDRA-WHEELBASE",
    "front overhang": "front overhang", "ballast": "ballast", "liquids": "liquids behind the firewall", "batteries": "batteries",
    "bulkheads": "firewall and bulkheads", "catch can": "catch can", "fuel": "fuel blocks and lines", "traction bars": "IHRA-TRACTION-BARS",
    "rod ends of ladder bars": "ladder bar front rod ends", "belly pan": "belly pan", "axles": "axle retention",
    # Driveshaft.
    "1/2 degree": "DRV-ANGLE-LEAST", "1 degree": "REF-ANGLE-ONE", "equal within 1 degree": "DRV-ANGLE-EQUAL",
    "3 degrees": "DRV-ANGLE-SMOOTH",
    "several pieces": "more than one piece", "length over 5": "REF-ANGLE-LENGTH", "6 degrees": "REF-ANGLE-SIX",
    "1.5 degrees apart": "REF-ANGLE-DIFFERENCE", "400 rad/s2": "DRV-RESIDUAL", "1000 rad/s2": "DRV-ANGLE-SPEED",
    "nonuniformity 0.0027": "REF-NONUNIFORMITY", "speed times angle": "DRV-ANGLE-SPEED", "life": "life of the U-joint",
    "couples on supports": "side loads of the U-joints", "whirl": "DRV-CRITICAL", "half of it": "DRV-HALF-CRITICAL",
    "torsion": "DRV-TORSION",
    "slip": "DRV-SLIP-BOTTOM", "spline": "DRV-SLIP-ENGAGED", "series": "DRV-JOINT-TORQUE", "broken": "broken driveshaft",
}
"""What a published rule or limit asks, to the rule that looks at it or to words of the line that says that none does."""


@pytest.mark.parametrize("asked", WHERE)
def test_what_is_regulated_is_a_rule_or_is_said_not_to_be_looked_at(asked):
    where = WHERE[asked]
    assert where in RULES if where.isupper() or where[:4].isupper() else any(where in about for about in NOT_COVERED), where


def test_what_is_said_not_to_be_looked_at_names_where_it_stands_once():
    lines = [(about, clause) for item in SETS for about, clause in item.not_covered]
    assert len(dict(lines)) == len(lines) and all(about and clause for about, clause in lines)
    assert all(any(where in about for where in WHERE.values()) for about in dict(lines)), "a line that the table above does not know"
