"""Tables of a shop's own catalog, made of our rows."""
import os

from crankline import catalog

ABOUT = "{source: rig sheet 12, date: 2026-05-04, basis: measured, "
TUBE = "catalog: 1\nrows:\n  1.5x0.109: " + ABOUT + "outer_diameter: 1.5 in, wall: 0.109 in}\n"


def engine(name="shop_iron", of="demo_short_deck_iron", **changed):
    """An engine table with one row like one of ours."""
    with open(os.path.join(catalog.FOLDER, "engines.yaml"), encoding="utf-8") as stream:
        row = stream.read().split(f"  {of}:\n")[1].split("\n\n")[0]
    row = row.replace("basis: invented", "basis: measured\n    date: 2026-05-04")
    for old, new in changed.items():
        row = "\n".join(f"    {old}: {new}" if line.startswith(f"    {old}:") else line for line in row.split("\n") if line)
    return f"catalog: 1\nrows:\n  {name}:\n{row}\n"
