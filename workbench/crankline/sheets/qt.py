"""Renders sheets with the host's Qt: PDF, SVG and PNG, in a window and without a screen.

The drawing model says everything; here is only paint. Lettering: the font that comes with the host, else DejaVu Sans, else
what the system gives; letters that run wider than the model allows are condensed, so a font can never make texts overlap.
"""
from __future__ import annotations

import math
import os
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from ..replacing import replacing
from ..units import INCH
from .drawing import PENS, Arc, Circle, Line, Polyline, Primitive, Sheet, SheetError, Text
from .pdf_bytes import reproducible

DOTS_PER_INCH = 1200
"""Resolution of the PDF's coordinates."""
PNG_DOTS_PER_INCH = 150
FONTS = ("osifont", "DejaVu Sans")
_EM = 200
"""Pixel size at which fonts are asked for; the painter scales them, because fonts come in whole pixels only."""

_application = None


@lru_cache(maxsize=1)
def _modules():
    """The host's Qt modules; kept, since its importer looks long at each import inside of a function."""
    from PySide import QtCore, QtGui
    return QtCore, QtGui


def _qt():
    """The host's Qt modules with a GUI application behind them: the running one, else one without a screen."""
    global _application
    try:
        QtCore, QtGui = _modules()
    except ImportError:
        raise SheetError("PySide (Qt for Python) is missing; it comes with FreeCAD, run this inside FreeCAD or FreeCADCmd") from None
    running = QtCore.QCoreApplication.instance()
    if running is None:
        # Only the application made here is sent off screen; what we start later keeps its own platform.
        before = os.environ.get("QT_QPA_PLATFORM")
        os.environ["QT_QPA_PLATFORM"] = "offscreen"
        try:
            _application = QtGui.QGuiApplication(["crankline"])
        finally:
            if before is None:
                del os.environ["QT_QPA_PLATFORM"]
            else:
                os.environ["QT_QPA_PLATFORM"] = before
    elif not running.inherits("QGuiApplication"):
        raise SheetError("a Qt application without fonts is running in this process; draw the sheets before it is made, or in FreeCAD")
    return QtCore, QtGui


@lru_cache(maxsize=1)
def _family() -> str:
    """The first lettering font that is there."""
    _, QtGui = _qt()
    try:
        import FreeCAD
        file = os.path.join(FreeCAD.getResourceDir(), "Mod", "TechDraw", "Resources", "fonts", "osifont-lgpl3fe.ttf")
        if os.path.isfile(file):
            QtGui.QFontDatabase.addApplicationFont(file)
    except ImportError:
        pass
    for family in FONTS:
        if QtGui.QFontInfo(QtGui.QFont(family)).family() == family:
            return family
    return QtGui.QFont().family()


def render(sheet: Sheet, path: str | Path) -> Path:
    """Write one sheet; the suffix decides: .pdf, .svg or .png. Returns the path; SheetError if it cannot be written."""
    path = Path(path)
    makers = {".pdf": lambda to: _pdf([sheet], to), ".svg": lambda to: _svg(sheet, to), ".png": lambda to: _png(sheet, to)}
    if path.suffix.lower() not in makers:
        raise SheetError(f"{path.name}: found the suffix {path.suffix!r}; use one of {', '.join(makers)}")
    return _replaced(path, makers[path.suffix.lower()])


def render_pages(sheets: Sequence[Sheet], folder: str | Path, stem: str, form: str) -> list[Path]:
    """Write the pages of a book; the paths: ``stem.pdf`` holds all of them; of ``svg`` and ``png`` each page is a file, numbered where
    there are several."""
    folder = Path(folder)
    if form == "pdf":
        return [render_book(sheets, folder / f"{stem}.pdf")]
    numbers = [""] if len(sheets) == 1 else [f"-{number}" for number in range(1, len(sheets) + 1)]
    return [render(sheet, folder / f"{stem}{number}.{form}") for sheet, number in zip(sheets, numbers)]


