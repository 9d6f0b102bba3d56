"""The command line: its commands, what each takes, and how a wrong one is told. What they do is in ``headless``."""
from __future__ import annotations

import argparse
import functools
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

from . import checks, units
from .catalog import shop
from .model import SHEET_SIZES
from .outputs import FORMS
from .placement_window.region import DEFAULT, WEIGHTS
from .record import entries
from .records import PlacementRecord, collection
from .reports import compare
from .session import Session
from .sheets.shaded import VIEWS

TIMEOUT = 1800.0
"""Seconds of the clock after which one car of many is stopped: a hundred times what a demo car takes."""
CAUTION = ("Plates, loops and shields protect people. The sanctioning body's current rule book, the chassis inspector and a "
           "qualified welder decide; this program is only an aid.")


FILE = "car file, or a document saved by build or in FreeCAD"


class Refused(Exception):
    """Wrong use or refused input; one sentence; exit code 2."""


class _Parser(argparse.ArgumentParser):
    """argparse without its exit: a wrong command line is one sentence, and what it prints goes to the session."""

    def __init__(self, session: Session, **options: Any) -> None:
        super().__init__(**options)
        self._session = session

    def _print_message(self, message: str, file: Any = None) -> None:
        self._session.out.write(message or "")

    def error(self, message: str) -> NoReturn:
        raise Refused(f"{self.prog}: {message}; see {self.prog} --help")

    def exit(self, status: int = 0, message: str | None = None) -> NoReturn:
        raise Help(message or "")


class Help(Exception):
    """Help was printed; nothing else is to be done."""


