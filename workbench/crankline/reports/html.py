"""The report as one HTML file: counts, rule sets, and each finding with a small side view of its place.

Made from the report alone, so that whoever has ``report.json`` has the page. The shape of a mark tells how grave a finding
is (triangle, diamond, circle), not its color alone.
"""
from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from html import escape
from typing import Any

from .. import units
from .wording import NOT_COVERED, about, basis, limit, measured, number, sentence

WIDTH, MARGIN = 520.0, 18.0
DETAIL, GAP = 180.0, 10.0
"""Side of the detail beside the view, and the gap between them, px."""

CLOSE, ROOM = 0.12, 90.0
"""A finding whose points lie within this share of the car's length gets a detail; mm around its points that this shows at least."""

RULES = {"mm": (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0), "in": (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0)}
"""Lengths of the bar that tells the scale of a detail, in the units of the car."""

ORDER = {"open": 0, "waiver-void": 0, "not-evaluated": 1, "waived": 2, "passed": 3, "not-applicable": 4}
GRAVE = {"error": 0, "warning": 1, "advice": 2}
GLYPHS = {"error": "M0,-8 L8,7 L-8,7 Z", "warning": "M0,-8 L8,0 L0,8 L-8,0 Z", "advice": "M-7,0 A7,7 0 1 0 7,0 A7,7 0 1 0 -7,0 Z"}
SYMBOLS = {"error": "▲", "warning": "◆", "advice": "●"}

CAUTION = ("Plates, loops and shields protect people. This report is a screening check by the rules listed below, not an approval: the "
           "current rule book of the sanctioning body, its chassis inspector and a qualified welder decide.")

STYLE = """body{font:15px/1.45 sans-serif;margin:2em auto;max-width:60em;padding:0 1em;color:#1b1f24;background:#fff}
h1{font-size:1.5em;margin-bottom:.2em}h2{font-size:1.15em;margin-top:1.8em}table{border-collapse:collapse;width:100%}
td,th{border-bottom:1px solid #cfd4da;padding:.3em .6em;text-align:left;vertical-align:top}
td.number{white-space:nowrap;text-align:right}
.finding{border:1px solid #cfd4da;
border-left-width:6px;padding:.6em 1em;margin:1em 0}.error{border-left-color:#b35900}.warning{border-left-color:#7a5cb0}
.advice{border-left-color:#1f6fb2}.quiet{color:#59636e}.note{background:#f2f4f6;padding:.6em 1em}svg{max-width:100%;height:auto;
background:#fafbfc;border:1px solid #e3e7eb}
summary{cursor:pointer}
@media print{@page{margin:12mm}body{font-size:9.5pt;line-height:1.3;margin:0;max-width:none;padding:0}h2{margin:.8em 0 .3em}
.finding{break-inside:avoid;padding:.3em .7em;margin:.5em 0}.finding p{margin:.25em 0}svg{max-height:40mm;width:auto}tr{break-inside:avoid}
td,th{padding:.15em .5em}.quiet,.note{color:#000;background:none}}"""
"""On paper a finding is not broken over two pages, and what is closed on the screen is a line: the rows that passed are in the file."""


def text(report: Mapping[str, Any]) -> str:
    """The page."""
    shown = [item for item in report["findings"] if item["state"] not in ("passed", "not-applicable")]
    shown.sort(key=lambda item: (ORDER[item["state"]], GRAVE[item["severity"]], item["rule"], item["subjects"], item["discriminator"]))
    quiet = [item for item in report["findings"] if item["state"] in ("passed", "not-applicable")]
    system = report["car"]["units"]
    return "\n".join([
        '<!DOCTYPE html>', '<html lang="en"><head><meta charset="utf-8">', f"<title>{_e(report['car']['name'])}: findings</title>",
        f"<style>{STYLE}</style></head><body>", *_head(report), "<h2>Findings</h2>",
        *([_finding(item, report) for item in shown] or ["<p>No open findings.</p>"]),
        "<h2>Passed, and not applicable</h2>", "<details>",
        f"<summary>{_e(', '.join(_counted(quiet)) or 'none')}; open this line for the table</summary>",
        _table(("state", "rule", "part", "measured", "required", "basis"), (
            (_spaced(item["state"]), f"{item['rule']}: {item['title']}", _about(item),
             number(item["measured"], item["unit"], system), _limit(item, system), basis(item["basis"], note=True))
            for item in quiet), numbers=(3, 4)),
        "</details>",
        "</body></html>", ""])