def render_book(sheets: Sequence[Sheet], path: str | Path) -> Path:
    """Write several sheets as the pages of one PDF, each in its own size."""
    if not sheets:
        raise SheetError("a book of sheets needs at least one sheet")
    return _replaced(Path(path), lambda to: _pdf(list(sheets), to))


def _replaced(path: Path, make) -> Path:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with replacing(path) as temporary:
            make(temporary)
            if not temporary.is_file() or temporary.stat().st_size == 0:
                raise SheetError(f"{path}: nothing was written; check that the folder is writable and the disk has room")
    except OSError as error:
        raise SheetError(f"{path}: {error.strerror or error}; choose a writable folder") from None
    return path


# ----------------------------------------------------------------------------------------------------------- devices

def _pdf(sheets: list[Sheet], path: Path) -> None:
    QtCore, QtGui = _qt()
    writer = QtGui.QPdfWriter(str(path))
    writer.setResolution(DOTS_PER_INCH)
    writer.setTitle(sheets[0].title)
    writer.setCreator("Crankline")
    painter, begun = QtGui.QPainter(), False
    for sheet in sheets:
        writer.setPageLayout(_page(sheet))
        if not begun:
            begun = True
            if not painter.begin(writer):
                raise SheetError(f"{path.name}: the PDF could not be opened for writing; choose another folder")
        else:
            writer.newPage()
        _paint(painter, sheet, DOTS_PER_INCH / INCH)
    painter.end()
    del painter, writer                     # the file is complete only then
    path.write_bytes(reproducible(path.read_bytes(), [(sheet.width, sheet.height) for sheet in sheets]))


def _page(sheet: Sheet):
    QtCore, QtGui = _qt()
    # Given as width and height: a lying page stays lying in every version, and no reader turns it.
    size = QtGui.QPageSize(QtCore.QSizeF(sheet.width, sheet.height), QtGui.QPageSize.Millimeter, "", QtGui.QPageSize.ExactMatch)
    return QtGui.QPageLayout(size, QtGui.QPageLayout.Portrait, QtCore.QMarginsF(0.0, 0.0, 0.0, 0.0))


def _svg(sheet: Sheet, path: Path) -> None:
    QtCore, QtGui = _qt()
    from PySide import QtSvg
    dots = 254.0                            # ten units a millimeter
    generator = QtSvg.QSvgGenerator()
    generator.setFileName(str(path))
    generator.setResolution(int(dots))
    generator.setSize(QtCore.QSize(round(sheet.width * 10), round(sheet.height * 10)))
    generator.setViewBox(QtCore.QRectF(0.0, 0.0, sheet.width * 10, sheet.height * 10))
    generator.setTitle(sheet.title)
    generator.setDescription("")
    painter = QtGui.QPainter()
    if not painter.begin(generator):
        raise SheetError(f"{path.name}: the SVG could not be opened for writing; choose another folder")
    _paint(painter, sheet, dots / INCH)
    painter.end()


def _png(sheet: Sheet, path: Path) -> None:
    QtCore, QtGui = _qt()
    dots = PNG_DOTS_PER_INCH / INCH
    image = QtGui.QImage(round(sheet.width * dots), round(sheet.height * dots), QtGui.QImage.Format_RGB32)
    image.fill(0xFFFFFFFF)
    image.setDotsPerMeterX(round(dots * 1000))
    image.setDotsPerMeterY(round(dots * 1000))
    painter = QtGui.QPainter(image)
    painter.setRenderHints(QtGui.QPainter.Antialiasing | QtGui.QPainter.TextAntialiasing)
    _paint(painter, replace(sheet, items=tuple(_struck_again(sheet))), dots)
    painter.end()
    if not image.save(str(path)):
        raise SheetError(f"{path.name}: the picture could not be written; choose another folder")


STRIKE = 0.07
"""Shift of what is struck again, in heights of a capital."""


def _struck_again(sheet: Sheet) -> Iterator[Primitive]:
    """The items, bold texts a second time beside themselves: the host makes letters of this size no bolder in a picture of dots."""
    for item in sheet.items:
        yield item
        if isinstance(item, Text) and item.bold:
            shift = STRIKE * item.height
            yield replace(item, y=item.y + shift) if item.turned else replace(item, x=item.x + shift)


