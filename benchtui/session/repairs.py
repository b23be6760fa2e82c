"""A finished amplifier that stopped working: what is told of it, which parts that names, and what is read again."""

from __future__ import annotations

import re
from collections.abc import Iterable

from benchtui.buildfile.inventory import parts
from benchtui.buildfile.models import Build
from benchtui.procedure import events as e
from benchtui.procedure.plan import Plan, always_read
from benchtui.procedure.state import State
from benchtui.session.tables import table

#: Questions at the beginning of a repair, in their order; those about fuses only where there are any.
STORY = ("fuse", "look", "smell", "before", "symptoms")
_OF_FUSES = ("fuse", "look")

#: What is typed instead of an answer.
SKIP = "skip"

#: What a name of a part is made of.
_NAME = re.compile(r"[\w.]+")

#: Longest answer that is kept whole.
LONGEST = 400


def story(build: Build) -> tuple[str, ...]:
    """The questions at the beginning of a repair of `build`."""
    return tuple(each for each in STORY if build.fuse or each not in _OF_FUSES)


def named(build: Build, text: str) -> tuple[str, ...]:
    """The parts of `build` that `text` names, in the order of the build; a section or winding names its whole part.

    A name with a number in it is taken in either case, any other only as it is written: "load" is no name.
    """
    tokens = {token.strip(".") for token in _NAME.findall(text)}
    folded = {token.casefold() for token in tokens if any(letter.isdigit() for letter in token)}
    found = [id for id, meant in _names(build) if id in tokens or id.casefold() in folded for id in (meant,)]
    return tuple(dict.fromkeys(found))


def _names(build: Build) -> Iterable[tuple[str, str]]:
    """Every name that may be typed, and the part that it means."""
    of_winding = {winding: id for id, part in build.transformer.items() for winding in part.windings}
    for id in build.transformer:
        yield id, id
    for listed in parts(build):
        yield listed.id, of_winding.get(listed.id, listed.id)
    for id, valve in build.valve.items():
        for section in (*(valve.sections or ()), *(f"{id}{letter}" for letter in "abcd")):
            yield section, id


def told(build: Build, question: str, text: str) -> e.Told | None:
    """What `text` tells as an answer to `question`; None where it is none."""
    said = " ".join(text.split())
    entry = said.casefold()
    if entry == SKIP:
        return e.Told(question, "", (), ("fuse", "look") if question == "fuse" else (question,))
    if question == "fuse":
        return _fuse(build, said, entry)
    if question in ("look", "symptoms"):
        ids = _chosen(build, question, entry)
        return e.Told(question, said, ids, (question,)) if ids else None
    return e.Told(question, said[:LONGEST], (), (question,))


def _fuse(build: Build, said: str, entry: str) -> e.Told | None:
    if entry == "none":
        return e.Told("fuse", said, (), ("fuse", "look"))
    known = {id.casefold(): id for id in build.fuse}
    words = re.split(r"[\s,;]+", entry)
    if not all(word in known for word in words if word != "and"):
        return None
    return e.Told("fuse", said, tuple(known[word] for word in words if word != "and"), ("fuse",))


def choices(build: Build, question: str) -> dict[str, str]:
    """What may be answered to a question with a choice: id = words; one channel only where there are more."""
    listed = table("repair")[question]
    return {id: says for id, says in listed.items() if id != "one-channel" or len(build.channels) > 1}


def _chosen(build: Build, question: str, entry: str) -> tuple[str, ...]:
    """The choices that a line names, by their numbers or the beginnings of their words; () where one is unknown."""
    listed = list(choices(build, question).items())
    found = []
    for each in filter(None, (word.strip() for word in re.split(r"[,;]|\band\b", entry))):
        numbers = each.split()
        if all(number.isascii() and number.isdigit() for number in numbers):
            rows = [listed[int(number) - 1] for number in numbers if 1 <= int(number) <= len(listed)]
            meant = [id for id, _ in rows] if len(rows) == len(numbers) else []
        else:
            meant = [id for id, says in listed if says.casefold().startswith(each)]
            meant = meant if len(meant) == 1 else []
        if not meant:
            return ()
        found += meant
    return tuple(dict.fromkeys(found))


def retested(plan: Plan, parts_: tuple[str, ...], again: Iterable[str], spared: Iterable[str]) -> e.Retest:
    """What is settled by the list of a forecast: without power `again` and all that the build file does not list, and
    with it all but `spared`, as far as the gate lets anything be left out."""
    whole = plan.whole
    if whole is None:
        return e.Retest(parts_, (), ())
    phase = whole.power
    always = always_read(phase) | ({phase.ht.id} if phase.ht else set())
    here = {point.id for point in phase.points}
    left_out = tuple(id for id in spared if id in here - always)
    computed = (point.id for point in whole.checks.points if point.computed)
    return e.Retest(parts_, (*_looked_at(plan), *again, *computed), left_out)


def everything(plan: Plan, parts_: tuple[str, ...]) -> e.Retest:
    """Every check without power and every reading with it."""
    checks = plan.whole.checks.points if plan.whole else ()
    return e.Retest(parts_, (*_looked_at(plan), *(point.id for point in checks)), ())


def _looked_at(plan: Plan) -> tuple[str, ...]:
    """The looks, which are always taken once more: hands were in."""
    return tuple(step.id for step in plan.whole.checks.steps) if plan.whole else ()


def counts(plan: Plan, of: e.Retest) -> tuple[int, int]:
    """How many readings are made again, and of how many."""
    if plan.whole is None:
        return 0, 0
    cold, live = plan.whole.checks.points, plan.whole.power.points
    again = sum(point.id in of.again for point in cold) + sum(point.id not in of.spared for point in live)
    return again, len(cold) + len(live)


def parts_asked(state: State) -> tuple[str, ...]:
    """The parts that were named as replaced and are still to be settled."""
    return tuple(sorted(state.replaced))
