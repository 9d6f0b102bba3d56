"""The steps in which a kit is built into a car, in their order, by what the car has."""
from __future__ import annotations

from . import instruction_finishing as finishing
from . import instruction_fitting as fitting
from . import instruction_setting as setting
from .instruction_step import Kit, Section

FITTING = (setting.ready, setting.assembled, setting.placed, fitting.tacked, fitting.mounted, fitting.contained)
FINISHING = (finishing.measured, finishing.welded, finishing.finished, finishing.serviced)
"""What makes each section, None where a car has nothing for it: all parts are in the car before anything is welded."""


def sections(kit: Kit) -> tuple[Section, ...]:
    """The sections of a car; one without steps is left out. Texts are in the units that people read now (``units.read_in``)."""
    fitted = [section for make in FITTING if (section := make(kit)) is not None]
    finished = [section for make in FINISHING if (section := make(kit)) is not None]
    return tuple(section for section in (*fitted, fitting.others(kit, fitted), *finished) if section.steps)
