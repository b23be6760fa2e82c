"""A repair as the bench tells it: the fields of its prompts, what is said of its events, and how it ended."""

from __future__ import annotations

from collections.abc import Mapping

from benchtui.procedure import events as e
from benchtui.quantities.clean import clean
from benchtui.session.bench import Bench
from benchtui.session.forecasts import retest_key
from benchtui.session.repairs import choices, counts, parts_asked, retested
from benchtui.session.tables import table
from benchtui.session.view import Banner

#: Names of readings that are listed; the others are counted.
_NAMED = 6


def repair_fields(bench: Bench) -> Mapping[str, str]:
    """The fields of the prompts of a repair; "" where they do not apply."""
    fuses = [f"{id}{f', {fuse.role}' if fuse.role else ''}" for id, fuse in bench.build.fuse.items()]
    found = dict.fromkeys(("choices", "named", "again", "listed", "listed_names"), "")
    found |= {"fuses": "; ".join(fuses), "repair": _ended(bench)}
    if bench.ask.kind == "told" and bench.ask.subject == "symptoms":
        listed = enumerate(choices(bench.build, "symptoms").values(), 1)
        found["choices"] = ", ".join(f"{k} {says}" for k, says in listed)
    return found | (_of_retest(bench) if bench.ask.kind == "retest" else {})


def _of_retest(bench: Bench) -> dict[str, str]:
    """What is read again, in words, and whether there is a list at all."""
    words, parts = table("repair")["words"], parts_asked(bench.state)
    named = ", ".join(parts)
    listed = bench.forecasts.retest(retest_key(bench.state))
    if listed is None:
        return {"named": named, "again": words["failed"].format(parts=named)}
    of = retested(bench.plan, parts, listed.ohms, listed.spared)
    n, whole = counts(bench.plan, of)
    points = [*bench.plan.whole.checks.points, *bench.plan.whole.power.points] if bench.plan.whole else []
    names = [p.name for p in points if p.id not in of.spared and (p.id in of.again or p.quantity != "resistance")]
    more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
    again = words["listed" if n < whole else "all"].format(n=n, of=whole, parts=named)
    told = f"Again: {', '.join(names[:_NAMED])}{more}."
    return {"named": named, "again": again, "listed": "listed|", "listed_names": clean(told)}


def _ended(bench: Bench) -> str:
    """What the repair came to, where there is one."""
    if not bench.state.repair:
        return ""
    words, book = table("repair")["words"], bench.notebook
    found = "; ".join(each or words["open_summary"] for each in book.causes)
    if book.retests:
        n, whole = counts(bench.plan, book.retests[-1])
        found = words["read_again"].format(found=found, n=n, of=whole)
    return words["summary"].format(number=book.repairs, found=found)


def said(bench: Bench, event: e.Event) -> Banner | None:
    """What is said of an event of a repair; None for any other."""
    words = table("repair")["words"]
    match event:
        case e.BrokeDown():
            return Banner("info", words["begun"])
        case e.BroughtBack():
            return Banner("info", table("compared")["begun"])
        case e.CauseOpen():
            return Banner("info", words["open"])
        case e.CauseFound(parts=()) if bench.state.repair:
            return Banner("info", words["unnamed"])
        case e.Retest(parts=parts):
            n, whole = counts(bench.plan, event)
            key = "listed" if n < whole else "all"
            return Banner("info", clean(words[key].format(n=n, of=whole, parts=", ".join(parts))))
    return None
