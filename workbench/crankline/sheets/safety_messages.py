"""Safety messages on sheets, as ANSI Z535.6 has them: a signal word, the hazard, what it does, and how it is avoided; grouped at the head
of a document, and again before the steps that they concern.

Pure: words and where they are drawn.
"""
from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from .drawing import Circle, Line, Polyline, Primitive, Text, text_width, wrapped

DANGER, WARNING, CAUTION, NOTICE = "DANGER", "WARNING", "CAUTION", "NOTICE"
SIGNALS = (DANGER, WARNING, CAUTION, NOTICE)
"""Signal words, the gravest first (ANSI Z535.6): death or serious injury that will happen, that could happen, minor injury, damage only."""
MEANING = {DANGER: "will kill or seriously injure if it is not avoided", WARNING: "could kill or seriously injure if it is not avoided",
           CAUTION: "could cause minor injury if it is not avoided", NOTICE: "can damage parts; nobody is hurt"}
"""What each signal word says."""


@dataclass(frozen=True)
class Message:
    """One message: its signal word and three sentences."""
    signal: str
    hazard: str
    consequence: str
    avoid: str

    @property
    def text(self) -> str:
        """The message without its signal word."""
        return f"{self.hazard} {self.consequence} {self.avoid}"


SHAFT = Message(DANGER, "Driveshaft that turns without its loops and enclosure.",
                "A broken shaft strikes the driver and kills.",
                "Never start the car in gear before every loop, the enclosure and every pin is in and checked.")
CRUSH = Message(WARNING, "Hanging engine and transmission.", "They fall and crush hands, feet and bodies.",
                "Use a hoist and stands that are rated for the load; keep everybody out from under it; steady it by its ends.")
ARC = Message(WARNING, "Arc, hot metal, fumes and fire.", "Burned skin and eyes, poisoned lungs, a burning car.",
              "Take fuel out of the car; clean plating, paint, oil and solvent off first; wear helmet, gloves and jacket; keep air moving "
              "and an extinguisher at hand.")
WELDS = Message(WARNING, "Welds that hold the powertrain and the driveshaft's containment.", "A weld that breaks lets them loose.",
                "Only a welder who is qualified for this material and this section makes these welds.")
DROP = Message(WARNING, "Transmission whose mount is being taken off.", "It drops as soon as the bolts are out and crushes hands.",
               "Put a jack under it and take up its weight before the first bolt is loosened.")
CHASSIS = Message(WARNING, "Car on stands.", "It falls and crushes whoever is under it.",
                  "Use four stands that are rated for the load, on a hard level floor; push the car sideways before anybody goes under it.")
PINCH = Message(CAUTION, "Mount tube that slides and folds.", "It pinches fingers.", "Hold the tube, not the receiver.")
EDGES = Message(CAUTION, "Laser-cut edges.", "They cut hands.", "Wear gloves; break every edge before fitting.")
CURRENT = Message(NOTICE, "Welding current and heat.", "They destroy control units, bearings and seals.",
                  "Disconnect battery and control units; clamp the ground beside the weld; cover what is near.")
PLATES = Message(NOTICE, "Aluminum plates.", "Heat takes their strength away.", "Never weld, heat or bend them; cover them while welding.")
MARKS = Message(NOTICE, "Parts that look alike and are not.", "The wrong one does not fit, or holds less.",
                "Read the mark on every part before it is fitted.")


def grouped(messages: Iterable[Message]) -> tuple[tuple[str, tuple[Message, ...]], ...]:
    """Each signal word that occurs, the gravest first, with its messages, each once and in the order in which they were given."""
    once = tuple(dict.fromkeys(messages))
    found = ((signal, tuple(one for one in once if one.signal == signal)) for signal in SIGNALS)
    return tuple((signal, own) for signal, own in found if own)


WORD, LETTER, STEP = 3.0, 2.5, 3.9
"""Height of the signal word's letters and of the text's, from one line of text to the next, mm."""
HEAD = WORD + 2.4
"""Height of the panel with the signal word, mm."""


def height(messages: Iterable[Message], width: float) -> float:
    """Height that messages need at a width, mm."""
    return sum(HEAD + 1.0 + STEP * sum(len(lines) for lines in _lines(own, width)) + 2.2 for _signal, own in grouped(messages))


def draw(messages: Iterable[Message], x: float, top: float, width: float) -> tuple[list[Primitive], float]:
    """Messages hung from their upper left corner, a frame for each signal word: items and the height of the lower edge."""
    found: list[Primitive] = []
    y = top
    for signal, own in grouped(messages):
        low = y - HEAD - 1.0 - STEP * sum(len(lines) for lines in _lines(own, width)) - 1.2
        found += [Polyline(((x, low), (x + width, low), (x + width, y), (x, y)), "outline", True),
                  Line(x, y - HEAD, x + width, y - HEAD, "outline")]
        start = x + 2.0
        if signal != NOTICE:
            found += _alert(start + 2.2, y - HEAD / 2.0)
            start += 6.4
        found.append(Text(start, y - HEAD / 2.0 - WORD / 2.0, signal, WORD, bold=True))
        y -= HEAD + 1.0
        for lines in _lines(own, width):
            found.append(Circle(x + 2.6, y - STEP + 1.2, 0.55, "thin", "black"))
            for line in lines:
                y -= STEP
                found.append(Text(x + 4.4, y, line, LETTER))
        y = low - 1.0
    return found, y + 1.0


def _lines(messages: Iterable[Message], width: float) -> list[list[str]]:
    return [wrapped(one.text, LETTER, width - 6.4) for one in messages]


def _alert(x: float, y: float) -> list[Primitive]:
    """The safety alert symbol around a point: an exclamation mark in a triangle. NOTICE, which is not about people, has none."""
    half, up, down = 2.2, 2.1, 1.7
    return [Polyline(((x - half, y - down), (x + half, y - down), (x, y + up)), "outline", True),
            Line(x, y + 0.9, x, y - 0.5, "visible"), Circle(x, y - 1.1, 0.25, "thin", "black")]


def meanings(signals: Iterable[str], width: float) -> list[str]:
    """What signal words mean, in lines no longer than a width in mm."""
    told = (f"{signal}: {MEANING[signal]}." for signal in signals)
    return [line for text in told for line in (wrapped(text, LETTER, width) if text_width(text, LETTER) > width else [text])]
