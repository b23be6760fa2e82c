"""Time away from the bench: when it was too long, and the tag that hangs on the plug meanwhile."""

from __future__ import annotations

from benchtui.parts.guide import value as guide
from benchtui.procedure.state import Mode
from benchtui.quantities.clean import clean
from benchtui.session.bench import Bench
from benchtui.session.making import off_now
from benchtui.session.screen import stage_title
from benchtui.session.tables import table

#: The wall clock may be set back by so much by the computer's own corrections.
_CORRECTED_S = 60.0

_DAY_S = 86400.0

#: Modes in which a plug or a charge could be met by whoever comes by.
_TAGGED = (Mode.OFF_GATE, Mode.HANDS, Mode.CLOSING, Mode.POWERED)


def unwatched(left_s: float, now_s: float) -> str:
    """Why the chassis is to be looked over, by the record's last wall time and the present one; "" if it is not.

    The wall clock never shortens anything; where it has gone back nobody knows how long it was.
    """
    words = table("words")["away"]
    if now_s < left_s - _CORRECTED_S:
        return words["unknown"]
    days = (now_s - left_s) / _DAY_S
    return words["long"].format(days=round(days)) if days * _DAY_S >= guide("away.longest") else ""


def tag(bench: Bench) -> str:
    """What is written on the tag of the plug; "" where nobody could be hurt by plugging it in."""
    if bench.state.mode not in _TAGGED:
        return ""
    words = table("words")["tag"]
    left = "; ".join(filter(None, (bench.notebook.left, *off_now(bench.plan, bench.state))))
    loose = words["loose"].format(loose=left) if left else ""
    return words["tag"].format(name=clean(bench.build.name), stage=stage_title(bench), loose=loose)
