"""A matplotlib figure in the window: drawn by Agg into a picture of the widget's size, so that no canvas of the host's Qt is needed.

A click tells where in the figure's data it was; a mark, which moves without the figure being drawn again, shows what was chosen. matplotlib
is imported with the first figure.
"""
from __future__ import annotations

from typing import Any

from PySide import QtCore, QtGui

SETTLE = 150
"""ms after which a widget whose size changes is drawn again."""
DPI = 96.0
"""Pixels an inch in which a figure is drawn, so that 8 pt are read."""
SIZE = 8
"""Points of its lettering."""
MARK = 9
"""Pixels from the middle of the mark to its ring."""


class ChartView(QtGui.QWidget):
    """Shows one figure. ``clicked``: number of the axes (``gid``), and where in their data; ``stepped``: by how many steps right and up
    the arrow keys ask to go."""

    clicked = QtCore.Signal(int, float, float)
    stepped = QtCore.Signal(int, int)

    def __init__(self, name: str, told: str, parent=None):
        super().__init__(parent)
        self.setObjectName(name)
        self.setAccessibleName(told)
        self.setMinimumSize(260, 200)
        self.setSizePolicy(QtGui.QSizePolicy.Expanding, QtGui.QSizePolicy.Expanding)
        self.setFocusPolicy(QtCore.Qt.StrongFocus)
        self.setCursor(QtCore.Qt.CrossCursor)
        self._figure: Any = None
        self._canvas: Any = None
        self._legend: tuple[Any, list[str]] | None = None
        self._picture: Any = None
        self._mark: tuple[int, float, float] | None = None
        self._soon = QtCore.QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self._draw)

    def show_figure(self, figure: Any) -> None:
        """Show another figure, None for none."""
        self._figure, self._picture, self._canvas, self._legend = figure, None, None, None
        for axes in self._axes().values():
            for text in (axes.title, axes.xaxis.label, axes.yaxis.label, *axes.get_xticklabels(), *axes.get_yticklabels()):
                text.set_fontsize(SIZE)
        if figure is not None:
            from matplotlib.backends.backend_agg import FigureCanvasAgg
            self._canvas = FigureCanvasAgg(figure)
            for legend in figure.legends:
                handles = getattr(legend, "legend_handles", None) or legend.legendHandles   # named anew in matplotlib 3.7
                # A rule by its id: what it is called stands in the page beside the chart.
                self._legend = handles, [text.get_text().partition(":")[0] for text in legend.get_texts()]
        self._draw()

    def mark(self, axes: int, x: float, y: float) -> None:
        """Put the mark at a point of the data of the axes of a number."""
        self._mark = axes, x, y
        self.update()

    def unmark(self) -> None:
        """Show no mark."""
        self._mark = None
        self.update()

    def where(self, axes: int, x: float, y: float) -> QtCore.QPoint | None:
        """Where in the widget a point of the data is; None without such axes."""
        found = self._axes().get(axes)
        if found is None:
            return None
        right, up = found.transData.transform((x, y))
        ratio = self.devicePixelRatioF()
        return QtCore.QPoint(round(right / ratio), round(self.height() - up / ratio))

    def _axes(self) -> dict[int, Any]:
        """The axes that show data, by number."""
        if self._figure is None:
            return {}
        return {int(one.get_gid()): one for one in self._figure.axes if one.get_gid() is not None}

    def _draw(self) -> None:
        """Draw the figure in the size that the widget has."""
        if self._canvas is not None and self.width() > 0 and self.height() > 0:
            ratio = self.devicePixelRatioF()
            self._figure.set_dpi(DPI * ratio)
            self._figure.set_size_inches(self.width() / DPI, self.height() / DPI)
            self._arrange()
            self._canvas.draw()
            data, (wide, high) = bytes(self._canvas.buffer_rgba()), self._canvas.get_width_height()
            image = QtGui.QImage(data, wide, high, 4 * wide, QtGui.QImage.Format_RGBA8888).copy()   # it has no hold on the bytes
            image.setDevicePixelRatio(ratio)
            self._picture = image
        self.update()

    def _arrange(self) -> None:
        """Give the axes the room that the legend leaves: it is beside them in a wide widget, below them in a tall one."""
        if self._legend is None:
            return
        for legend in list(self._figure.legends):
            legend.remove()
        wide, high = self._figure.get_size_inches()
        beside = wide > high
        legend = self._figure.legend(*self._legend, loc="center right" if beside else "lower center", fontsize=SIZE, frameon=False)
        box = legend.get_window_extent(self._canvas.get_renderer())
        dpi = self._figure.dpi
        right, below = (min(box.width / dpi, 0.6 * wide), 0.0) if beside else (0.0, min(box.height / dpi, 0.5 * high))
        self._figure.subplots_adjust(left=0.55 / wide, right=1.0 - (right + 0.15) / wide,
                                     bottom=(below + 0.45) / high, top=1.0 - 0.3 / high)

    # --- the host's side: Qt calls these -------------------------------------------------------------------------------

    def resizeEvent(self, event) -> None:
        self._soon.start(SETTLE)
        super().resizeEvent(event)

    def paintEvent(self, _event) -> None:
        painter = QtGui.QPainter(self)
        if self._picture is not None:
            painter.drawImage(0, 0, self._picture)
        at = self.where(*self._mark) if self._mark is not None else None
        if at is not None:
            painter.setRenderHint(QtGui.QPainter.Antialiasing)
            for color, width in ((QtCore.Qt.white, 4), (QtCore.Qt.black, 2)):   # seen on any ground
                painter.setPen(QtGui.QPen(color, width))
                painter.drawEllipse(at, MARK, MARK)
                painter.drawLine(at.x() - 2 * MARK, at.y(), at.x() + 2 * MARK, at.y())
                painter.drawLine(at.x(), at.y() - 2 * MARK, at.x(), at.y() + 2 * MARK)
        if self.hasFocus():
            painter.setPen(QtGui.QPen(self.palette().highlight().color(), 2))
            painter.drawRect(self.rect().adjusted(1, 1, -1, -1))
        painter.end()

    def mousePressEvent(self, event) -> None:
        ratio, at = self.devicePixelRatioF(), event.pos()
        point = at.x() * ratio, (self.height() - at.y()) * ratio
        for number, axes in self._axes().items():
            if axes.bbox.contains(*point):
                x, y = axes.transData.inverted().transform(point)
                self.clicked.emit(number, float(x), float(y))
                return

    def keyPressEvent(self, event) -> None:
        steps = {QtCore.Qt.Key_Left: (-1, 0), QtCore.Qt.Key_Right: (1, 0), QtCore.Qt.Key_Down: (0, -1), QtCore.Qt.Key_Up: (0, 1)}
        if event.key() in steps:
            self.stepped.emit(*steps[event.key()])
        else:
            super().keyPressEvent(event)
