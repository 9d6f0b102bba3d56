"""The placement window in FreeCAD: Place Powertrain beside a chart of where the powertrain may go.

A click in the chart puts its two numbers into the panel, so that preview, read-out, rules, OK and Cancel are those of Place Powertrain. The
chart is worked out again when anything but these two numbers changes.
"""
from __future__ import annotations

import os
from dataclasses import dataclass, replace
from html import escape
from typing import Any

import FreeCADGui as Gui
from PySide import QtCore, QtGui

import crankline

from .. import placement_window, preferences, records
from ..record import choice, size, sparse
from ..rules.rule import SEVERITIES
from ..units import INCH, read_in
from . import window_words
from .chart_view import ChartView
from .dock_widgets import BesidePanel, push_button, put_beside
from .edit_panel import SETTLE, open_panel
from .handles import SNAP
from .place_panel import PlacePanel
from .record_form import FormError, RecordForm

TITLE = "Placement Window"
DEMO_RECORDS = os.path.join(crankline.ROOT, "demo_assemblies", "records")
ACROSS, UP = 121, 81
"""Placements along and up that are worked out."""
REACH = {"axle_to_block": 3.0 * INCH, "crank_height": 1.5 * INCH}
"""How far either way of the car's own placement the chart goes where nothing else is asked for."""
WIDTH = 440
"""Pixels of the dock: the view keeps the most of a small screen."""


@dataclass(frozen=True)
class Asked:
    """What the chart shows. What is not given is as far around the placement of the car."""
    closed_by: str = choice("least severity of an open rule that closes a placement", *SEVERITIES, required=True)
    axle_to_block_from: float = size("least axle-to-block that is shown")
    axle_to_block_to: float = size("largest axle-to-block that is shown")
    crank_height_from: float = size("least crank height that is shown")
    crank_height_to: float = size("largest crank height that is shown")


def show(layout) -> bool:
    """Open the panel for a layout; False (with a sentence) where it cannot be placed or another panel is open."""
    return open_panel(lambda: WindowPanel(layout), TITLE)


