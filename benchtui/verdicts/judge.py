"""Judge a reading against its window and limits: the reasons come with the verdict."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, isfinite, isnan
from typing import Literal

from benchtui.verdicts.expectation import Expectation

Verdict = Literal["pass", "warn", "stop"]

#: A reading this many times over or under the nominal is asked again: a slip of the decimal point makes ten, and what
#: is read need not be the nominal. Common practice, no source.
SLIP = 5.0


@dataclass(frozen=True, slots=True)
class Judgement:
    """A verdict, its reasons, and the rule that decided: "window", "limit", "sign", "open" or "unknown"."""

    verdict: Verdict
    reasons: tuple[str, ...]
    rule: str

    @property
    def passed(self) -> bool:
        return self.verdict == "pass"


def judge(value: float, expectation: Expectation) -> Judgement:
    """The verdict on `value` (SI; infinite for open ohms).

    Stop beyond a limit, at once and before anything else; pass only inside a known window; else warn. A value
    or limit that is no number is a stop, a window that is not known never a pass.
    """
    if isnan(value) or (value == inf and expectation.unit != "ohm") or value == -inf:
        return Judgement("stop", ("the reading is no number, so nothing is known",), "unknown")
    hints = _hints(value, expectation)
    beyond = _beyond(value, expectation)
    if beyond:
        return Judgement("stop", (*beyond, *hints), "limit")
    if isnan(expectation.nominal):
        return Judgement("warn", ("no value could be computed for this point in this stage",), "unknown")
    if expectation.low <= value <= expectation.high:
        return Judgement("pass", (), "window")
    if hints:
        return Judgement("warn", hints, "sign" if value != inf else "open")
    if value < expectation.low:
        return Judgement("warn", ("lower than healthy builds read here",), "window")
    if value > expectation.high:
        return Judgement("warn", ("higher than healthy builds read here",), "window")
    return Judgement("warn", ("no window is known for this point",), "unknown")


def doubtful(value: float, expectation: Expectation) -> bool:
    """Is it over five times or under a fifth of the nominal, so that range or decimal point may have slipped?

    Never for a reading that passes; a stop is shown first, whatever this says.
    """
    nominal = abs(expectation.nominal)
    if not isfinite(nominal) or nominal == 0 or judge(value, expectation).passed:
        return False
    return not nominal / SLIP <= abs(value) <= nominal * SLIP


def _beyond(value: float, expectation: Expectation) -> tuple[str, ...]:
    low, high = expectation.stop_low, expectation.stop_high
    reasons = []
    if low is not None and not value >= low.value:
        reasons.append(low.reason)
    if high is not None and not value <= high.value:
        reasons.append(high.reason)
    return tuple(reasons)


def _hints(value: float, expectation: Expectation) -> tuple[str, ...]:
    """What the meter itself may explain: leads swapped, or nothing connected."""
    if value == inf and not expectation.high == inf:
        return ("it reads open: a joint, a part or a probe makes no contact",)
    if value * expectation.nominal < 0 and expectation.low <= -value <= expectation.high:
        return ("the size is right and the sign is wrong: leads swapped?",)
    if value * expectation.nominal < 0 and not expectation.low <= value <= expectation.high:
        return ("the sign is wrong: leads swapped, or the wrong point?",)
    return ()
