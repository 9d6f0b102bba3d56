"""The side view as a page of the host's TechDraw, for who wants to edit it: a view of the parts, our border and title block, and the
placement in words. From then on it is the user's: nothing of ours reads it or changes it.
"""
from __future__ import annotations

import os
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from ..features import read
from ..features.registry import declaration
from ..features.transaction import transaction
from ..model import TitleBlock
from ..record import filled
from ..replacing import replacing
from ..snapshot import Snapshot
from ..units import read_in
from . import sheet_format
from .drawing import PENS, Circle, Line, Polyline, Primitive, SheetError, Text
from .sheet_format import Box, Title
from .side_items import placement_rows

SIZE = "A3"
TEMPLATE = os.path.join("Crankline", "crankline-a3.svg")
"""Below the folder of the user's own data: the host looks for the file again when it recomputes."""
NAMESPACE = "http://www.freecadweb.org/wiki/index.php?title=Svg_Namespace"
"""The one under which every version of the host finds editable texts."""
FONT = "osifont, DejaVu Sans, sans-serif"
SIDE_MARGIN, TABLE = 12.0, 62.0
"""mm: around the view, and at the top for the placement in words."""


def make(layout, shot: Snapshot) -> Any:
    """Add the page to a layout's document as one undo step; the page. SheetError where TechDraw is missing or the car is not placed, or
    has a part in error."""
    try:
        import TechDraw  # noqa: F401 - its types are known to documents once it is imported
    except ImportError:
        raise SheetError("TechDraw is missing from this FreeCAD, so no page was made; install it, or export the sheets as PDF") from None
    if wrong := read.root_cause(shot.unsound):
        raise SheetError(f"the page was not made: {wrong}")
    if shot.scene is None:
        raise SheetError("the page was not made: the powertrain is not placed; correct the placement and recompute")
    document = layout.Document
    parts = [obj for obj in read.members(layout) if obj.TypeId == "Part::FeaturePython" and not obj.Shape.isNull()
             and not declaration(obj.Kind, obj.Key).reference]
    with transaction(document, "Drawing Page"):
        return _made(document, shot, parts)


def _made(document, shot: Snapshot, parts: list[Any]) -> Any:
    import FreeCAD as App
    boxes = [obj.Shape.BoundBox for obj in parts]
    low, high = min(box.XMin for box in boxes), max(box.XMax for box in boxes)
    bottom, top = min(box.ZMin for box in boxes), max(box.ZMax for box in boxes)
    space = sheet_format.drawing_space(SIZE)
    room = Box(space.x0 + SIDE_MARGIN, space.y0 + sheet_format.TITLE_HEIGHT + SIDE_MARGIN, space.x1 - SIDE_MARGIN, space.y1 - TABLE)
    scale = sheet_format.scale_for(high - low, top - bottom, room)
    by = filled(shot.car).title_block
    title = Title("Side view", sheet_format.subject(shot), "", f"1:{scale}", "mm" if shot.system == "mm" else "in", by)
    page = document.addObject("TechDraw::DrawPage", "CranklinePage")
    page.Label = f"Side view of {shot.car.car.name}"
    template = document.addObject("TechDraw::DrawSVGTemplate", "CranklineTemplate")
    template.Template = _template()   # the document keeps a copy of its own
    template.EditableTexts = {**template.EditableTexts, **{field_of(cell): cell.text or "-"
                                                           for cell in sheet_format.title_cells(title, space) if cell.letter}}
    page.Template = template
    view = document.addObject("TechDraw::DrawViewPart", "CranklineSideView")
    page.addView(view)
    view.Label = "Side view"
    view.Source = parts
    view.Direction, view.XDirection = App.Vector(0, -1, 0), App.Vector(1, 0, 0)
    view.CoarseView = True   # exact edges of bent and coped tubes take twenty seconds; uncheck it where they are wanted
    view.ScaleType, view.Scale = "Custom", 1.0 / scale
    view.X, view.Y = (room.x0 + room.x1) / 2.0, (room.y0 + room.y1) / 2.0
    note = document.addObject("TechDraw::DrawViewAnnotation", "CranklinePlacement")
    page.addView(note)
    note.Label = "Placement"
    with read_in(shot.system):
        note.Text = [f"{what}: {value}" for what, value, _other in placement_rows(shot)]
    note.TextSize, note.MaxWidth = 3.0, 160.0   # without a width 0.20 sets one letter a line
    note.X, note.Y = space.x0 + 90.0, space.y1 - TABLE / 2.0 - 4.0
    document.recompute()
    return page


