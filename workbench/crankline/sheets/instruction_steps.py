"""The steps in which a kit is built into a car, in their order, by what the car has."""
from __future__ import annotations

from . import instruction_finishing as finishing
from . import instruction_fitting as fitting
from . import instruction_setting as setting
from .instruction_step import Kit, Section

ORDER = (setting.ready, setting.assembled, setting.placed, fitting.tacked, fitting.mounted, fitting.contained, finishing.measured,
         finishing.welded, finishing.finished, finishing.serviced)
"""What makes each section, None where a car has nothing for it."""


def sections(kit: Kit) -> tuple[Section, ...]:
    """The sections of a car; one without steps is left out. Texts are in the units that people read now (``units.read_in``)."""
    found = (make(kit) for make in ORDER)
    return tuple(section for section in found if section is not None and section.steps)
