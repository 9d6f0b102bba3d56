"""Families of the catalogue's materials, as rules name them."""
from __future__ import annotations

FAMILIES = {
    "4130N": "alloy_steel", "4130N_tube": "alloy_steel", "1020_DOM": "carbon_steel", "A36": "carbon_steel",
    "6061-T6": "aluminium", "7075-T6": "aluminium", "2024-T3": "aluminium", "Ti-6Al-4V": "titanium", "carbon": "composite",
}
"""Material to family; a test holds it against the catalogue."""


def family(material: str) -> str | None:
    """alloy_steel, carbon_steel, aluminium, titanium or composite; None for a material that is not known."""
    return FAMILIES.get(material)
