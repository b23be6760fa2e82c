"""What to measure next on a mains transformer: one step, how it is done, and what can hurt in it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from benchtui.identify import known
from benchtui.identify.cautions import cautions
from benchtui.identify.leads import Pair, pair, unsettled
from benchtui.identify.lines import telling
from benchtui.identify.noted import Transformer
from benchtui.identify.ratios import most_elsewhere
from benchtui.identify.roles import guess, taps_like
from benchtui.identify.rules import rule
from benchtui.identify.spans import Span
from benchtui.identify.told import Finding, Step
from benchtui.identify.windings import Piece, Sorted, Winding

_LOW_V = 6.0
_HT_V = 100.0


def again(findings: Iterable[Finding]) -> Step:
    """Where something does not fit, nothing else comes next."""
    places = [_place(finding.where) for finding in findings if finding.severity == "stop" and finding.where]
    lines = (
        "Nothing goes on before what says stop is cleared up.",
        *(f"Look at {place} again." for place in dict.fromkeys(places)),
    )
    return Step("clear up what does not fit", lines)


def following(notes: Transformer, sorted_out: Sorted) -> Step | None:
    """The next step; None where nothing is left."""
    for find in _STEPS:
        step = find(notes, sorted_out)
        if step is not None:
            return step
    return None


def unpowered(notes: Transformer, sorted_out: Sorted) -> Step | None:
    """The next step of those that need ohms and a few isolated volts only."""
    return next(
        (step for find in _STEPS[: _STEPS.index(_phasing)] if (step := find(notes, sorted_out)) is not None), None
    )


def _place(where: Sequence[str | int]) -> str:
    return ".".join(f"{key + 1}" if isinstance(key, int) else key for key in where)


def _grouping(notes: Transformer, sorted_out: Sorted) -> Step | None:
    """Which leads belong together."""
    bench = notes.bench
    groups = (*(w.leads for w in sorted_out.windings), *((lead,) for lead in sorted_out.single))
    ordered = tuple(sorted(groups, key=lambda group: bench.leads.index(group[0])))
    for lead, touch in unsettled(ordered, bench.ohms):
        how = (
            "Meter on ohms, lowest range; hold the probes together first and note what its leads read as `lead_ohm`.",
            f"One probe stays on lead {lead}. The other touches, one after the other: {', '.join(touch)}.",
            f'Where it reads, note it under `ohms`, such as {lead}-{touch[0]} = "9.4 ohm".',
            f'For all others together, when they read open, note {lead}-rest = "OL".',
        )
        return Step("which leads belong together", how, cautions("ohms"))
    return None


def _ordering(notes: Transformer, sorted_out: Sorted) -> Step | None:
    """The order of taps, as far as ohms tell it."""
    for winding in sorted_out.windings:
        if len(winding.orders) < 2:
            continue
        ruler = notes.bench.finest
        ask = telling(
            winding.leads, winding.orders, {each: s for each, s in ruler.items() if set(each) <= set(winding.leads)}
        )
        if ask is not None:
            how = (
                f"Ohms from {ask[0]} to {ask[1]}: note {ask[0]}-{ask[1]} under `ohms`. It tells the order of these "
                "taps.",
            )
            return Step(f"the order of leads {', '.join(winding.leads)}", how, cautions("ohms"))
    return None


def _twice(notes: Transformer, sorted_out: Sorted) -> Step | None:
    """Windings of two leads have one reading, and nothing that would show a slip in it."""
    ohms = notes.bench.ohms
    once = [pair(*w.leads) for w in sorted_out.windings if len(w.leads) == 2 and pair(*w.leads) not in ohms.again]
    if not once:
        return None
    how = (
        f"The same ohms again with the probes exchanged: {', '.join(f'{b}-{a}' for a, b in once)}. Note them under "
        "`ohms` too.",
    )
    return Step("the ohms of windings with two leads, once more", how, cautions("ohms"))


def _feeding(notes: Transformer, sorted_out: Sorted) -> Step | None:
    """The first low volts: into the winding with the most ohms, where others give less than is fed, or little more."""
    missing = _not_read(notes, sorted_out)
    if not missing or not sorted_out.windings:
        return None
    if notes.bench.feeds:
        feed = notes.bench.feeds[0]
        how = (
            f"As before, about {feed.applied.value:.3g} V into {'-'.join(feed.into)}. Read the AC volts across "
            f"{_list(missing)}, and note them under its `reads`.",
        )
        return Step("ratios by a few isolated volts", how, cautions("volts"))
    winding = max(sorted_out.windings, key=lambda w: _most_ohms(notes, w))
    into = _farthest(notes, winding)
    how = (
        f"An isolated low supply, about {_LOW_V:g} V AC (12 V at most), into {'-'.join(into)}: the winding with the "
        "most ohms.",
        "First note what the supply gives by itself (`supply`), then across the leads with the winding on it "
        "(`applied`).",
        f"Read the AC volts across {_list(each for each in missing if each != pair(*into))}; note them under `reads`.",
        f"By the ohms none should be over {_highest(notes, sorted_out, winding):.0f} V; if one is, switch off.",
    )
    return Step("ratios by a few isolated volts", how, cautions("volts"))


def _alike(notes: Transformer, sorted_out: Sorted) -> Step | None:
    """Leads that neither ohms nor volts put in order."""
    for winding in sorted_out.windings:
        if len(winding.orders) != 1:
            how = (
                "Neither ohms nor volts tell the order here: two leads come from one point, or the meter is coarse.",
                "Leave one of two that read alike out of `leads`, and tape it off; or read by four wires (`fine`).",
            )
            return Step(f"leads {', '.join(winding.leads)} that read alike", how)
    return None


def _confirming(notes: Transformer, sorted_out: Sorted) -> Step | None:
    """A second feed, into another winding if one may be fed: a slip in a reading shows only against another."""
    of, times = sorted_out.ratios.of, sorted_out.ratios.times
    fed = {feed.into for feed in notes.bench.feeds}
    simple = [pair(*w.ends) for w in sorted_out.windings if w.ends and len(w.leads) == 2]
    once = [each for each in simple if times.get(each, 0) < 2 and each not in fed]
    if not once:
        return None
    into = _fed_next(sorted_out, fed)
    if into is None:
        return None
    scale = _LOW_V / of[into].value
    expected = [
        f"{'-'.join(each)} (about {of[each].value * scale:.3g} V)"
        for each in (*once, *fed)
        if each in of and each != into
    ]
    more = ", once more" if into in fed else ""
    how = (
        f"About {_LOW_V:g} V into {'-'.join(into)} this time{more}, as another entry of `volts`.",
        f"Read across {', '.join(dict.fromkeys(expected))}.",
    )
    return Step("the same ratios from another winding", how, cautions("volts"))


def _fed_next(sorted_out: Sorted, fed: set[Pair]) -> Pair | None:
    """Leads to feed for a second reading: another whole winding, else a part of one, else the same once more.

    None of them may put dangerous volts on any winding.
    """
    of = sorted_out.ratios.of
    top = max((span.value for span in of.values()), default=0.0)
    fit = {each for each in of if of[each].value > 0 and _LOW_V * top / of[each].value <= rule("volts.touch")}
    whole = {pair(*w.ends) for w in sorted_out.windings if w.ends}
    for choice in (fit & whole - fed, fit - whole - fed, fit & fed):
        if choice:
            return max(sorted(choice), key=lambda each: of[each].value)
    return None


def _phasing(notes: Transformer, sorted_out: Sorted) -> Step | None:
    """Twin primaries: which ends begin alike."""
    twins = _twin_primary(notes, sorted_out)
    if twins is None or known.sense_of(notes, sorted_out, twins) is not None:
        return None
    (a, b), (c, d) = twins
    expected = 2 * _LOW_V
    how = (
        f"Supply off, join {b} and {c}. About {_LOW_V:g} V into {a}-{b} again, and read the AC volts across {a} and "
        f"{d}.",
        f"About {expected:g} V: {a} and {c} begin alike. About nothing: {a} and {d} do.",
        f'Note it as an entry of `volts` with joined = ["{b}-{c}"] and reads = {{ {a}-{d} = "..." }}.',
    )
    return Step("how the two equal windings lie to each other", how, cautions("phase"))


def _choosing(notes: Transformer, sorted_out: Sorted) -> Step | None:
    """The builder says which is the primary: no program decides where mains goes."""
    if notes.primary is not None:
        return None
    found = guess(sorted_out)
    twins = _twin_primary(notes, sorted_out)
    if twins is not None and (sense := known.sense_of(notes, sorted_out, twins)) is not None:
        (a, b), (c, d) = sense.one, sense.other
        example = f'primary = {{ ends = "{a}-{d}", joined = ["{b}-{c}"], volts = "{notes.mains_v:g} V" }}'
        more = (f'Each alone has half of it; in parallel join {a}-{c} and {b}-{d}: ends = "{a}-{b}", half the volts.',)
    elif found and found[0].ends:
        ends, volts = _tap_in_use(found[0], notes.mains_v)
        example, more = f'primary = {{ ends = "{"-".join(ends)}", volts = "{volts:g} V" }}', ()
    else:
        example, more = f'primary = {{ ends = "1-2", volts = "{notes.mains_v:g} V" }}', ()
    how = (
        "Hold the guess above against label, colours and where the leads come out.",
        f"If it is right, note {example}.",
        *more,
    )
    return Step("say which is the primary", how)


def _measuring(notes: Transformer, sorted_out: Sorted) -> Step | None:
    if notes.core is not None:
        return None
    how = (
        "With a rule: the width of the core's tongue through the windings (half the length of a scrapless EI sheet is "
        "three "
        "tongues, so the sheet is six tongues long), and the height of the stack of sheets.",
        'Note core = { tongue = "32 mm", stack = "40 mm" }.',
    )
    return Step("the size of the core, which the current rating is estimated from", how)


def _insulating(notes: Transformer, sorted_out: Sorted) -> Step | None:
    read = {key.partition("-")[0] for key in notes.insulation}
    wanted = [lead for lead in _first_of_live(notes, sorted_out) if not _beside(lead, sorted_out) & read]
    if not wanted:
        return None
    how = (
        f"Insulation tester at 500 V. All other ends and the core joined together, against lead {wanted[0]} with its "
        "own winding.",
        f'Note insulation = {{ test = "500 V", reads = {{ {wanted[0]}-rest = "200M" }} }}, or "OL" where it is over '
        "its range.",
        "With no such tester note what a hand meter shows and its own volts as `test`: it finds a bad one and proves "
        "no good one.",
    )
    return Step(f"insulation of the winding of {wanted[0]}", how, cautions("insulation"))


def _lamp(notes: Transformer, sorted_out: Sorted) -> Step | None:
    primary = notes.primary
    if notes.mains.lamp or primary is None:
        return None
    joined = f", with {' and '.join('-'.join(each) for each in primary.joined)} joined" if primary.joined else ""
    how = (
        f"Mains through the lamp limiter, 25 to 60 W, on {'-'.join(primary.ends)}{joined}; nothing on the other "
        "windings.",
        "A sound transformer alone: one short flash, then dark or a faint glow. Bright: plug out at once.",
        'Note under `mains` what it did: lamp = "dark", "glow" or "bright".',
    )
    return Step("first mains, through the lamp", how, cautions("mains"))


def _at_mains(notes: Transformer, sorted_out: Sorted) -> Step | None:
    if notes.primary is None or (notes.mains.applied is not None and notes.mains.amps is not None):
        return None
    scale = known.primary_ratio(notes, sorted_out)
    lines = []
    for winding in sorted_out.windings:
        if scale and winding.whole and winding.whole.ratio and not known.is_primary(winding, notes.primary, sorted_out):
            lines += [_expected(piece, scale, notes.primary.volts) for piece in winding.pieces]
    how = (
        f"Lamp out, the fuse in its place. AC volts across {'-'.join(notes.primary.ends)}: note `applied` under "
        "`mains`.",
        f"One at a time, plug out between: {', '.join(lines)}; note them under its `reads`.",
        "Off-load current as the volts across a 10 ohm 5 W resistor in the live lead, inside the enclosure: note "
        'drop = "0.35 V" and resistor = "10 ohm"; or `amps` from a plug-in power meter.',
    )
    return Step("volts and current at mains, without load", how, cautions("mains"))


def _expected(piece: Piece, scale: Span, primary_v: float) -> str:
    """A piece of a winding with what it should read at mains."""
    name = "-".join(piece.leads)
    return f"{name} (about {piece.ratio.over(scale).value * primary_v:.3g} V)" if piece.ratio else name


def _warming(notes: Transformer, sorted_out: Sorted) -> Step | None:
    if notes.warm is not None:
        return None
    most = max((w for w in sorted_out.windings if w.whole), key=lambda w: _most_ohms(notes, w), default=None)
    name = "-".join(most.whole.leads) if most and most.whole else "the winding with the most ohms"
    how = (
        f"Before: ohms of {name} and the room's temperature, as cold and cold_c under `warm`.",
        "30 minutes of mains without load. Plug out and pulled, then within a minute the ohms again: hot, and ambient.",
    )
    return Step("warm after 30 minutes", how, cautions("warm"))


_STEPS: tuple[Callable[[Transformer, Sorted], Step | None], ...] = (
    _grouping, _ordering, _twice, _feeding, _alike, _confirming, _phasing, _choosing, _measuring, _insulating, _lamp,
    _at_mains, _warming,
)  # fmt: skip


def _not_read(notes: Transformer, sorted_out: Sorted) -> tuple[Pair, ...]:
    """Pairs whose volts are still needed: ends of each winding, its pieces, every pair where the order is open."""
    wanted: list[Pair] = []
    for winding in sorted_out.windings:
        if len(winding.orders) == 1 and winding.whole:
            pieces = [] if len(winding.pieces) == 1 else [piece.leads for piece in winding.pieces]
            wanted += [pair(*each) for each in (winding.whole.leads, *pieces)]
        else:
            wanted += [pair(a, b) for i, a in enumerate(winding.leads) for b in winding.leads[i + 1 :]]
    return tuple(each for each in dict.fromkeys(wanted) if each not in sorted_out.ratios.of)


def _most_ohms(notes: Transformer, winding: Winding) -> float:
    return max((s.value for each, s in notes.bench.ohms.joined.items() if set(each) <= set(winding.leads)), default=0.0)


def _farthest(notes: Transformer, winding: Winding) -> Pair:
    ruler = {each: s.value for each, s in notes.bench.ohms.joined.items() if set(each) <= set(winding.leads)}
    return winding.ends or max(ruler, key=lambda each: ruler[each])


def _highest(notes: Transformer, sorted_out: Sorted, fed: Winding) -> float:
    ohm = max(_most_ohms(notes, fed), 0.1)
    return max(
        (most_elsewhere(_LOW_V, ohm, _most_ohms(notes, w)) for w in sorted_out.windings if w is not fed), default=_LOW_V
    )


def _twin_primary(notes: Transformer, sorted_out: Sorted) -> tuple[Pair, Pair] | None:
    """The two equal windings that are, or are likely, the primary."""
    if notes.primary is not None:
        parts = known.joined_parts(notes.primary, sorted_out) if notes.primary.joined else ()
        return (pair(*parts[0]), pair(*parts[1])) if len(parts) == 2 else None
    found = guess(sorted_out)
    if len(found) == 2 and found[0].ends and found[1].ends:
        return pair(*found[0].ends), pair(*found[1].ends)
    return None


def _first_of_live(notes: Transformer, sorted_out: Sorted) -> list[str]:
    """A lead of the primary and of every winding over 100 V."""
    scale = known.primary_ratio(notes, sorted_out)
    if notes.primary is None:
        return []
    found = [notes.primary.ends[0]]
    for winding in sorted_out.windings:
        if scale and winding.whole and winding.whole.ratio and not known.is_primary(winding, notes.primary, sorted_out):
            if winding.whole.ratio.over(scale).times(notes.primary.volts).high >= _HT_V:
                found.append(winding.orders[0].leads[0])
    return found


def _tap_in_use(winding: Winding, mains_v: float) -> tuple[Pair, float]:
    """The ends and volts of the tap that suits the mains: the nearest one that is not below it."""
    fits = taps_like(winding)
    if not fits:
        return winding.ends or (winding.leads[0], winding.leads[-1]), mains_v
    leads = dict(zip(winding.orders[0].leads, fits[0], strict=True))
    start = min(leads, key=lambda lead: leads[lead])
    enough = [lead for lead in leads if leads[lead] >= mains_v] or [max(leads, key=lambda lead: leads[lead])]
    end = min(enough, key=lambda lead: leads[lead])
    return (start, end), leads[end]


def _beside(lead: str, sorted_out: Sorted) -> set[str]:
    """All leads of its winding."""
    winding = sorted_out.of(lead)
    return set(winding.leads) if winding else {lead}


def _list(pairs: Iterable[Pair]) -> str:
    return ", ".join("-".join(each) for each in pairs)
