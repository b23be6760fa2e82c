"""What is typed around a soak beside plain readings: a fuse's cap, and what is told of the mains winding."""

from __future__ import annotations

from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.session.bench import Bench
from benchtui.session.fuse_cap import Cap, differs, marking
from benchtui.session.shutting import judged
from benchtui.session.tables import table
from benchtui.verdicts.judge import judge


def other_fuse(bench: Bench, cap: Cap) -> str:
    """Why a fuse with this cap is not the one that the build file has there; "" if it is."""
    fuse = bench.build.fuse[bench.ask.subject.removeprefix("fuse ")]
    wrong = differs(cap, fuse)
    return table("words")["fuse"][wrong].format(says=marking(fuse)) if wrong else ""


def of_winding(bench: Bench, entry: str) -> c.Command | e.Event | None:
    """What is told of the winding: that it is left, or that its temperature is seen.

    Once its readings are in, it is left no more where they say that it is too warm: a reason goes on from that.
    """
    if bench.ask.kind == "winding warned":
        return None
    word, colon, reason = entry.partition(":")
    found = judged(bench) if bench.ask.kind == "winding judged" else None
    if word.strip() == "skip" and not _too_warm(found):
        return e.WindingLeft(reason.strip()) if colon and reason.strip() else None
    return found if entry == "noted" else None


def _too_warm(found: c.JudgeWinding | e.WindingLeft | None) -> bool:
    return isinstance(found, c.JudgeWinding) and judge(found.celsius, found.expectation).verdict != "pass"
