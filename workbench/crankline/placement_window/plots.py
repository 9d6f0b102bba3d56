"""A window as a picture, by matplotlib, which is imported at first use: allowed region, what closes the rest, and where the car is."""
from __future__ import annotations

import io
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np

from .cells import State, length_of
from .point import Point
from .window import Window

if TYPE_CHECKING:
    from matplotlib.figure import Figure

FORMS = ("png", "svg", "pdf")
ALLOWED, CLOSED, UNKNOWN = "#cfe8cf", ("#e9b4ae", "#f2d3a8", "#f3ecc4"), "#dddddd"
"""Colors of what is allowed, of what an error, a warning or advice closes, and of what could not be told."""
DASHES = ("-", "--", "-.", ":")
LINES = ("#8a1f11", "#1f4e8a", "#5a3d7a", "#7a5a00", "#005f5f", "#444444")
"""Colors of the rules' lines; dashes tell them apart without color."""


def figure(window: Window, chosen: Point | None = None, records: Iterable[tuple[float, float, str]] = (), layer: int | None = None,
           best: Point | None = None) -> Figure:
    """A picture of the window; see the package. best: the best placement, marked by a star."""
    from matplotlib.figure import Figure
    layers = range(window.shape[2]) if layer is None else (layer,)
    made = Figure(figsize=(max(7.5, 4.6 * len(layers)), 6.6))
    drawn = made.subplots(1, len(layers), squeeze=False, sharey=True)[0]
    dots, names = tuple(records), dict[str, Any]()
    # A rule has one line in all of them.
    ruled = dict.fromkeys(row for number in layers for row in binding(window, number))
    lines = {row: (LINES[n % len(LINES)], DASHES[n % len(DASHES)]) for n, row in enumerate(ruled)}
    for axes, number in zip(drawn, layers):
        axes.set_gid(str(number))
        names.update(_layer(axes, window, number, lines, chosen, dots, best))
        axes.set_title(f"pitch {window.layer_name(number)}", fontsize=10)
    unit, _size = length_of(window.judge.car)
    for axes in drawn:
        axes.set_xlabel(f"axle-to-block, {unit}")
    drawn[0].set_ylabel(f"crank height at {window.judge.car.placement.height_at.replace('_', ' ')}, {unit}")
    made.suptitle(str(window.car.car.name), fontsize=11)
    names = dict(sorted(names.items(), key=lambda item: item[1].get_zorder()))
    columns = 2 if len(layers) > 1 else 1
    rows = -(-len(names) // columns)
    made.subplots_adjust(left=0.65 / made.get_figwidth(), right=1.0 - 0.3 / made.get_figwidth(), top=0.89, wspace=0.06,
                         bottom=(0.75 + 0.185 * rows) / made.get_figheight())
    made.legend(list(names.values()), list(names), loc="lower center", ncol=columns, fontsize=8, frameon=False)
    return made


def _layer(axes: Any, window: Window, layer: int, lines: dict[int, tuple[str, str]], chosen: Point | None,
           dots: Iterable[tuple[float, float, str]], best: Point | None) -> dict[str, Any]:
    """Draw one pitch; what its legend says."""
    from matplotlib.colors import ListedColormap
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch
    _unit, size = length_of(window.judge.car)
    x, z = window.x / size, window.z / size
    shade = np.zeros(window.shape[:2])
    told = np.zeros(window.shape[:2], dtype=bool)
    severities = ("error", "warning", "advice")
    for row in window.counting:
        states, severity = window.states(row)[:, :, layer], severities.index(window.claims[row].rule.severity)
        told |= states == State.NOT_EVALUATED
        shade = np.where((states == State.OPEN) & ((shade == 0) | (shade > severity + 1)), severity + 1, shade)
    shade = np.where(~window.solved[:, :, layer] | (told & (shade == 0)), 4, shade)
    axes.pcolormesh(x, z, shade.T, cmap=ListedColormap([ALLOWED, *CLOSED, UNKNOWN]), vmin=-0.5, vmax=4.5, shading="nearest",
                    rasterized=True)
    missing = ", ".join(window.claims[row].rule.id for row in window.nowhere)
    names: dict[str, Any] = {f"allowed but for {missing}" if missing else "allowed": Patch(facecolor=ALLOWED)}
    labels = (*(f"closed by {'an' if name == severities[0] else 'a'} {name}" if name != "advice" else "closed by advice"
                for name in severities), "not evaluated")
    for number, (label, color) in enumerate(zip(labels, (*CLOSED, UNKNOWN)), 1):
        if (shade == number).any():
            names[label] = Patch(facecolor=color)
    for row in binding(window, layer):
        states, margin = window.states(row)[:, :, layer], window.margins(row)[:, :, layer]
        color, dash = lines[row]
        if min(states.shape) > 1 and (states == State.OPEN).any() and not (states == State.OPEN).all():
            # Where the margin is 0; of a rule that does not apply or is not told everywhere, between the last cell that holds and the next.
            told_all = np.isin(states, (State.HOLDS, State.OPEN)).all() and np.isfinite(margin).all()
            drawn = -margin if told_all else (states == State.OPEN).astype(float)
            axes.contour(x, z, drawn.T, levels=[0.0 if told_all else 0.5], linewidths=1.2, colors=[color], linestyles=[dash])
        rule = window.claims[row].rule
        names[f"{rule.id}: {rule.title}"] = Line2D([], [], color=color, linestyle=dash, linewidth=1.2)
    place = window.judge.car.placement
    marks: list[tuple[str, float, float, dict]] = [("as the car file has it", place.axle_to_block, place.crank_height,
                                                    dict(marker="D", markerfacecolor="white", markersize=6))]
    if best is not None and _in(best, window, layer):
        marks.append(("best by the weights", best.x, best.z, dict(marker="*", markersize=12)))
    if chosen is not None and _in(chosen, window, layer):
        marks.append(("chosen", chosen.x, chosen.z, dict(marker="+", markersize=12, markeredgewidth=2.0)))
    for label, at_x, at_z, style in marks:
        names[label] = axes.plot([at_x / size], [at_z / size], linestyle="none", color="black", zorder=5, **style)[0]
    for label in sorted({label for _x, _z, label in dots}):
        points = [(at_x / size, at_z / size) for at_x, at_z, name in dots if name == label]
        names[label] = axes.plot(*zip(*points), linestyle="none", marker="o", markersize=3.5, markerfacecolor="none", color="#333333",
                                 zorder=4)[0]
    axes.set_xlim(x[0], x[-1]) if len(x) > 1 else None
    axes.set_ylim(z[0], z[-1]) if len(z) > 1 else None
    axes.grid(True, linewidth=0.3, alpha=0.6)
    return names


def _in(point: Point, window: Window, layer: int) -> bool:
    return isinstance(window.pitches, str) or abs(point.angle - window.pitches[layer]) < 1e-9


def binding(window: Window, layer: int) -> tuple[int, ...]:
    """Numbers of the rules that bind somewhere on the region of a pitch, or, where nothing is allowed, of those that close most of it; at
    most six, the longest first."""
    rows = {claim.rule.id: row for row, claim in enumerate(window.claims)}
    shares: dict[str, float] = {}
    for edge in window.edges(layer):
        if edge.rule:
            shares[edge.rule] = shares.get(edge.rule, 0.0) + edge.share
    if not shares:
        shares = {window.claims[row].rule.id: float((window.states(row)[:, :, layer] == State.OPEN).mean()) for row in window.counting}
    named = sorted((rule for rule, share in shares.items() if share > 0.0), key=lambda rule: (-shares[rule], rule))
    return tuple(rows[rule] for rule in named[:6])


def image(made: Figure, form: str) -> bytes:
    """The picture as PNG, SVG or PDF, the same bytes for the same picture: no date and no names of the day in it."""
    import matplotlib
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    FigureCanvasAgg(made)
    out = io.BytesIO()
    date = {"png": {"Software": None}, "svg": {"Date": None}, "pdf": {"CreationDate": None, "Producer": None, "Creator": None}}[form]
    with matplotlib.rc_context({"svg.hashsalt": "crankline", "svg.fonttype": "path", "pdf.compression": 6}):
        made.savefig(out, format=form, dpi=130, metadata=date)
    return out.getvalue()