def _counted(quiet: Sequence[Mapping[str, Any]]) -> Iterable[str]:
    """How many findings of these are in each state, and of how many rules: ``360 passed (of 142 rules)``."""
    for state in ("passed", "not-applicable"):
        own = [item["rule"] for item in quiet if item["state"] == state]
        if own:
            yield f"{len(own)} {_spaced(state)} (of {len(set(own))} rules)"


def _head(report: Mapping[str, Any]) -> Iterable[str]:
    car, counts = report["car"], report["counts"]
    yield f"<h1>{_e(car['name'])}</h1>"
    yield f"<p class=quiet>{_e(car.get('class') or '')}; event date {_e(report['event_date'])}; fails on {_e(report['fail_on'])}; exit " \
          f"{report['exit']}; Crankline {_e(report['version'])}, {_e(', '.join(f'{k} {v}' for k, v in report['host'].items()))}</p>"
    yield f'<p class=note>{_e(CAUTION)}</p>'
    yield f"<p>{_e(', '.join(f'{count} {_spaced(state)}' for state, count in counts.items()))}</p>"
    for note in report["notes"]:
        yield f"<p class=note>{_e(note)}</p>"
    yield _table(("rule set", "edition", "rules"), ((item["title"], item["edition"], item["rules"]) for item in report["rule_sets"]))
    if report["disabled_rules"]:
        yield _table(("disabled rule", "by", "reason"),
                     ((item["rule"], item["set"], item["reason"]) for item in report["disabled_rules"]))
    if report["not_covered"]:
        yield f"<p class=note>{_e(NOT_COVERED)}</p>"
        yield _table(("not checked", "where it is regulated"), ((item["about"], item["clause"]) for item in report["not_covered"]))
    if report["unused_waivers"]:
        yield _table(("unused waiver", "why"), ((item["rule"], item["why"]) for item in report["unused_waivers"]))


def _finding(item: Mapping[str, Any], report: Mapping[str, Any]) -> str:
    parts = [f'<div class="finding {item["severity"]}" id="{item["id"]}">',
             f'<strong>{SYMBOLS[item["severity"]]} {_e(item["severity"])}, {_spaced(item["state"])}: {_e(item["title"])}</strong> '
             f'<span class=quiet>{_e(item["rule"])} {_e(_about(item))}</span>']
    if item["measured"] is not None:
        told = measured(item["measured"], item["comparison"], item["limit"], item["unit"], report["car"]["units"], item["margin"])
        parts.append(f"<p>{_e(sentence(told))} {_e(sentence(item['how']))}</p>")
    elif item["how"]:
        parts.append(f"<p>{_e(sentence(item['how']))}</p>")
    if item["reason"] and item["reason"] != item["how"]:
        parts.append(f"<p>{_e(sentence(item['reason']))}</p>")
    if item["state"] in ("open", "waiver-void"):
        parts.append(f"<p>What to do: {_e(item['hint'].rstrip('.'))}.</p>")
    drawing = side_view(report, item)
    parts += [drawing] if drawing else []
    parts.append(f"<p class=quiet>{_e(basis(item['basis'], note=True))}</p></div>")
    return "\n".join(parts)


# --- side view --------------------------------------------------------------------------------------------------------

Frame = tuple[float, float, float, float]
"""Left, top, right and bottom of a rectangle of the picture."""

MARK, LINE, PART, OWN = "#b35900", "#59636e", "#b9c2cb", "#1b1f24"
NAMED = ("engine", "transmission")
"""Parts that are named in the view, for orientation."""

AXIS = ("driveshaft", "shaft_envelope")
"""Parts that lean so much that their box along the car would show them where they are not: drawn along the joints instead."""