# ------------------------------------------------------------------------------------------------------------- paint

def _paint(painter, sheet: Sheet, dots: float) -> None:
    """Draw a sheet on a device with so many dots a millimeter."""
    QtCore, QtGui = _qt()
    point = QtCore.QPointF
    painter.save()
    painter.scale(dots, dots)
    painter.translate(0.0, sheet.height)    # y of the model runs up; every y below is turned over
    pens = {kind: _pen(QtCore, QtGui, pen) for kind, pen in PENS.items()}
    fills = {"": QtGui.QBrush(QtCore.Qt.NoBrush), "black": QtGui.QBrush(QtGui.QColor(0, 0, 0)),
             "white": QtGui.QBrush(QtGui.QColor(255, 255, 255))}
    lettering = {bold: _font(bold) for bold in (False, True)}
    pen = brush = None                      # each change of them costs as much as a line
    for item in sheet.items:
        if isinstance(item, Text):
            _letter(painter, item, lettering[item.bold], QtCore)
            continue
        if item.kind != pen:
            pen = item.kind
            painter.setPen(pens[pen])
        if (fill := getattr(item, "fill", "")) != brush:
            brush = fill
            painter.setBrush(fills[brush])
        if isinstance(item, Line):
            painter.drawLine(point(item.x0, -item.y0), point(item.x1, -item.y1))
        elif isinstance(item, Circle):
            painter.drawEllipse(point(item.x, -item.y), item.radius, item.radius)
        elif isinstance(item, Polyline):
            chain = QtGui.QPolygonF([point(x, -y) for x, y in item.points])
            painter.drawPolygon(chain) if item.closed else painter.drawPolyline(chain)
        elif isinstance(item, Arc):
            path = QtGui.QPainterPath()
            box = QtCore.QRectF(item.x - item.radius, -item.y - item.radius, 2.0 * item.radius, 2.0 * item.radius)
            path.arcMoveTo(box, math.degrees(item.start))
            path.arcTo(box, math.degrees(item.start), math.degrees(item.sweep))
            painter.drawPath(path)
    painter.restore()


def _pen(QtCore, QtGui, pen):
    gray = round(255 * pen.shade)
    drawn = QtGui.QPen(QtGui.QColor(gray, gray, gray))
    drawn.setWidthF(pen.width)
    drawn.setCapStyle(QtCore.Qt.FlatCap if pen.dashes else QtCore.Qt.RoundCap)
    drawn.setJoinStyle(QtCore.Qt.MiterJoin)
    if pen.dashes:
        drawn.setDashPattern([length / pen.width for length in pen.dashes])
    return drawn


def _font(bold: bool):
    """The lettering font, its metrics, and the height of its capitals."""
    _, QtGui = _qt()
    font = QtGui.QFont(_family())
    font.setPixelSize(_EM)
    font.setKerning(False)
    font.setBold(bold)
    metrics = QtGui.QFontMetricsF(font)
    return font, metrics, metrics.capHeight()


def _letter(painter, text: Text, lettering, QtCore) -> None:
    """Draw a text with its capitals at the model's height, condensed to the model's width where it runs wider; lettering: of ``_font``."""
    font, metrics, capital = lettering
    scale = text.height / capital
    natural = metrics.horizontalAdvance(text.text) * scale
    condensed = min(1.0, text.width / natural) if natural else 1.0
    back = {"left": 0.0, "middle": 0.5, "right": 1.0}[text.anchor] * natural * condensed
    painter.save()
    painter.setFont(font)
    painter.setPen(QtCore.Qt.black)
    painter.translate(text.x, -text.y)
    if text.turned:
        painter.rotate(-90.0)
    painter.translate(-back, 0.0)
    painter.scale(scale * condensed, scale)
    painter.drawText(QtCore.QPointF(0.0, 0.0), text.text)
    painter.restore()