def parser(session: Session) -> argparse.ArgumentParser:
    """The command line."""
    top = _Parser(session, prog="run", description="Crankline: powertrain placement, mounts and driveshaft containment.",
                  epilog=CAUTION)
    one: Any = functools.partial(_Parser, session)
    commands = top.add_subparsers(dest="command", metavar="COMMAND", parser_class=one)

    def command(name: str, text: str, among: Any = commands) -> argparse.ArgumentParser:
        sub = among.add_parser(name, help=text, description=text, epilog=CAUTION)
        sub.add_argument("--quiet", action="store_true", help="no progress lines")
        sub.add_argument("--catalog", metavar="DIR", action="append", default=[],
                         help=f"folder with a shop's own catalog; may be repeated, and {shop.VARIABLE} names folders too")
        return sub

    def checking(sub: argparse.ArgumentParser) -> None:
        judging(sub)
        side_by_side(sub)

    def judging(sub: argparse.ArgumentParser) -> None:
        sub.add_argument("--fail-on", choices=[one.value for one in checks.SEVERITIES], default="error", metavar="LEVEL",
                         help="lowest severity of an open finding that makes the exit code 1: error (default), warning or advice")
        sub.add_argument("--event-date", metavar="YYYY-MM-DD",
                         help="day on which waivers and protective items must still be valid (default: the car's, else today)")
        sub.add_argument("--rules", metavar="FILE.yaml", action="append", default=[], help="an additional rule set; may be repeated")
        sub.add_argument("--remedies", type=_looked_into, default="quick", metavar="all|none|N",
                         help="for which open findings to look for the dimension that clears them: all; none; the N gravest (default: the "
                         "gravest first, for some seconds of work)")

    def for_servers(sub: argparse.ArgumentParser) -> None:
        sub.add_argument("--sarif", action="store_true", help="also write checks.sarif: what has not passed, as SARIF 2.1.0")

    def side_by_side(sub: argparse.ArgumentParser) -> None:
        sub.add_argument("--jobs", type=_count, metavar="N",
                         help="with several cars, how many to run at a time (default: one for each processor)")
        sub.add_argument("--timeout", type=_seconds, default=TIMEOUT, metavar="SECONDS",
                         help=f"with several cars, stop one that takes longer and go on to the next (default {TIMEOUT:g})")
        sub.add_argument("--shard", metavar="I/N",
                         help="run only share I of N of the cars, by name, so that several machines can split a list")
        sub.add_argument("--resume", action="store_true",
                         help="keep the results in --out of cars that have not changed since: file, rules, options, version, FreeCAD")

    def on_paper(sub: argparse.ArgumentParser, usual: str) -> None:
        sub.add_argument("--size", choices=SHEET_SIZES, default="", metavar="SIZE",
                         help=f"size of the sheets: {', '.join(SHEET_SIZES)} (default: {usual}); what does not fit goes on the "
                              "next larger size")
        sub.add_argument("--format", choices=FORMS, default=FORMS[0], metavar="FORMAT",
                         help=f"{', '.join(FORMS)} (default {FORMS[0]}); svg and png write a file for each page")

    def held(sub: argparse.ArgumentParser) -> None:
        sub.add_argument("--baseline", metavar="DIR",
                         help="compare each car with DIR/<car>.json: then exit code 0 means no difference and 1 a difference, whatever the "
                         "findings say")
        tolerated(sub)

    def tolerated(sub: argparse.ArgumentParser) -> None:
        sub.add_argument("--tolerance", type=_share, default=compare.TOLERANCE, metavar="SHARE",
                         help=f"share by which a figure may differ and still count as the same (default {compare.TOLERANCE:g})")

    sub = command("build", "Build a FreeCAD document, a report and drawings from each car file.")
    sub.add_argument("files", metavar="CAR.yaml", nargs="+",
                     help="car files, folders of them, or patterns such as 'cars/*.yaml'")
    sub.add_argument("--out", required=True, metavar="DIR",
                     help="folder for the results; created if it does not exist. With several cars each gets its own folder there, and "
                     "summary.csv, summary.json, checks.xml and index.html cover all of them")
    checking(sub)
    held(sub)
    for_servers(sub)
    sub = command("check", "Check car files, or saved documents (recomputed first).")
    sub.add_argument("files", metavar="FILE", nargs="+",
                     help="car files, documents saved by build or in FreeCAD, folders of them, or patterns")
    sub.add_argument("--out", metavar="DIR", help="also write reports and checks.xml there")
    checking(sub)
    held(sub)
    for_servers(sub)
    sub = command("collect", "Combine the results of several runs over many cars, such as the shares of several machines.")
    sub.add_argument("folders", metavar="DIR", nargs="+", help="results folder of a run over several cars")
    sub.add_argument("--out", required=True, metavar="DIR", help="folder for summary.csv, summary.json, checks.xml and index.html of all")
    for_servers(sub)
    sub = command("vary", "Check a car file with some of its values changed, in every combination.")
    sub.add_argument("car", metavar="CAR.yaml", help="car file")
    sub.add_argument("--set", metavar="KEY=VALUES", action="append", required=True,
                     help="values of a key: placement.pitch=1.9,2.0,2.2deg or placement.axle_to_block=80..85in/0.5in; may be repeated")
    sub.add_argument("--out", required=True, metavar="DIR",
                     help="folder for the variants (cars), a folder of results each, and variants.csv "
                     "(variants.parquet too where Python has pyarrow)")
    sub.add_argument("--only-write", action="store_true", help="write the car files and check none")
    checking(sub)
    sub = command("compare", "Show what differs: inputs, figures, findings, parts, and what must be cut off and welded again.")
    sub.add_argument("before", metavar="BEFORE", help="a report, a car, or a folder of results, baselines or cars")
    sub.add_argument("after", metavar="AFTER", help="what it is compared with")
    sub.add_argument("--out", metavar="DIR", help="also write compare.json and compare.html there, with both side views in one picture")
    sub.add_argument("--all", action="store_true", help="print every line, not the first of each kind")
    tolerated(sub)
    checking(sub)
    sub = command("baseline", "Accept results as the baseline that later runs are compared with (build and check --baseline).")
    sub.add_argument("what", choices=("accept",), metavar="accept", help="accept: take these results")
    sub.add_argument("results", metavar="RESULTS", nargs="+",
                     help="results folder of build or check, or cars, which are checked first")
    sub.add_argument("--baseline", required=True, metavar="DIR", help="folder of baselines; created if it does not exist")
    sub.add_argument("--reason", required=True, help="why the results may differ from before; kept in accepted.csv")
    checking(sub)
    _records(commands, command)
    _window(command)
    sub = command("rules", "List every rule in a car's rule sets, what it measures, and whether it applies and why.")
    sub.add_argument("car", metavar="CAR.yaml", help="car file")
    sub.add_argument("--rules", metavar="FILE.yaml", action="append", default=[], help="an additional rule set; may be repeated")
    sub.add_argument("--applies", action="store_true", help="leave out rules that are known not to apply to the car")
    sub.add_argument("--json", action="store_true", help="as JSON")
    sub = command("fit", "Find from readings of the real car where its powertrain is, what passes there, and what to move.")
    sub.add_argument("car", metavar="CAR.yaml", help="car file, or a document")
    sub.add_argument("readings", metavar="READINGS.yaml", nargs="?", help="what was measured; --template writes the form for it")
    sub.add_argument("--template", action="store_true", help="write the form of this car's readings instead, by the boxes of its set-up "
                     "sheet; without --out it is printed")
    sub.add_argument("--out", metavar="DIR", help="folder for sheet, fit and car file")
    sub.add_argument("--only-numbers", action="store_true", help="leave out what is measured on shapes")
    sub.add_argument("--fail-on", choices=[one.value for one in checks.SEVERITIES], default="error", metavar="LEVEL",
                     help="lowest severity of a finding that counts: error (default), warning or advice")
    sub.add_argument("--event-date", metavar="YYYY-MM-DD", help="as of check")
    sub.add_argument("--rules", metavar="FILE.yaml", action="append", default=[], help="an additional rule set; may be repeated")
    on_paper(sub, "the car's title_block.sheet_size, else A4 in a car of millimeters, A in one of inches")
    sub = command("sheets", "Draw the sheets of a car file or a saved document.")
    sub.add_argument("document", metavar="FILE", help=FILE)
    sub.add_argument("--out", required=True, metavar="DIR", help="folder for the sheets")
    on_paper(sub, "the car's title_block.sheet_size, else A4 and A3 in a car of millimeters, A and B in one of inches")
    sub.add_argument("--stock", type=_stock, metavar="LENGTHxWIDTH",
                     help="also nest the flat patterns on sheets of this size, for each material and thickness: '96 in x 48 in'")
    sub = command("picture", "Paint a shaded picture of a car file or a saved document.")
    sub.add_argument("document", metavar="FILE", help=FILE)
    sub.add_argument("--out", required=True, metavar="PICTURE.png", help="picture file; an existing one is replaced")
    sub.add_argument("--view", choices=tuple(VIEWS), default=next(iter(VIEWS)), metavar="VIEW",
                     help=f"where it is seen from: {', '.join(VIEWS)}")
    sub.add_argument("--size", default="1600x900", metavar="WIDTHxHEIGHT", help="in pixels (default 1600x900)")
    sub = command("example", "Write an example car file to start from (every number invented).")
    sub.add_argument("--out", required=True, metavar="DIR", help="folder for the car file; an existing file is not overwritten")
    sub.add_argument("--clutch", action="store_true", help="the open-bodied clutch car instead of the automatic")
    sub.add_argument("--minimal", action="store_true", help="only what a car begins with: chassis, engine, transmission and placement")
    sub = command("intake", "Write a form for what a customer measures before a kit is made, and a car file with the same keys to "
                            "fill in.")
    sub.add_argument("--out", required=True, metavar="DIR", help="folder for form and car file; existing files are not overwritten")
    sub.add_argument("--units", choices=("in", "mm"), default="in", metavar="UNITS", help="in (default) or mm: units of lengths")
    on_paper(sub, "A for inches, A4 for millimeters")
    return top