def side_view(report: Mapping[str, Any], item: Mapping[str, Any]) -> str:
    """SVG of the car from its left, front to the left, with the finding's points marked; beside it, where these lie close together,
    what is around them, larger. Empty where the finding has no place."""
    points = item["points"]
    if not points or not report["points"]:
        return ""
    boxes = {part["key"]: part["bbox_mm"] for part in report["parts"] if part["bbox_mm"]}
    named = report["points"]
    xs = [value for box in boxes.values() for value in (box[0], box[3])] + [point[0] for point in [*named.values(), *points]] + [-350.0]
    zs = [value for box in boxes.values() for value in (box[2], box[5])] + [point[2] for point in points] + [0.0]
    low_x, high_x, low_z, high_z = min(xs), max(xs), min(zs), max(zs)
    scale = (WIDTH - 2 * MARGIN) / (high_x - low_x)
    height = (high_z - low_z) * scale + 2 * MARGIN + 8.0

    def at(point) -> tuple[float, float]:
        # Seen from the left the front is to the left.
        return MARGIN + (high_x - point[0]) * scale, height - MARGIN - 8.0 - (point[2] - low_z) * scale

    span = [max(point[axis] for point in points) - min(point[axis] for point in points) for axis in (0, 2)]
    detailed = max(span) < CLOSE * (high_x - low_x)
    width, tall = (WIDTH + GAP + DETAIL, max(height, DETAIL)) if detailed else (WIDTH, height)
    out = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {tall:.0f}" width="{width:.0f}" height="{tall:.0f}" '
           f'role="img"><title>side view, {_e(item["title"])}</title>']
    down = (tall - height) / 2.0
    out += [f'<g transform="translate(0,{down:.1f})">', *_scene(at, boxes, named, item, (low_x, high_x)), *_names(at, boxes),
            *_marks(at, item, 0.7), "</g>"]
    if detailed:
        out += _detail(boxes, named, item, span, (low_x, high_x), tall, report["car"]["units"])
    return "".join([*out, "</svg>"])


def _scene(at: Callable, boxes: Mapping[str, Sequence[float]], named: Mapping[str, Any], item: Mapping[str, Any],
           along: tuple[float, float], frame: Frame | None = None) -> Iterable[str]:
    """The parts, those of the finding last and filled; the track, the crank and the driveshaft. frame: what is cut off at."""
    for key in sorted(boxes, key=lambda key: key in item["subjects"]):
        own = key in item["subjects"]
        if key in AXIS and not own:
            continue
        style = f'fill="#d5dde5" fill-opacity="0.7" stroke="{OWN}"' if own else f'fill="none" stroke="{PART}"'
        yield _drawn("polygon", map(at, _outline(key, boxes[key], named)), f'{style} stroke-width="0.8"', frame,
                     f"<title>{_e(key)}</title>")
    center = f'fill="none" stroke="{LINE}" stroke-width="0.8" stroke-dasharray="9 3 2 3"'
    for ends, style in ((((along[0], 0, 0), (along[1], 0, 0)), f'fill="none" stroke="{LINE}" stroke-width="1"'),
                        ((named["front_joint"], named["crank_front"]), center), ((named["rear_joint"], named["front_joint"]), center)):
        yield _drawn("polyline", map(at, ends), style, frame)


def _drawn(tag: str, corners: Iterable[tuple[float, float]], style: str, frame: Frame | None, inside: str = "") -> str:
    """A polygon or line, cut off at a frame; empty where nothing of it is left."""
    corners = list(corners)
    for axis, edge, side in [(i % 2, frame[i], 1.0 if i < 2 else -1.0) for i in range(4)] if frame else ():
        kept: list[tuple[float, float]] = []
        for a, b in zip(corners, corners[1:] + corners[:1]):
            inner, outer = (side * (point[axis] - edge) for point in (a, b))
            kept += [a] if inner >= 0.0 else []
            if inner * outer < 0.0:
                x, y = (p + (q - p) * inner / (inner - outer) for p, q in zip(a, b))
                kept.append((x, y))
        corners = kept
    told = " ".join(f"{x:.1f},{y:.1f}" for x, y in corners)
    return f'<{tag} points="{told}" {style}>{inside}</{tag}>' if len(corners) > 1 else ""


def _outline(key: str, box: Sequence[float], named: Mapping[str, Any]) -> list[tuple[float, float, float]]:
    """Corners of a part as the side view shows it: its box, or the band along the joints that the box is the box of."""
    if key not in AXIS:
        return [(box[0], 0, box[2]), (box[3], 0, box[2]), (box[3], 0, box[5]), (box[0], 0, box[5])]
    rear, front = named["rear_joint"], named["front_joint"]
    slope = (front[2] - rear[2]) / (front[0] - rear[0])
    half = max(box[5] - box[2] - abs(slope) * (box[3] - box[0]), 0.2 * (box[5] - box[2])) / 2.0
    middle = (box[2] + box[5]) / 2.0 - slope * (box[0] + box[3]) / 2.0
    return [(x, 0, middle + slope * x + side * half) for x, side in ((box[0], -1), (box[3], -1), (box[3], 1), (box[0], 1))]


