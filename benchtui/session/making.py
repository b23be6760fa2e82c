"""What is made and stays made: what is typed of wires and holes, which are open, and what the page of a wire shows."""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import isnan

from benchtui.procedure import events as e
from benchtui.procedure.plan import Phase, Plan, Step, made_steps
from benchtui.procedure.state import State
from benchtui.quantities.clean import clean
from benchtui.quantities.sentence import capital, sentence
from benchtui.session.bench import Bench
from benchtui.session.drilling import with_one_tool
from benchtui.session.tables import table
from benchtui.session.view import ItemMark
from benchtui.session.wirelist import wire_list
from benchtui.session.wording import MADE_SAYS, UNDONE_SAYS
from benchtui.wiring.wires import Wire

#: Numbers of a list: "3", "3-5", "3, 7-9".
_NUMBERS = re.compile(r"\d{1,4}(-\d{1,4})?([\s,]+\d{1,4}(-\d{1,4})?)*")


def listed(bench: Bench) -> tuple[Step, ...]:
    """Everything of the kind that is asked now, made or not, as the phase that makes it has it in order."""
    step = made_steps(bench.plan.phases)[bench.ask.subject]
    return of_phase(next(phase for phase in bench.plan.phases if step in phase.steps), step.makes)


def of_phase(phase: Phase, kind: str) -> tuple[Step, ...]:
    """What a phase makes of a kind, in order."""
    return tuple(step for step in phase.steps if step.makes == kind)


def marks(bench: Bench) -> tuple[ItemMark, ...]:
    """The list that the present wire or hole belongs to, each with its number and whether it is made."""
    made, now = bench.state.made, bench.ask.subject
    return tuple(
        ItemMark(f"{n:>2}  {clean(step.text)}", "now" if step.id == now else "done" if step.id in made else "open")
        for n, step in enumerate(listed(bench), 1)
    )


def said(bench: Bench, entry: str) -> e.Made | None:
    """What "on", "on 3-5", "on 3 7" or "done all" says is made; None for anything else, or numbers not in the list."""
    kind = bench.ask.kind
    word, _, numbers = entry.partition(" ")
    if kind not in MADE_SAYS or word != MADE_SAYS[kind]:
        return None
    chosen = _chosen(listed(bench), numbers) if numbers else (bench.ask.subject,)
    if numbers == "all" and kind == "hole":
        chosen = with_one_tool(bench)
    steps = tuple(step for step in chosen if step not in bench.state.made)
    return e.Made(steps, word) if steps else None


def undone(bench: Bench, entry: str) -> e.Undone | None:
    """What "loose 3" or "loose heaters 3-5" says is no longer on, "not done 3" of a hole; None for anything else."""
    kind = next((kind for kind, word in UNDONE_SAYS.items() if entry.startswith(f"{word} ")), None)
    if kind is None:
        return None
    rest = entry.removeprefix(UNDONE_SAYS[kind]).strip()
    first, _, numbers = rest.partition(" ")
    stage = bench.phase.stage
    if not _NUMBERS.fullmatch(rest):
        stage, rest = first, numbers
    phases = (phase for phase in bench.plan.phases if phase.stage.casefold() == stage.casefold())
    chosen = _chosen([step for phase in phases for step in of_phase(phase, kind)], rest)
    known = bench.state.can_be_undone(bench.plan)
    # what is not on yet is asked for anyway; where nothing of it is on, the refusal says so
    return e.Undone(tuple(step for step in chosen if step in known) or chosen) if chosen else None


def _chosen(steps: Sequence[Step], text: str) -> tuple[str, ...]:
    """Ids by their numbers in a list; none where a number is not in it or the text holds anything else."""
    if not _NUMBERS.fullmatch(text):
        return ()
    numbers: list[int] = []
    for part in re.split(r"[\s,]+", text):
        first, _, last = part.partition("-")
        if int(last or first) < int(first):
            return ()
        numbers += range(int(first), int(last or first) + 1)
    known = dict(enumerate((step.id for step in steps), 1))
    return tuple(dict.fromkeys(known[n] for n in numbers)) if numbers and set(numbers) <= set(known) else ()


def off_now(plan: Plan, state: State) -> tuple[str, ...]:
    """Wires that are not on, in words: each that was told to be loose, and how many of this stage are still to come."""
    words = table("words")["wires"]
    known = [step for step in made_steps(plan.phases).values() if step.makes == "wire"] if state.undone else []
    loose = [words["loose"].format(wire=clean(step.text)) for step in known if step.id in state.undone]
    new = [step for step in state.off_before(plan) if step.makes == "wire" and step.id not in state.undone]
    loose += [words["new"].format(wire=clean(step.text)) for step in new]
    here = of_phase(plan.phases[state.phase], "wire")
    left = sum(step.id not in state.made | state.undone for step in here)
    return (*loose, *([words["left"].format(n=left, of=len(here))] if left else []))


def of_stage(bench: Bench, stage: str) -> tuple[str, ...]:
    """The wires of a stage with their numbers, for its page, those that are not on marked so."""
    words = table("words")["wires"]
    steps = [step for phase in bench.plan.phases if phase.stage == stage for step in of_phase(phase, "wire")]
    return tuple(
        words["on" if step.id in bench.state.made else "off"].format(n=n, wire=clean(step.text))
        for n, step in enumerate(steps, 1)
    )


def wire_fields(bench: Bench) -> dict[str, str]:
    """What the page of the present wire shows."""
    words = table("words")["wires"]
    wire = next(wire for wire in wire_list(bench.build) if wire.id == bench.ask.subject)
    sized = next((each for each in bench.forecasts.wires() or () if each.id == wire.id), None)
    laid = wire.use.laid
    return {
        "use": wire.use.says.partition(",")[0], "from": capital(wire.start), "to": wire.finish,
        "sizes": sizes(sized) if sized else words["computing"].format(colour=wire.colour),
        "laid": sentence(laid) if laid else "",
        "lead": words["lead"] if wire.lead else "",
    }  # fmt: skip


def sizes(wire: Wire) -> str:
    """What the wire must be, in one sentence."""
    size = wire.gauge.says if wire.gauge else "thicker than any usual wire"
    beyond = "for the largest volts here, they are not known" if isnan(wire.peak_v) else "more than usual wire stands"
    rated = f"{wire.insulation_v:g} V" if wire.insulation_v else beyond
    length = f"about {wire.length_m * 1e2:.0f} cm" if wire.measured else "length as it lies"
    return f"{wire.colour}, {size}, insulation {rated}, {length}."