def _window(command: Callable[..., argparse.ArgumentParser]) -> None:
    """What ``window`` takes."""
    sub = command("window", "Show where the powertrain may go: over axle-to-block, crank height and pitch, what the rules say of each "
                            "placement, which rule binds on each edge, and the best one.")
    sub.add_argument("car", metavar="FILE", help=FILE)
    sub.add_argument("--out", required=True, metavar="DIR",
                     help="folder for window.csv (every placement), window.json, and window.png, .svg and .pdf")
    sub.add_argument("--axle-to-block", metavar="VALUES", help="80..85in/0.05in, or a list (default: 3 in each way from the car's own)")
    sub.add_argument("--crank-height", metavar="VALUES",
                     help="the same, at the station that the car file names (default: 1 1/2 in each way)")
    sub.add_argument("--pitch", metavar="VALUES", help="1.9,2.0,2.1deg, or parallel, in_line or balanced (default: the car's own)")
    sub.add_argument("--at", metavar="X,Z",
                     help="one placement to look at by itself, such as '83.5in,10in', at the first pitch: its parts are made and every "
                     "rule is checked, clearances included")
    sub.add_argument("--weights", metavar="NAME=N,...", help="what counts in the best placement: "
                     + "; ".join(f"{name}: {meaning}" for name, meaning in WEIGHTS.items())
                     + f" (default {','.join(f'{name}={weight:g}' for name, weight in DEFAULT.items())})")
    sub.add_argument("--front-share", type=_portion, metavar="SHARE",
                     help="weight on the front wheels that the weight 'split' asks for, 0 to 1")
    sub.add_argument("--level", choices=[one.value for one in checks.SEVERITIES], default="warning", metavar="LEVEL",
                     help="least severity of an open rule that closes a placement: error, warning (default) or advice")
    sub.add_argument("--ignore", metavar="RULE", action="append", default=[],
                     help="a rule that closes no placement, such as one about a chassis that is not built yet; may be repeated")
    sub.add_argument("--border", action="store_true", help="also find the border by bisection, for window.json")
    sub.add_argument("--exact-border", action="store_true",
                     help="from the placement of --at (else the best one) find the border in four directions by making the car and "
                     "checking everything, clearances too, at some 25 placements; takes minutes")
    sub.add_argument("--records", metavar="DIR", action="append", default=[],
                     help=f"folder with placement records, drawn as dots; may be repeated; without it those of {collection.VARIABLE}")
    sub.add_argument("--rules", metavar="FILE.yaml", action="append", default=[], help="an additional rule set; may be repeated")


