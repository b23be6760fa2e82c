"""Rules of the review for the amplifier with a signal: does its loop come to rest, what does full power take?"""

from __future__ import annotations

from collections.abc import Iterator

from benchtui.buildfile.stages import SIGNAL
from benchtui.circuit.signal import response
from benchtui.forecast.full_drive import borne
from benchtui.forecast.results import Finding
from benchtui.forecast.review_state import Walk
from benchtui.forecast.signal_bench import nominal_channel
from benchtui.forecast.signal_path import signal_paths
from benchtui.parts.guide import guide
from benchtui.quantities.show import show


def feedback(walk: Walk) -> Iterator[Finding]:
    """A loop that oscillates, or is near to it, as far as leakage and capacitance of its transformer are known."""
    if SIGNAL not in walk.states:
        return
    most = guide("signal.peak")
    for path in signal_paths(walk.build):
        if not path.feedback:
            continue
        of = nominal_channel(walk.build, path, None, "closed")
        if not of.operating.settled[0]:
            continue
        if not of.stable[0]:
            text = f"with {path.feedback} on, the amplifier oscillates as the file has it: compensation is wanted"
            yield Finding("warn", SIGNAL, path.feedback, "feedback-oscillates", text, None, None, "the circuit engine")
            continue
        found = response(of.operating, of.source, of.load)
        for end, peak in (("low", found.low_peak_db[0]), ("high", found.high_peak_db[0])):
            if peak > most.value:
                text = f"with {path.feedback} on, the gain rises by {peak:.1f} dB at the {end} end: near to oscillating"
                yield Finding(
                    "warn", SIGNAL, path.feedback, "feedback-peaks", text, float(peak), most.value, most.source
                )


def full_power(walk: Walk) -> Iterator[Finding]:
    """What valves and supply bear under a sine just before clipping, at the highest mains.

    It lasts for seconds at the bench, so it is no more than a warn.
    """
    states = walk.states.get(SIGNAL)
    for each in borne(states) if states is not None else ():
        limit = each.ceiling or each.limit
        if each.high > limit:
            text = (
                f"{each.part} with a sine at full power and the highest mains: {each.quantity} "
                f"{show(each.high, each.unit, 3)}, beyond {show(limit, each.unit, 3)}: for seconds only"
            )
            yield Finding("warn", SIGNAL, each.part, "full-power", text, each.high, limit, each.source)
