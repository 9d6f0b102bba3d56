"""What differs between two reports: inputs, figures, findings, parts, and what must be made anew. Pure: from the reports alone."""
from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from html import escape
from typing import Any

from ..checks.finding import Finding, from_row
from . import html, wording

TOLERANCE = 1e-6
"""Share of a figure by which it may differ and still be the same; the report itself rounds to nine digits."""
LEAST = 1e-6
"""In the report's own units (mm, deg, kg, N ...): a smaller difference is none."""
FIGURES = ("placement", "points", "surface_plate", "driveline", "driveshaft_order", "poses", "suspension", "balance", "strength",
           "hardware")
"""Sections of a report in which every number is a figure of the car."""
_ABOUT = ("$schema", "version", "host", "car", "input", "event_date", "fail_on", "exit", "inputs", "rule_sets")
_OF_PART = ("key", "kind", "digest", "bbox_mm", "welded")
_OF_FINDING = ("id", "rule", "title", "severity", "state", "to_confirm", "measured", "comparison", "limit", "unit", "margin", "subjects",
               "discriminator")
"""Of these, what is nothing or false is left out."""


class CompareError(ValueError):
    """Reports that cannot be compared. One sentence."""


@dataclass(frozen=True)
class Difference:
    """One thing that differs. about: what it is, a key path or a part's key; before, after: as text, empty where it is not there."""
    about: str
    before: str
    after: str


@dataclass(frozen=True)
class Comparison:
    """What differs between two reports of a car. findings: gained, lost, or of another state or margin; shapes: parts whose shape is
    another, or that are only in one; moved: parts that stand elsewhere; anew: welded parts that must be cut off or made again."""
    name: str
    inputs: tuple[Difference, ...] = ()
    figures: tuple[Difference, ...] = ()
    findings: tuple[Difference, ...] = ()
    shapes: tuple[Difference, ...] = ()
    moved: tuple[str, ...] = ()
    anew: tuple[str, ...] = ()
    program: tuple[Difference, ...] = field(default=())
    """Versions of program, host and rule sets: they explain, and are no difference of the car."""

    @property
    def equal(self) -> bool:
        """Whether nothing of the car differs."""
        return not (self.inputs or self.figures or self.findings or self.shapes or self.moved)

    def to_json(self) -> dict[str, Any]:
        """As plain data."""
        return {"equal": self.equal, **asdict(self)}


def slim(report: Mapping[str, Any]) -> dict[str, Any]:
    """What a comparison reads of a report; it compares as the report itself does."""
    return {**{name: report[name] for name in (*_ABOUT, *FIGURES) if name in report},
            **{section: [{name: row[name] for name in names if _is_told(row.get(name))} for row in report[section]]
               for section, names in (("parts", _OF_PART), ("findings", _OF_FINDING))}}


def is_report(held: Any) -> bool:
    """Whether plain data has the sections that a comparison reads."""
    needed = {"findings": list, "parts": list, "rule_sets": list, "car": dict, "host": dict, "version": str}
    return isinstance(held, dict) and all(isinstance(held.get(name), kind) for name, kind in needed.items())


def _is_told(value: Any) -> bool:
    return value is not None and value is not False and value != ""