def _portion(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0.0 < value < 1.0:
        raise argparse.ArgumentTypeError(f"found {text!r}; use a share between 0 and 1, such as 0.50")
    return value


def _records(commands: Any, command: Callable[..., argparse.ArgumentParser]) -> None:
    """What ``records`` takes."""
    text = "Placement records of past cars: add, list, show, import, check, and what they suggest for a car."
    whole = commands.add_parser("records", help=text, description=text, epilog=CAUTION)
    among = whole.add_subparsers(dest="what", metavar="WHAT", required=True, parser_class=commands._parser_class)

    def one(name: str, text: str) -> argparse.ArgumentParser:
        sub = command(name, text, among)
        sub.add_argument("--records", metavar="DIR", action="append", default=[],
                         help=f"folder with files of records; may be repeated; without it those that {collection.VARIABLE} names")
        return sub

    def shown(sub: argparse.ArgumentParser) -> None:
        sub.add_argument("--units", choices=("in", "mm"), metavar="UNITS", help="in or mm: units shown (default: in, or the car's)")
        sub.add_argument("--json", action="store_true", help="as JSON")

    def written(sub: argparse.ArgumentParser) -> None:
        sub.add_argument("--file", metavar="NAME.yaml", default=collection.FILE,
                         help=f"file in the first folder to add to (default {collection.FILE}); what is in it is not changed")

    fields = f"Fields: {'; '.join(f'{entry.key}: {entry.doc}' for entry in entries(PlacementRecord).values())}."
    sub = one("add", "Add a car, where its engine is, and how it ran.")
    sub.add_argument("car", metavar="FILE", help=FILE)
    sub.add_argument("--result", metavar="FIELD=VALUE", action="append", default=[],
                     help="a figure that the car does not hold, or another value than the car's: sixty_foot=1.32, left=straight, "
                     "power=900hp, date=2027-03-01; may be repeated")
    sub.add_argument("--name", help="name of the record (default: made from the car's)")
    written(sub)
    sub.epilog = fields
    sub = one("list", "List records, a line each.")
    sub.add_argument("--csv", action="store_true", help="as comma-separated text that import reads")
    shown(sub)
    sub = one("show", "Show all that records hold.")
    sub.add_argument("names", metavar="NAME", nargs="+", help="name of a record")
    shown(sub)
    sub = one("import", "Import records from comma-separated text, one a row; a wrong row is reported and left out.")
    sub.add_argument("csv", metavar="FILE.csv",
                     help="its first line names the columns: fields with their unit, such as axle_to_block [in]; a column named name "
                     "holds the names of the records")
    sub.add_argument("--basis", choices=("measured", "told", "invented"), default="told", metavar="BASIS",
                     help="measured, told (default) or invented: where the figures of rows that do not say it come from")
    written(sub)
    sub.epilog = fields
    sub = one("check", "Point out duplicates, figures in the wrong unit, and figures far from the others; nothing is changed.")
    shown(sub)
    sub = one("suggest", "Estimate from the records where a car's engine goes: the nearest ones, an estimate with its interval, or why "
                         "there is none.")
    sub.add_argument("car", metavar="FILE", help=FILE)
    sub.add_argument("--given", metavar="FIELD=VALUE", action="append", default=[],
                     help="a figure that the car does not hold, or another value than the car's, such as power=900hp; may be repeated")
    sub.add_argument("--nearest", type=_count, default=5, metavar="N", help="how many of the nearest records to show (default 5)")
    shown(sub)


def _stock(text: str) -> tuple[float, float]:
    """Length and width of sheets of stock, mm."""
    sides = text.split("x")
    try:
        length, width = (units.parse(side.strip(), "length") for side in sides)
    except ValueError as error:
        raise argparse.ArgumentTypeError(f"found {text!r}; give two lengths with their units, such as '96 in x 48 in'") from error
    if not min(length, width) > 0.0:
        raise argparse.ArgumentTypeError(f"found {text!r}; both sides must be greater than 0")
    return length, width


@dataclass(frozen=True)
class LookedInto:
    """What --remedies asks for: as it was written, the effort, and the number of findings that are looked into, None for all."""
    text: str
    effort: float
    most: int | None


def _looked_into(text: str) -> LookedInto:
    from . import remedies
    known = {"quick": (remedies.EFFORT, None), "all": (remedies.ALL, None), "none": (0, 0)}
    if text in known:
        return LookedInto(text, *known[text])
    if not text.isdecimal():
        raise argparse.ArgumentTypeError(f"found {text!r}; use all, none or a number of findings")
    return LookedInto(text, remedies.ALL, int(text))


def _share(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0.0 <= value < 1.0:
        raise argparse.ArgumentTypeError(f"found {text!r}; use a share from 0 to 1, such as 1e-6")
    return value


def _count(text: str) -> int:
    if not re.fullmatch(r"[1-9][0-9]{0,3}", text):
        raise argparse.ArgumentTypeError(f"found {text!r}; use a number from 1 to 9999")
    return int(text)


def _seconds(text: str) -> float:
    if not re.fullmatch(r"[0-9]{1,6}(\.[0-9]+)?", text) or float(text) < 1.0:
        raise argparse.ArgumentTypeError(f"found {text!r}; use a number of seconds, 1 or more")
    return float(text)


def folder_of(session: Session, name: str) -> Path:
    """The folder for the results of a run; Refused where it is a file."""
    folder = Path(name)
    if folder.exists() and not folder.is_dir():
        raise Refused(f"--out: {folder} is a file; give a folder")
    session.target = folder
    return folder


def file_of(name: str) -> Path:
    """A car file or document; Refused where there is none."""
    path = Path(name)
    if not path.is_file():
        raise Refused(f"{path}: there is no such file; give a {FILE}")
    return path


def fresh(command: str, target: Path) -> Path:
    """A file that a command writes and never overwrites; Refused where it is there already."""
    if target.exists():
        raise Refused(f"{command}: {target} already exists and was not overwritten; give another folder")
    return target
