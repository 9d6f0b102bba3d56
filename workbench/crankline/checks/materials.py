"""Families of the catalogue's materials, as rules name them."""
from __future__ import annotations

from .. import catalog
from ..record import entries

FAMILIES = tuple(entries(catalog.Material)["family"].choices)


def family(material: str) -> str | None:
    """alloy_steel, carbon_steel, aluminium, titanium or composite; None for a material that is not in the catalogue."""
    return catalog.material(material).family if material in catalog.names("materials") else None
