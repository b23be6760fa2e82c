"""An unknown mains transformer: what its notes come to so far, and what to measure next, in the order that hurts least.

Ohms with nothing connected come first, then a few isolated volts, then insulation, and mains last, through a lamp.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from benchtui.identify import known, next_step, section
from benchtui.identify.leads import Pair, pair
from benchtui.identify.noted import Transformer
from benchtui.identify.phase import misfits
from benchtui.identify.rating import judged_idle, judged_insulation, judged_warmth
from benchtui.identify.ratios import Feed, most_elsewhere
from benchtui.identify.rules import rule, source
from benchtui.identify.spans import Span
from benchtui.identify.told import Finding, Told
from benchtui.identify.windings import Bench, Sorted, sort_out


def told(notes: Transformer) -> Told:
    """Everything that the notes come to: findings, the next step unless something stops the work, and the section."""
    sorted_out = sort_out(_with_mains(notes), _reference(notes))
    findings = [*sorted_out.findings, *_phase(notes, sorted_out), *_fed_low(notes, sorted_out)]
    findings += known.told(notes, sorted_out)
    findings += _judged(notes)
    stopped = any(finding.severity == "stop" for finding in findings)
    step = next_step.again(findings) if stopped else next_step.following(notes, sorted_out)
    ready = not stopped and notes.primary is not None
    text = section.transformer(notes, sorted_out) if ready else ""
    return Told(tuple(findings), step, text, section.slip(notes, sorted_out) if text else "")


def _reference(notes: Transformer) -> Pair | None:
    """The leads that ratios are best told to: the primary's, or those of one of twins."""
    primary = notes.primary
    if primary is None or not primary.joined:
        return primary and primary.ends
    parts = known.joined_parts(primary, sort_out(notes.bench))
    return parts[0] if parts else None


def _with_mains(notes: Transformer) -> Bench:
    """Volts read at mains are a feed like any other; twins share what is applied to them."""
    mains, primary = notes.mains, notes.primary
    if mains.applied is None or primary is None:
        return notes.bench
    into, applied = primary.ends, mains.applied
    if primary.joined:
        parts = known.joined_parts(primary, sort_out(notes.bench))
        if len(parts) != 2:
            return notes.bench
        share = 0.5 if len(primary.joined) == 1 else 1.0
        into, applied = parts[0], applied.times(share).wider(rule("volts.halves") / 2)
    feed = Feed(0, pair(*into), applied, mains.reads, key=mains.key, at_mains=True)
    return replace(notes.bench, feeds=(*notes.bench.feeds, feed))


def _phase(notes: Transformer, sorted_out: Sorted) -> Iterator[Finding]:
    whole = {lead: pair(*w.ends) for w in sorted_out.windings if w.ends for lead in w.leads}
    yield from misfits(whole, notes.bench.feeds, sorted_out.ratios)


def _fed_low(notes: Transformer, sorted_out: Sorted) -> Iterator[Finding]:
    """Feeds that put dangerous volts on another winding, by ratio where it is known, else by ohms."""
    for feed in notes.bench.feeds:
        if feed.applied.value > rule("volts.most"):
            text = (
                f"{feed.applied.value:.3g} V is no low supply: 12 V at most, isolated. Take this entry out, and say at "
                "the mains only what you are asked for there"
            )
            yield Finding("stop", text, (*feed.table, "applied"), source("volts.most"))
        fed = sorted_out.volts(feed.into)
        for winding in sorted_out.windings:
            whole = winding.whole
            if whole is None or (feed.into[0] in winding.leads and not (fed and whole.ratio)):
                continue
            if fed and fed.value > 0 and whole.ratio:
                volts, how = feed.applied.value * whole.ratio.value / fed.value, "about"
            else:
                volts, how = _by_ohms(notes, feed, sorted_out, whole.ohm), "perhaps"
            if volts > rule("volts.touch"):
                text = (
                    f"with {feed.applied.value:.3g} V on {'-'.join(feed.into)} there are {how} {volts:.0f} V on "
                    f"{'-'.join(whole.leads)}. Do not feed these leads again; feed the winding with the most ohms"
                )
                yield Finding("warn", text, (*feed.table, "into"), source("volts.touch"))


def _by_ohms(notes: Transformer, feed: Feed, sorted_out: Sorted, other: Span | None) -> float:
    winding = sorted_out.of(feed.into[0])
    fed = notes.bench.ohms.joined.get(feed.into) or (winding.whole.ohm if winding and winding.whole else None)
    if fed is None or other is None:
        return 0.0
    return most_elsewhere(feed.applied.value, max(fed.value, 0.1), other.value) if other.value > fed.value else 0.0


def _judged(notes: Transformer) -> Iterator[Finding]:
    """What is judged by itself: insulation, lamp, off-load current, warmth."""
    for between, ohm in notes.insulation.items():
        yield judged_insulation(between, ohm, notes.test_v)
    if notes.mains.lamp == "bright":
        text = (
            "the lamp stays bright: a short, shorted turns or twins joined the wrong way round. No mains again before "
            "it is found"
        )
        yield Finding("stop", text, ("mains", "lamp"))
    elif notes.mains.lamp == "glow":
        yield Finding("warn", "the lamp glows on: shorted turns, the wrong tap, or a large core", ("mains", "lamp"))
    if notes.mains.amps is not None and notes.core is None:
        yield Finding("warn", "the off-load current is not judged before the core is measured", ("mains", "amps"))
    if notes.mains.amps is not None and notes.core is not None:
        volts = notes.mains.applied.value if notes.mains.applied else notes.mains_v
        yield judged_idle(notes.mains.amps, volts, known.watts(notes))
    if notes.warm is not None:
        yield from judged_warmth(notes.warm.cold, notes.warm.hot, notes.warm.cold_c, notes.warm.ambient_c)
