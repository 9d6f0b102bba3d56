"""The report as one HTML file: counts, rule sets, and each finding with a small side view of its place.

Made from the report alone, so that whoever has ``report.json`` has the page. The shape of a mark tells how grave a finding
is (triangle, diamond, circle), not its colour alone.
"""
from __future__ import annotations

from html import escape
from typing import Any, Iterable, Mapping

WIDTH, MARGIN = 520.0, 18.0
ORDER = {"open": 0, "waiver-void": 0, "not-evaluated": 1, "waived": 2, "passed": 3, "not-applicable": 4}
GRAVE = {"error": 0, "warning": 1, "advice": 2}
GLYPHS = {"error": "M0,-8 L8,7 L-8,7 Z", "warning": "M0,-8 L8,0 L0,8 L-8,0 Z", "advice": "M-7,0 A7,7 0 1 0 7,0 A7,7 0 1 0 -7,0 Z"}
SYMBOLS = {"error": "▲", "warning": "◆", "advice": "●"}

CAUTION = ("Plates, loops and shields protect people. This report is screening by the rules named below and no approval: the "
           "current rule book of the sanctioning body, its chassis inspector and a qualified welder decide.")

STYLE = """body{font:15px/1.45 sans-serif;margin:2em auto;max-width:60em;padding:0 1em;color:#1b1f24;background:#fff}
h1{font-size:1.5em;margin-bottom:.2em}h2{font-size:1.15em;margin-top:1.8em}table{border-collapse:collapse;width:100%}
td,th{border-bottom:1px solid #cfd4da;padding:.3em .6em;text-align:left;vertical-align:top}.finding{border:1px solid #cfd4da;
border-left-width:6px;padding:.6em 1em;margin:1em 0}.error{border-left-color:#b35900}.warning{border-left-color:#7a5cb0}
.advice{border-left-color:#1f6fb2}.quiet{color:#59636e}.note{background:#f2f4f6;padding:.6em 1em}svg{max-width:100%;height:auto;
background:#fafbfc;border:1px solid #e3e7eb}"""


def text(report: Mapping[str, Any]) -> str:
    """The page."""
    shown = [item for item in report["findings"] if item["state"] not in ("passed", "not-applicable")]
    shown.sort(key=lambda item: (ORDER[item["state"]], GRAVE[item["severity"]], item["rule"], item["subjects"], item["discriminator"]))
    quiet = [item for item in report["findings"] if item["state"] in ("passed", "not-applicable")]
    return "\n".join([
        '<!DOCTYPE html>', '<html lang="en"><head><meta charset="utf-8">', f"<title>{_e(report['car']['name'])}: findings</title>",
        f"<style>{STYLE}</style></head><body>", *_head(report), "<h2>Findings</h2>",
        *([_finding(item, report) for item in shown] or ["<p>Nothing stands against the car.</p>"]),
        "<h2>Passed, and not applicable</h2>", _table(("state", "rule", "subject", "measured", "wanted", "basis"), (
            (item["state"], f"{item['rule']}: {item['title']}", _about(item), _number(item["measured"], item["unit"]), _limit(item),
             _basis(item["basis"])) for item in quiet)),
        "</body></html>", ""])


def _head(report: Mapping[str, Any]) -> Iterable[str]:
    car, counts = report["car"], report["counts"]
    yield f"<h1>{_e(car['name'])}</h1>"
    yield f"<p class=quiet>{_e(car.get('class') or '')}; event date {_e(report['event_date'])}; fails on {_e(report['fail_on'])}; exit " \
          f"{report['exit']}; Crankline {_e(report['version'])}, {_e(', '.join(f'{k} {v}' for k, v in report['host'].items()))}</p>"
    yield f'<p class=note>{_e(CAUTION)}</p>'
    yield "<p>" + _e(", ".join(f"{count} {state}" for state, count in counts.items())) + "</p>"
    for note in report["notes"]:
        yield f"<p class=note>{_e(note)}</p>"
    yield _table(("rule set", "edition", "rules"), ((item["title"], item["edition"], item["rules"]) for item in report["rule_sets"]))
    if report["disabled_rules"]:
        yield _table(("rule switched off", "by", "because"), ((item["rule"], item["set"], item["reason"]) for item in report["disabled_rules"]))
    if report["unused_waivers"]:
        yield _table(("waiver that waives nothing", "why"), ((item["rule"], item["why"]) for item in report["unused_waivers"]))


def _finding(item: Mapping[str, Any], report: Mapping[str, Any]) -> str:
    parts = [f'<div class="finding {item["severity"]}" id="{item["id"]}">',
             f'<strong>{SYMBOLS[item["severity"]]} {_e(item["severity"])}, {_e(item["state"])}: {_e(item["title"])}</strong> '
             f'<span class=quiet>{_e(item["rule"])} {_e(_about(item))}</span>']
    if item["measured"] is not None:
        parts.append(f"<p>Measured {_e(_number(item['measured'], item['unit']))}, wanted {_e(_limit(item))}, margin "
                     f"{_e(_number(item['margin'], item['unit']))}. {_e(item['how'])}</p>")
    if item["reason"]:
        parts.append(f"<p>{_e(item['reason'])}</p>")
    if item["state"] in ("open", "waiver-void"):
        parts.append(f"<p>What to do: {_e(item['hint'])}.</p>")
    drawing = side_view(report, item)
    parts += [drawing] if drawing else []
    parts.append(f"<p class=quiet>{_e(_basis(item['basis']))}</p></div>")
    return "\n".join(parts)