def compare(name: str, before: Mapping[str, Any], after: Mapping[str, Any], tolerance: float = TOLERANCE) -> Comparison:
    """Two reports of a car. tolerance: share of a figure. CompareError where one is of another schema."""
    for report in (before, after):
        if report.get("$schema") != after.get("$schema") or "findings" not in report:
            raise CompareError(f"{name}: the reports are of different schemas ({before.get('$schema', 'none')} and "
                               f"{after.get('$schema', 'none')}); check both again with one version")
    parts = [{part["key"]: part for part in report["parts"]} for report in (before, after)]
    same = [key for key in parts[0] if key in parts[1]]
    reshaped = [key for key in same if parts[0][key].get("digest") != parts[1][key].get("digest")]
    moved = tuple(key for key in same if key not in reshaped
                  and not _near(parts[0][key].get("bbox_mm"), parts[1][key].get("bbox_mm"), tolerance))
    shapes = [*(Difference(key, "built", "built otherwise") for key in reshaped),
              *(Difference(key, _present(parts[0], key), _present(parts[1], key)) for key in sorted(parts[0].keys() ^ parts[1].keys()))]
    touched = {*reshaped, *moved, *(item.about for item in shapes)}
    anew = tuple(sorted(key for key in touched if any(key in held and held[key].get("welded") for held in parts)))
    versions = [{"crankline": report["version"], **report["host"],
                 **{f"rule set {item['name']}": f"{item['edition']}, {item['rules']} rules" for item in report["rule_sets"]}}
                for report in (before, after)]
    return Comparison(name, _of_texts(before.get("inputs") or {}, after.get("inputs") or {}), tuple(_figures(before, after, tolerance)),
                      _findings(before, after, tolerance), tuple(shapes), moved, anew, _of_texts(*versions))


