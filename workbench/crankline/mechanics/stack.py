"""What the plates between block and transmission do: converter gap, dowels, pilot, pump, bellhousing and input shaft.

Protector and mid plate move the transmission back by their thickness while the crankshaft stays. An automatic's converter
then stands farther from the flexplate when it is pushed home into the pump: the gap *widens* by the plates, and spacers
between converter pads and flexplate take it back. A clutch transmission's input shaft comes back with it. mm throughout.
"""
from __future__ import annotations

from dataclasses import dataclass

from .. import model
from ..record import filled
from ..units import INCH
from .scene import Stack

CONVERTER_GAP = (INCH / 8.0, 3.0 * INCH / 16.0)
"""Converter pads to flexplate with the converter pushed home: 1/8 to 3/16 in; common practice, no source."""


@dataclass(frozen=True)
class StackFit:
    """The arithmetic of one stack, mm. None where the records do not say enough, or where it is another kind of car.

    plates: protector and mid plate together, how far back the transmission goes and how much longer every bolt through
    the plates must be. dowel_in_bell: dowel standing out behind the plates; at or below 0 the bell is not located.
    thread_in_block: what of the bell's bolts stands in the block; at or below 0 they do not reach it.

    Automatic, all as against the same parts without plates and without spacers:
    converter_gap: between the spacers on the pads and the flexplate, converter pushed home; the converter is drawn forward
    by this when it is bolted up. Negative: the spacers push the converter into the pump. spacers_for_gap: pad spacers
    (least, greatest) that bring the gap into the band, never below 0. pilot_lost: how much less of the converter's nose
    stands in the crankshaft's pilot bore, that is the spacers. pump_lost: how much less of the hub's drive stands in the
    pump, that is plates less spacers. Both together are the plates.

    Clutch: input_ahead_of_block: tip of the input shaft ahead of the block's rear face, to be compared with where the pilot
    bearing sits; at or below 0 it does not even reach the block.
    pilot_lost: how much less of the input shaft stands in the pilot bearing, that is the plates: nothing restores it but a
    longer input or a shorter bellhousing.
    """
    kind: str
    plates: float
    dowel_in_bell: float | None
    converter_gap: float | None = None
    spacers_for_gap: tuple[float, float] | None = None
    pilot_lost: float | None = None
    pump_lost: float | None = None
    input_ahead_of_block: float | None = None
    thread_in_block: float | None = None

def stack_fit(engine: model.Engine, transmission: model.Transmission, stack: Stack) -> StackFit:
    """The stack's arithmetic for one engine, transmission and pair of plates."""
    engine, transmission = filled(engine), filled(transmission)
    plates = stack.total
    dowel = None if engine.dowel_length is None else engine.dowel_length - plates
    bolts = transmission.bell_bolts
    thread = None if bolts is None else bolts.length - bolts.flange - plates
    if transmission.kind == "automatic":
        spacers = transmission.pad_spacers
        gap = band = None
        if transmission.gap_without_plates is not None:
            bare = transmission.gap_without_plates + plates
            gap = bare - spacers
            band = max(0.0, bare - CONVERTER_GAP[1]), max(0.0, bare - CONVERTER_GAP[0])
        return StackFit("automatic", plates, dowel, converter_gap=gap, spacers_for_gap=band, pilot_lost=spacers,
                        pump_lost=plates - spacers, thread_in_block=thread)
    beyond = transmission.input_beyond_bell_face
    return StackFit("manual", plates, dowel, pilot_lost=plates,
                    input_ahead_of_block=None if beyond is None else beyond - plates,
                    thread_in_block=thread)
