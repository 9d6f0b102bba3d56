"""What comes of a run over many cars: a row a car, as a table, JSON, CSV, one JUnit file and one HTML page; and several runs put together.

``summary.json`` in the folder of results holds the rows; the report of each car stays in the folder of the car.
"""
from __future__ import annotations

import json
import os
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field, fields, replace
from html import escape
from pathlib import Path
from typing import Any

from .. import VERSION
from ..checks.finding import from_row
from ..exit_codes import CLEAN, WORDS, WORST_FIRST
from ..replacing import replacing
from ..reports import csv_table, html, junit, sarif
from ..reports.suite import Suite
from ..rules.rule import SEVERITIES

FORMAT = 1
NAME = "summary.json"


class SummaryError(ValueError):
    """Results that cannot be put together. One sentence."""


@dataclass(frozen=True)
class Row:
    """What came of one car. name: of its folder; file: as it was named; code: exit code; open: number of open findings by severity; not
    evaluated: number of those; sentence: why there is no report; kept: taken over from an earlier run of the same; seconds: of the clock;
    folder: where its results are, seen from the summary."""
    name: str
    file: str
    code: int
    seconds: float
    open: dict[str, int] = field(default_factory=dict)
    not_evaluated: int = 0
    sentence: str = ""
    kept: bool = False
    folder: str = ""


@dataclass(frozen=True)
class Summary:
    """Rows by name, and the names of all cars that the run was one share of."""
    rows: tuple[Row, ...]
    cars: tuple[str, ...] = ()

    @property
    def code(self) -> int:
        """The exit code of the run: the gravest of its cars."""
        return min((row.code for row in self.rows), key=WORST_FIRST.index, default=CLEAN)

    @property
    def missing(self) -> tuple[str, ...]:
        """Cars of the whole list of which there is no row."""
        there = {row.name for row in self.rows}
        return tuple(name for name in self.cars if name not in there)


def row(name: str, file: str, code: int, seconds: float, report: dict[str, Any] | None, sentence: str, kept: bool = False) -> Row:
    """The row of a car; report: nothing where the run came to none."""
    if report is None:
        return Row(name, file, code, seconds, sentence=sentence, folder=name)
    findings = [from_row(one) for one in report["findings"]]
    # What asks to be confirmed decides no exit code; it is in the report.
    stands = [one.severity for one in findings if one.unresolved and not one.to_confirm]
    return Row(name, file, code, seconds, {str(severity): stands.count(severity) for severity in SEVERITIES},
               report["counts"]["not-evaluated"], sentence, kept, name)


def table(summary: Summary) -> list[str]:
    """The rows as lines of text in columns, the gravest first, and a line of sums."""
    head = ("car", "result", *SEVERITIES, "not evaluated", "seconds")
    order = sorted(summary.rows, key=lambda one: (WORST_FIRST.index(one.code), one.name))
    cells = [head, *((one.name, f"{one.code} {WORDS[one.code]}{' (kept)' * one.kept}",
                      *map(str, _numbers(one)), f"{one.seconds:.1f}") for one in order)]
    widths = [max(len(line[column]) for line in cells) for column in range(len(head))]
    lines = ["  ".join(cell.ljust(width) if column < 2 else cell.rjust(width)
                       for column, (cell, width) in enumerate(zip(line, widths))).rstrip() for line in cells]
    lines += [f"{one.name}: {one.sentence}" for one in order if one.sentence]
    told = ", ".join(f"{count} {WORDS[code]}" for code in WORST_FIRST if (count := sum(one.code == code for one in summary.rows)))
    lines.append(f"{_cars(len(summary.rows))}: {told or 'none'}")
    if summary.missing:
        lines.append(_missing(summary))
    return lines


def _cars(count: int) -> str:
    return f"{count} car{'s' * (count != 1)}"


def _missing(summary: Summary) -> str:
    return f"no result for {_cars(len(summary.missing))} of the list: {', '.join(summary.missing)}"


def write(summary: Summary, folder: Path, with_sarif: bool = False) -> list[Path]:
    """Write the files of a summary into a folder in which the rows' folders lie; their paths. with_sarif: checks.sarif too."""
    folder.mkdir(parents=True, exist_ok=True)
    held = {"format": FORMAT, "version": VERSION, "exit": summary.code, "cars": list(summary.cars),
            "rows": [asdict(one) for one in summary.rows]}
    suites = [Suite(one.name, report_in(folder / one.folder), one.sentence, one.seconds) for one in summary.rows]
    texts = {NAME: json.dumps(held, indent=1) + "\n", "summary.csv": _csv(summary), "checks.xml": junit.text(suites),
             "index.html": _page(summary), **({"checks.sarif": sarif.text(suites)} if with_sarif else {})}
    for name, content in texts.items():
        with replacing(folder / name) as beside:
            beside.write_text(content, encoding="utf-8-sig" if name.endswith(".csv") else "utf-8", newline="")
    return [folder / name for name in texts]