def _template() -> str:
    """The file of the template, written where it is not as it should be."""
    import FreeCAD as App
    path, text = Path(App.getUserAppDataDir()) / TEMPLATE, template_text()
    if not path.is_file() or path.read_text(encoding="utf-8") != text:
        path.parent.mkdir(parents=True, exist_ok=True)
        with replacing(path) as temporary:
            temporary.write_text(text, encoding="utf-8")
    return str(path)


def field_of(cell: sheet_format.Cell) -> str:
    """What a field of the title block is called in the template."""
    return cell.caption.rstrip(".").replace(" ", "")


def template_text(size: str = SIZE) -> str:
    """Our border and title block as a TechDraw template: every field of the title block may be edited on the page."""
    width, height = sheet_format.size_of(size)
    space = sheet_format.drawing_space(size)
    fixed = [*sheet_format.border(size), *sheet_format.title_frame(space)]
    body = [_svg(item, height) for item in fixed]
    for cell in sheet_format.title_cells(Title("", "", "", "", "", TitleBlock()), space):
        body.append(_svg(Text(cell.x, cell.y + cell.height - 3.3, cell.caption, sheet_format.CAPTION), height))
        if cell.letter:
            body.append(_text(Text(cell.x, cell.y + 2.6, "-", cell.letter), height, field_of(cell)))
    lines = "\n".join(body)
    return (f'<?xml version="1.0" encoding="UTF-8"?>\n<svg xmlns="http://www.w3.org/2000/svg" xmlns:freecad="{NAMESPACE}" version="1.1" '
            f'width="{width:g}mm" height="{height:g}mm" viewBox="0 0 {width:g} {height:g}">\n<g>\n{lines}\n</g>\n</svg>\n')


def _svg(item: Primitive, height: float) -> str:
    """A primitive as an SVG element; y runs down there."""
    if isinstance(item, Text):
        return _text(item, height)
    style = f'fill="none" stroke="#000000" stroke-width="{PENS[item.kind].width:g}"'
    if dashes := PENS[item.kind].dashes:
        style += f' stroke-dasharray="{" ".join(f"{dash:g}" for dash in dashes)}"'
    if isinstance(item, Line):
        return f'<path d="M {item.x0:.3f} {height - item.y0:.3f} L {item.x1:.3f} {height - item.y1:.3f}" {style}/>'
    if isinstance(item, Circle):
        return f'<circle cx="{item.x:.3f}" cy="{height - item.y:.3f}" r="{item.radius:.3f}" {style}/>'
    if isinstance(item, Polyline):
        points = " L ".join(f"{x:.3f} {height - y:.3f}" for x, y in item.points)
        return f'<path d="M {points}{" Z" if item.closed else ""}" {style}/>'
    raise SheetError(f"a template holds no {type(item).__name__}; please report this")


def _text(item: Text, height: float, field: str = "") -> str:
    """A text; with a field it may be edited on the page. The size of letters is that of a capital, 0.7 of what a font is called."""
    editable = f' freecad:editable="{escape(field)}"' if field else ""
    return (f'<text x="{item.x:.3f}" y="{height - item.y:.3f}" style="font-size:{item.height / 0.7:.2f}px;font-family:{FONT};'
            f'fill:#000000"{editable}><tspan x="{item.x:.3f}" y="{height - item.y:.3f}">{escape(item.text)}</tspan></text>')