class WindowPanel(PlacePanel):
    """Task panel for the placement of one layout, with a dock that holds the chart as long as the panel is open."""

    def __init__(self, layout):
        super().__init__(layout, TITLE)
        place = self._car.placement
        self._around = {f"{name}_{end}": max(getattr(place, name) + sign * reach, INCH)
                        for name, reach in REACH.items() for end, sign in (("from", -1.0), ("to", 1.0))}
        self.collection = records.load(folders())
        self.dock = ChartDock(Gui.getMainWindow(), sparse(Asked, **self._around), self.system)
        self.dock.chart.clicked.connect(self._clicked)
        self.dock.chart.stepped.connect(self._stepped)
        self.dock.best.clicked.connect(lambda *_: self._best())
        self.dock.asked.changed.connect(lambda: self._charted.start(SETTLE))
        self.form.destroyed.connect(self.dock.leave)
        self.window: placement_window.Window | None = None
        self._worked_out: Any = None
        self._said: list[str] = []
        self._charted: Any = QtCore.QTimer(self.form)
        self._charted.setSingleShot(True)
        self._charted.timeout.connect(self._chart)
        self.dock.show()
        put_beside(Gui.getMainWindow(), self.dock, WIDTH)
        self.dock.raise_()
        self._chart()

    # --- the chart ----------------------------------------------------------------------------------------------------

    def _look(self) -> None:
        super()._look()
        if self._ready():
            self._chart()
            self._tell_point()

    def _follow(self) -> None:
        super()._follow()
        if self._ready():
            self._mark()

    def _ready(self) -> bool:
        """Whether the chart is there by now."""
        return hasattr(self, "_charted")

    def _chart(self) -> None:
        """Work the chart out again, where it is another one."""
        if self._shown is None:
            return
        car, scene = self._shown
        try:
            given = self.dock.asked.value()
        except FormError:
            return      # told beside its field
        asked = replace(given, **{name: value for name, value in self._around.items() if getattr(given, name) is None})
        wanted = asked, replace(car.placement, axle_to_block=0.0, crank_height=0.0)
        if wanted == self._worked_out:
            return
        self._worked_out, self.window = wanted, None
        try:
            if asked.axle_to_block_to <= asked.axle_to_block_from or asked.crank_height_to <= asked.crank_height_from:
                raise ValueError("The chart has no size: each \"to\" must be larger than its \"from\".")
            with read_in(self.system):
                self.window = window_words.grid(car, asked, (ACROSS, UP))
                self._said = self._said or window_words.suggested(car, scene, self.collection)
        except ValueError as error:
            self.dock.tell(escape(str(error)))
            self.dock.chart.show_figure(None)
            return
        figure = placement_window.figure(self.window, records=window_words.dots(self.collection), layer=0)
        figure.suptitle("")     # which car it is stands in the window
        self.dock.chart.show_figure(figure)
        self._mark()
        self._tell_point()

    def _mark(self) -> None:
        """Show in the chart the placement that is typed."""
        if self._shown is None or self.window is None:
            self.dock.chart.unmark()
            return
        car, _scene = self._shown
        place, (_unit, mm) = car.placement, placement_window.length_of(car)
        self.dock.chart.mark(0, place.axle_to_block / mm, place.crank_height / mm)

    def _tell_point(self) -> None:
        """Tell what there is to say of it."""
        if self._shown is None or self.window is None:
            return
        place = self._shown[0].placement
        with read_in(self.system):
            point = placement_window.at(self.window.judge, place.axle_to_block, place.crank_height)
            self.dock.tell(window_words.page(self.window, point, self._said))

    # --- what is chosen -----------------------------------------------------------------------------------------------

    def _clicked(self, _axes: int, right: float, up: float) -> None:
        (_unit, mm), step = placement_window.length_of(self._car), SNAP[self.system]
        self._choose(*(round(value * mm / step) * step for value in (right, up)))

    def _stepped(self, right: int, up: int) -> None:
        along, height, step = self._number("axle_to_block"), self._number("crank_height"), SNAP[self.system]
        if along is not None and height is not None:
            self._choose(along + right * step, height + up * step)

    def _best(self) -> None:
        """Choose the best placement of the window."""
        point = self.window.best() if self.window is not None else None
        if point is None:
            self._say("No placement in the chart is allowed; make the chart larger, or look at what closes it.")
            return
        self._choose(point.placement.axle_to_block, point.placement.crank_height)

    def _choose(self, axle_to_block: float, crank_height: float) -> None:
        """Put two numbers into the panel, but for one that a formula sets."""
        given = {"axle_to_block": axle_to_block, "crank_height": crank_height}
        self.fields.fill({name: value for name, value in given.items() if not self.fields.widget(name).isReadOnly()})

    def close(self) -> None:
        self._charted.stop()
        self.dock.leave()
        super().close()


def folders() -> tuple[str, ...]:
    """Folders of placement records: those that the environment names and the preferences' own; without any the invented demo records."""
    named = *records.of_environment(), *filter(None, (preferences.held().records,))
    return named or (DEMO_RECORDS,)


class ChartDock(BesidePanel):
    """The chart, what it shows, and what there is to say of the chosen placement."""

    def __init__(self, parent, asked: Asked, system: str):
        super().__init__(parent, TITLE, "CranklinePlacementChart")
        self.chart = ChartView("CranklineChart", "Placement window: axle-to-block across, crank height up; click a placement, or step by "
                                                 "the arrow keys")
        self.asked = RecordForm(Asked, sparse(Asked, closed_by="warning"), system, "CranklineChart", default=asked)
        self.best = push_button("&Best Placement", "BestPlacement", "Chooses the best allowed placement in the chart: away from its "
                                "border, with small and equal joint angles", lambda: None)
        self.told = QtGui.QTextBrowser()
        self.told.setObjectName("CranklineChartTold")
        self.told.setAccessibleName("What there is to say of the chosen placement")
        below = QtGui.QWidget()
        column = QtGui.QVBoxLayout(below)
        column.setContentsMargins(2, 2, 2, 2)
        for widget in (self.told, self.asked, self.best):
            column.addWidget(widget)
        self.hold(self.chart, below, sizes=(380, 220))

    def tell(self, html: str) -> None:
        """Show what there is to say."""
        self.told.setHtml(html)