# --- side view --------------------------------------------------------------------------------------------------------


def side_view(report: Mapping[str, Any], item: Mapping[str, Any]) -> str:
    """SVG of the car from its left, front to the left, with the finding's points marked; empty where it has no place."""
    points = item["points"]
    if not points or not report["points"]:
        return ""
    boxes = [(part["key"], part["bbox_mm"]) for part in report["parts"] if part["bbox_mm"]]
    named = report["points"]
    xs = [value for _key, box in boxes for value in (box[0], box[3])] + [point[0] for point in [*named.values(), *points]] + [-350.0]
    zs = [value for _key, box in boxes for value in (box[2], box[5])] + [point[2] for point in points] + [0.0]
    low_x, high_x, low_z, high_z = min(xs), max(xs), min(zs), max(zs)
    scale = (WIDTH - 2 * MARGIN) / (high_x - low_x)
    height = (high_z - low_z) * scale + 2 * MARGIN

    def at(point) -> tuple[float, float]:
        # Seen from the left the front is to the left.
        return MARGIN + (high_x - point[0]) * scale, height - MARGIN - (point[2] - low_z) * scale

    def line(a, b, style) -> str:
        (x1, y1), (x2, y2) = at(a), at(b)
        return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" {style}/>'

    out = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:.0f} {height:.0f}" width="{WIDTH:.0f}" height="{height:.0f}" '
           f'role="img"><title>side view, {_e(item["title"])}</title>']
    for key, box in boxes:
        (x1, y1), (x2, y2) = at((box[3], 0, box[5])), at((box[0], 0, box[2]))
        own = key in item["subjects"]
        style = 'fill="#d5dde5" stroke="#1b1f24"' if own else 'fill="none" stroke="#b9c2cb"'
        out.append(f'<rect x="{x1:.1f}" y="{y1:.1f}" width="{max(x2 - x1, 0.5):.1f}" height="{max(y2 - y1, 0.5):.1f}" '
                   f'{style} stroke-width="0.8"><title>{_e(key)}</title></rect>')
    out.append(line((low_x, 0, 0), (high_x, 0, 0), 'stroke="#59636e" stroke-width="1"'))
    axle_x, track = at((0.0, 0.0, 0.0))
    out.append(f'<path d="M{axle_x:.1f},{track - 5:.1f} V{track + 5:.1f}" stroke="#59636e"/><text x="{axle_x:.1f}" '
               f'y="{track + 14:.1f}" font-size="9" text-anchor="middle" fill="#59636e">rear axle</text>')
    center = 'stroke="#59636e" stroke-width="0.8" stroke-dasharray="9 3 2 3"'
    out.append(line(named["front_joint"], named["crank_front"], center))
    out.append(line(named["rear_joint"], named["front_joint"], center))
    if len(points) > 1:
        out.append(line(points[0], points[1], 'stroke="#b35900" stroke-width="1.6"'))
    for point in points:
        x, y = at(point)
        out.append(f'<path d="{GLYPHS[item["severity"]]}" transform="translate({x:.1f},{y:.1f}) scale(0.7)" fill="#fff" '
                   'stroke="#b35900" stroke-width="2"/>')
    return "".join([*out, "</svg>"])


# --- words ------------------------------------------------------------------------------------------------------------


def _e(value: Any) -> str:
    return escape("".join(c if c.isprintable() else " " for c in str(value)))


def _about(item: Mapping[str, Any]) -> str:
    return ", ".join([*item["subjects"], *([item["discriminator"]] if item["discriminator"] else [])])


def _number(value: float | None, unit: str) -> str:
    return "" if value is None else f"{value:.5g} {unit}".strip()


def _limit(item: Mapping[str, Any]) -> str:
    limit = item["limit"]
    if limit is None:
        return ""
    if isinstance(limit, list):
        return f"{limit[0]:.5g} to {_number(limit[1], item['unit'])}"
    return f"{item['comparison']} {_number(limit, item['unit'])}"


def _basis(basis: Mapping[str, Any]) -> str:
    told = ", ".join(str(basis[key]) for key in ("document", "edition", "clause", "note") if basis.get(key))
    return f"{told} ({basis['source'].replace('_', ' ')})"


def _table(names: Iterable[str], rows: Iterable[Iterable[Any]]) -> str:
    head = "".join(f"<th>{_e(name)}</th>" for name in names)
    body = "".join("<tr>" + "".join(f"<td>{_e(cell)}</td>" for cell in row) + "</tr>" for row in rows)
    return f"<table><tr>{head}</tr>{body}</table>"