def _names(at: Callable, boxes: Mapping[str, Sequence[float]]) -> Iterable[str]:
    """Where the front is, the rear axle, and what the large parts are."""
    axle, track = at((0.0, 0.0, 0.0))
    yield f'<path d="M{axle:.1f},{track - 5:.1f} V{track + 5:.1f}" stroke="{LINE}"/>'
    yield _text(axle, track + 15.0, "rear axle", "middle")
    yield _text(MARGIN, track + 15.0, "\u2190 front", "start")
    for key in NAMED:
        if key in boxes:
            box = boxes[key]
            x, y = at(((box[0] + box[3]) / 2.0, 0.0, box[5]))
            yield _text(x, y - 4.0, key, "middle")


def _marks(at: Callable, item: Mapping[str, Any], size: float, frame: Frame | None = None) -> Iterable[str]:
    """The points and the line between the first two."""
    points = item["points"]
    if len(points) > 1:
        yield _drawn("polyline", map(at, points[:2]), f'fill="none" stroke="{MARK}" stroke-width="1.6"', frame)
    for point in points:
        x, y = at(point)
        yield (f'<path d="{GLYPHS[item["severity"]]}" transform="translate({x:.1f},{y:.1f}) scale({size})" fill="#fff" fill-opacity="0.6" '
               f'stroke="{MARK}" stroke-width="2"/>')


def _detail(boxes: Mapping[str, Sequence[float]], named: Mapping[str, Any], item: Mapping[str, Any], span: Sequence[float],
            along: tuple[float, float], tall: float, system: str) -> Iterable[str]:
    """A square with what is around the points, its scale, and what was measured."""
    points = item["points"]
    middle = [(max(point[axis] for point in points) + min(point[axis] for point in points)) / 2.0 for axis in (0, 2)]
    half = max(0.75 * max(span), ROOM)
    scale = DETAIL / (2.0 * half)
    left, top = WIDTH + GAP, (tall - DETAIL) / 2.0
    frame = left, top, left + DETAIL, top + DETAIL

    def at(point) -> tuple[float, float]:
        return left + DETAIL / 2.0 + (middle[0] - point[0]) * scale, top + DETAIL / 2.0 - (point[2] - middle[1]) * scale

    yield f'<rect x="{left:.1f}" y="{top:.1f}" width="{DETAIL:.0f}" height="{DETAIL:.0f}" fill="#fff" stroke="{PART}"/>'
    yield from _scene(at, boxes, named, item, along, frame)
    yield from _marks(at, item, 1.0, frame)
    if item["measured"] is not None and item["unit"]:
        yield _text(left + DETAIL / 2.0, top + 14.0, number(item["measured"], item["unit"], system), "middle", 11, MARK)
    unit, factor = ("mm", 1.0) if system == "mm" else ("in", units.INCH)
    rule = max(step for step in RULES[unit] if step * factor * scale <= DETAIL / 3.0 or step == RULES[unit][0])
    low = top + DETAIL - 8.0
    yield _drawn("polyline", ((left + 8.0, low), (left + 8.0 + rule * factor * scale, low)), f'stroke="{LINE}" stroke-width="2"', None)
    yield _text(left + 8.0, top + DETAIL - 13.0, f"{rule:g} {unit}", "start")


def _text(x: float, y: float, words: str, anchor: str, size: int = 10, color: str = LINE) -> str:
    """Words on a white edge, so that they can be read over lines."""
    place = f'x="{x:.1f}" y="{y:.1f}" font-family="sans-serif" font-size="{size}" text-anchor="{anchor}"'
    return (f'<text {place} fill="#fff" stroke="#fff" stroke-width="3" aria-hidden="true">{_e(words)}</text>'
            f'<text {place} fill="{color}">{_e(words)}</text>')


# --- words ------------------------------------------------------------------------------------------------------------


def _e(value: Any) -> str:
    return escape("".join(c if c.isprintable() else " " for c in str(value)))


def _about(item: Mapping[str, Any]) -> str:
    return about(item["subjects"], item["discriminator"])


def _spaced(state: str) -> str:
    return state.replace("-", " ")


def _limit(item: Mapping[str, Any], system: str) -> str:
    return limit(item["comparison"], item["limit"], item["unit"], system)


def _table(names: Iterable[str], rows: Iterable[Iterable[Any]], numbers: tuple[int, ...] = ()) -> str:
    """A table; numbers: columns whose cells are not broken."""
    head = "".join(f"<th>{_e(name)}</th>" for name in names)
    body = "".join("<tr>" + "".join(f"<td{' class=number' if i in numbers else ''}>{_e(cell)}</td>" for i, cell in enumerate(row)) + "</tr>"
                   for row in rows)
    return f"<table><tr>{head}</tr>{body}</table>"