def _of_texts(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[Difference, ...]:
    return tuple(Difference(key, str(before.get(key, "")), str(after.get(key, ""))) for key in {**before, **after}
                 if before.get(key) != after.get(key))


def _present(parts: Mapping[str, Any], key: str) -> str:
    return "built" if key in parts else ""


def _near(a: Any, b: Any, tolerance: float) -> bool:
    """Whether two values of a report are the same but for the noise of arithmetic."""
    if isinstance(a, (int, float)) and isinstance(b, (int, float)) and not isinstance(a, bool):
        return abs(a - b) <= max(LEAST, tolerance * max(abs(a), abs(b)))
    if isinstance(a, (list, tuple)) and isinstance(b, (list, tuple)):
        return len(a) == len(b) and all(_near(x, y, tolerance) for x, y in zip(a, b))
    return a == b


def leaves(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Path and value of every leaf of plain data; entries of a list go by their name, else by number from 1."""
    if isinstance(value, Mapping):
        for key, below in value.items():
            yield from leaves(below, f"{path}.{key}" if path else key)
    elif isinstance(value, (list, tuple)):
        for number, below in enumerate(value, 1):
            named = below.get("name") if isinstance(below, Mapping) else None
            yield from leaves(below, f"{path}.{named or number}")
    else:
        yield path, value


def _figures(before: Mapping[str, Any], after: Mapping[str, Any], tolerance: float) -> Iterator[Difference]:
    old, new = (dict(leaves({name: report.get(name) for name in FIGURES})) for report in (before, after))
    for path in {**old, **new}:
        if path not in old or path not in new or not _near(old[path], new[path], tolerance):
            yield Difference(path, _figure(old.get(path)), _figure(new.get(path)))


def _figure(value: Any) -> str:
    return "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)


def _findings(before: Mapping[str, Any], after: Mapping[str, Any], tolerance: float) -> tuple[Difference, ...]:
    """Findings that differ, those first that come, go or change their state."""
    turned: list[Difference] = []
    only: list[Difference] = []
    system = after["car"]["units"]
    old, new = ({row["id"]: from_row({"basis": {}, "set": "", **row}) for row in report["findings"]} for report in (before, after))
    for number in {**old, **new}:
        a, b = old.get(number), new.get(number)
        same = a is not None and b is not None and (a.state, a.severity, a.to_confirm) == (
            b.state, b.severity, b.to_confirm) and all(
            _near(x, y, tolerance) for x, y in ((a.margin, b.margin), (a.measured, b.measured), (a.limit, b.limit)))
        if not same:
            one = b or a
            assert one is not None
            about = wording.about(one.subjects, one.discriminator)
            (only if a and b and a.state == b.state else turned).append(Difference(
                f"{one.rule}: {one.title}" + (f" ({about})" if about else ""), _told(a, system), _told(b, system)))
    return (*turned, *only)


def _told(finding: Finding | None, system: str) -> str:
    if finding is None:
        return ""
    grave = f" {finding.severity}" if finding.unresolved else ""
    measured = wording.measured(finding.measured, finding.comparison, finding.limit, finding.unit, system, finding.margin)
    return f"{finding.state}{grave}" + (f", {measured}" if measured else "")


# --------------------------------------------------------------------------------------------------------------- told

MOST = 12
"""Lines of one kind that a text shows; the JSON and the page have all."""


def text(found: Comparison, most: int | None = MOST) -> list[str]:
    """A comparison as lines of text; most: of one kind, None for all."""
    if found.equal:
        return [f"{found.name}: equal"]
    lines = [f"{found.name}: different"]
    for what, items in _kinds(found):
        shown = items if most is None else items[:most]
        lines += [f"  {what} {item.about}: {item.before or 'not there'} -> {item.after or 'not there'}" for item in shown]
        lines += [f"  ... and {len(items) - len(shown)} more of these"] if len(items) > len(shown) else []
    lines += [f"  moved: {', '.join(found.moved)}"] if found.moved else []
    lines += [f"  to be cut off and welded again: {', '.join(found.anew)}"] if found.anew else []
    return lines


def _kinds(found: Comparison) -> Iterator[tuple[str, Sequence[Difference]]]:
    yield "input", found.inputs
    yield "finding", found.findings
    yield "shape", found.shapes
    yield "figure", found.figures
    yield "version", found.program


def page(pairs: Sequence[tuple[Comparison, Mapping[str, Any] | None, Mapping[str, Any] | None]]) -> str:
    """Comparisons as one HTML file, each with both side views in one picture: before dashed, after drawn through."""
    out = ['<!DOCTYPE html>', '<html lang="en"><head><meta charset="utf-8"><title>What differs</title>',
           f"<style>{html.STYLE}</style></head>", f"<body><h1>What differs</h1><p class=note>{escape(html.CAUTION)}</p>"]
    out += ["<ul>", *(f"<li>{escape(found.name)}: {'equal' if found.equal else 'different'}</li>" for found, _a, _b in pairs), "</ul>"]
    for found, before, after in pairs:
        if found.equal:
            continue
        out.append(f"<h2>{escape(found.name)}</h2>")
        if before and after:
            out.append(both_views(before, after))
        for what, items in _kinds(found):
            if items:
                out.append(f"<table><tr><th>{what}</th><th>before</th><th>after</th></tr>")
                out += ["<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in (item.about, item.before, item.after)) + "</tr>"
                        for item in items]
                out.append("</table>")
        out += [f"<p>Moved: {escape(', '.join(found.moved))}.</p>"] if found.moved else []
        out += [f"<p>To be cut off and welded again: {escape(', '.join(found.anew))}.</p>"] if found.anew else []
    return "\n".join([*out, "</body></html>", ""])


def both_views(before: Mapping[str, Any], after: Mapping[str, Any]) -> str:
    """SVG of the parts of two reports from the left, front to the left: the first dashed, the second drawn through."""
    boxes = [[part["bbox_mm"] for part in report["parts"] if part.get("bbox_mm") and part["key"] not in html.AXIS]
             for report in (before, after)]
    every = [box for group in boxes for box in group]
    if not every:
        return ""
    low_x, high_x = min(box[0] for box in every), max(box[3] for box in every)
    low_z, high_z = min(box[2] for box in every), max(box[5] for box in every)
    scale = (html.WIDTH - 2 * html.MARGIN) / max(high_x - low_x, 1.0)
    height = (high_z - low_z) * scale + 2 * html.MARGIN
    out = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {html.WIDTH:.0f} {height:.0f}" width="{html.WIDTH:.0f}" '
           f'height="{height:.0f}" role="img"><title>side view, before dashed, after drawn through</title>']
    for group, style in zip(boxes, (f'stroke="{html.MARK}" stroke-dasharray="4 3"', f'stroke="{html.OWN}"')):
        for box in group:
            out.append(f'<rect x="{html.MARGIN + (high_x - box[3]) * scale:.1f}" y="{html.MARGIN + (high_z - box[5]) * scale:.1f}" '
                       f'width="{(box[3] - box[0]) * scale:.1f}" height="{(box[5] - box[2]) * scale:.1f}" fill="none" {style}/>')
    return "".join([*out, "</svg>"])