def read(folder: Path) -> Summary:
    """The summary in a folder; SummaryError where there is none that can be read."""
    place = folder / NAME
    try:
        held = json.loads(place.read_text(encoding="utf-8"))
        if held["format"] != FORMAT:
            raise SummaryError(f"{place}: it is of format {held['format']!r}, and this version reads {FORMAT}; run the cars again with it")
        known = {one.name for one in fields(Row)}
        rows = tuple(Row(**{name: value for name, value in one.items() if name in known}) for one in held["rows"])
        for one in rows:
            WORST_FIRST.index(one.code)
        return Summary(rows, tuple(map(str, held["cars"])))
    except OSError as error:
        raise SummaryError(f"{place}: {error.strerror or error}; name a folder that a run over several cars has written") from None
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        if isinstance(error, SummaryError):
            raise
        raise SummaryError(f"{place}: it is damaged; run the cars again") from None


def together(folders: Sequence[Path], target: Path) -> Summary:
    """The summaries of several folders as one, their rows' folders as seen from ``target``. SummaryError where a car is in two of them."""
    rows: dict[str, tuple[Row, Path]] = {}
    cars: dict[str, None] = {}
    for folder in folders:
        one = read(folder)
        cars.update(dict.fromkeys(one.cars))
        for item in one.rows:
            if item.name in rows:
                raise SummaryError(f"{item.name}: it is in {rows[item.name][1]} and in {folder}; give each car's results once")
            rows[item.name] = replace(item, folder=Path(os.path.relpath(folder / item.folder, target)).as_posix()), folder
    return Summary(tuple(rows[name][0] for name in sorted(rows)), tuple(cars))


def report_in(folder: Path) -> dict[str, Any] | None:
    """The report of a folder of results; nothing where there is none that can be read."""
    try:
        return json.loads((folder / "report.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None


def _csv(summary: Summary) -> str:
    head = ("car", "file", "exit", "result", *SEVERITIES, "not_evaluated", "seconds", "kept", "why")
    return csv_table.lines([head, *((one.name, one.file, one.code, WORDS[one.code], *_numbers(one), round(one.seconds, 1),
                                     "yes" if one.kept else "", one.sentence) for one in summary.rows)])


def _numbers(one: Row) -> tuple[int | str, ...]:
    """Open findings by severity, and what was not evaluated; nothing where there is no report."""
    return (*(one.open.get(severity, "") for severity in SEVERITIES), one.not_evaluated if one.open else "")


def _page(summary: Summary) -> str:
    """The rows as a page that leads to the page of each car."""
    lines = ['<!DOCTYPE html>', '<html lang="en"><head><meta charset="utf-8"><title>Cars of a run</title>',
             f"<style>{html.STYLE}</style></head>", f"<body><h1>{_cars(len(summary.rows))}</h1>",
             f"<p class=note>{escape(html.CAUTION)}</p>", "<table><tr>",
             *(f"<th>{escape(name)}</th>" for name in ("car", "result", *SEVERITIES, "not evaluated", "seconds", "why")), "</tr>"]
    for one in sorted(summary.rows, key=lambda item: (WORST_FIRST.index(item.code), item.name)):
        name = escape(one.name)
        linked = f'<a href="{escape(one.folder, quote=True)}/findings.html">{name}</a>' if one.open else name
        numbers = *_numbers(one), f"{one.seconds:.1f}"
        lines.append(f"<tr><td>{linked}</td><td>{one.code} {escape(WORDS[one.code])}</td>"
                     + "".join(f'<td class="number">{number}</td>' for number in numbers) + f"<td>{escape(one.sentence)}</td></tr>")
    lines.append("</table>")
    if summary.missing:
        lines.append(f"<p>{escape(_missing(summary))}</p>")
    return "\n".join([*lines, "</body></html>", ""])


def sentence_of(answer_text: str) -> str:
    """The first sentence that a run printed, without progress, and how many came after it: why it came to nothing."""
    lines = [line.strip() for line in answer_text.splitlines() if line.strip() and not line.startswith("[")]
    more = f" (and {len(lines) - 1} more)" if len(lines) > 1 else ""
    return lines[0] + more if lines else ""
