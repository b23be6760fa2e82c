"""The watcher's account of a soak: the last screw, rounds of readings, and a winding that cools."""

from __future__ import annotations

from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.plan import WINDING, Soak
from tests.procedure.seen import TICK, Facts, Seen, stops

#: What a winding has told after the end of a soak, once that is taken back.
NO_END = dict(off_s=-1, cooled=(), verdict="")


def closing(of: Facts, soak: Soak, s: Seen, phase: int, given: object) -> Seen | None:
    """An input between hands out and a soak; None where it is none of its own."""
    match given:
        case e.Covered(how="last screw") if s.clear and (s.back or of.inside(s, phase)):
            return s._replace(cover=True, screwed=True, outside=False)
        case e.Covered():
            return s
        case c.ReadPoint(point="touch", value=value) if s.cover:
            return s._replace(outside=90.0 <= value <= 150.0)
        case c.ReadRoom() if s.cover and _asked(soak, s):
            return s._replace(room=True, cold=False, **NO_END)
        case c.ReadWinding() if s.cover and _asked(soak, s) and s.room:
            return s._replace(cold=True)
        case e.WindingLeft() if _asked(soak, s):
            return _left(s)
    return None


def power(of: Facts, soak: Soak, s: Seen, phase: int, given: object) -> Seen | None:
    """An input while it soaks at full mains."""
    if s.limited:
        return None
    match given:
        case ("tick",):
            return s._replace(full=min(s.full + 1, int(soak.marks_s[-1])))
        case c.ReadMains(value_v=230.0):
            return s._replace(mains=True, stale=False, live=False)
        case c.ReadPoint(value=value) if of.reads(phase, given) and s.mains and not stops(given):
            if s.full < soak.marks_s[min(s.rounds, len(soak.marks_s) - 1)]:
                return s._replace(live=False)  # it is watched
            if s.stale:
                return s
            s = s._replace(live=False)
            return _round(soak, s) if value >= 90.0 else s._replace(passed=False, warned=True)
        case e.Accepted() if of.accepts(s, phase, given):
            return _round(soak, s)
    return None


def gate(of: Facts, soak: Soak, s: Seen, given: object) -> Seen | None:
    """An input at the gate after a soak."""
    proved = s.plug and s.dc and s.ac and s.dead and s.last
    later = 0 <= s.off_s < 3 and (not s.cooled or s.off_s > s.cooled[-1])
    enough = len(s.cooled) >= 2 and s.cooled[-1] - s.cooled[0] >= 1
    match given:
        case e.WindingLeft() if _asked(soak, s):
            return _left(s)
        case c.ReadWinding() if proved and _asked(soak, s) and later:
            return s._replace(cooled=(*s.cooled, s.off_s))
        case c.JudgeWinding(celsius=celsius) if celsius > 150.0:
            return s._replace(live=False, last=False)
        case c.JudgeWinding(celsius=celsius, lacks=lacks) if proved and _asked(soak, s) and enough:
            if lacks:
                return s._replace(verdict="read", unproved=s.unproved | {WINDING})
            if celsius < 90.0:
                return s._replace(verdict="warned")
            return s._replace(verdict="read", unproved=s.unproved - {WINDING})
        case e.Accepted(point=point, reason=reason) if point == WINDING and s.verdict == "warned" and reason.strip():
            return s._replace(verdict="read")
    return None


def ticked(s: Seen, given: object) -> Seen:
    """A second at the gate."""
    return s._replace(off_s=min(s.off_s + 1, 3)) if given is TICK and s.off_s >= 0 else s


def _asked(soak: Soak, s: Seen) -> bool:
    return soak.winding is not None and not s.left and not s.verdict


def _left(s: Seen) -> Seen:
    return s._replace(left=True, unproved=s.unproved | {WINDING})


def _round(soak: Soak, s: Seen) -> Seen:
    """Mains and point are due again at the next mark."""
    rounds = min(s.rounds + 1, len(soak.marks_s))
    over = rounds == len(soak.marks_s)
    return s._replace(rounds=rounds, stale=not over, passed=over, warned=False)
