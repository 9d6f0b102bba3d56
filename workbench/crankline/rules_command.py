"""What ``rules`` does: the rules of a car's sets, whether each applies to it, and why."""
from __future__ import annotations

from pathlib import Path

from . import carfile
from .command_line import Refused
from .exit_codes import CLEAN
from .mechanics import scene
from .record import filled
from .rules import rule_list
from .rules import rule_sets as sets
from .rules.rule_sets import RuleError
from .session import Session
from .snapshot import Snapshot
from .source import SourceError


def run(session: Session, options) -> int:
    """The rules that apply to a car, and why; no document is made."""
    session.stage(f"reading {Path(options.car).name}")
    try:
        car = carfile.read(options.car)
        selection = sets.select(filled(car).rules.sets, options.rules)
    except (RuleError, SourceError) as error:
        raise Refused(str(error)) from None
    try:
        place = scene.of(car)
    except scene.SceneError:
        place = None   # the chassis stands in sketches; triggers need no placement
    listed = rule_list.listing(selection.rules, Snapshot(car, place, ()))
    session.say(rule_list.json_text(listed, options.applies) if options.json else rule_list.text(listed, options.applies))
    return CLEAN
