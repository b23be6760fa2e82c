"""From readings to windings: which leads, in what order, with what ohms and ratios, and where readings disagree."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from benchtui.identify import leads as _leads
from benchtui.identify import lines
from benchtui.identify.leads import Ohms, Pair, pair
from benchtui.identify.lines import Order
from benchtui.identify.ratios import Feed, Ratios, ratio_by_ohms_clash, ratios, sags, strangers
from benchtui.identify.rules import rule, source
from benchtui.identify.spans import Span
from benchtui.identify.told import Finding


@dataclass(frozen=True)
class Piece:
    """A winding, or the part of one between neighbouring taps: its ohms, and volts for one at the reference."""

    leads: Pair
    ohm: Span | None
    ratio: Span | None
    times: int = 0


@dataclass(frozen=True)
class Winding:
    """Leads of one winding. `orders` has one entry once their order along it is known, more while it is not."""

    leads: tuple[str, ...]
    orders: tuple[Order, ...]
    whole: Piece | None = None
    pieces: tuple[Piece, ...] = ()

    @property
    def ends(self) -> Pair | None:
        return None if self.whole is None else self.whole.leads

    @property
    def centre_tapped(self) -> bool:
        """Two pieces of equal volts, as far as the meter tells."""
        if len(self.pieces) != 2:
            return False
        first, second = (piece.ratio for piece in self.pieces)
        return first is not None and second is not None and first.wider(rule("volts.halves")).meets(second)


@dataclass(frozen=True)
class Bench:
    """All that is read of one transformer without mains. `fine` are ohms by four wires, which beat the others."""

    leads: tuple[str, ...]
    ohms: Ohms
    feeds: tuple[Feed, ...] = ()
    fine: Mapping[Pair, Span] | None = None

    @property
    def finest(self) -> dict[Pair, Span]:
        """Ohms of each pair of leads, by four wires where they were read so."""
        return {**self.ohms.joined, **(self.fine or {})}


@dataclass(frozen=True)
class Sorted:
    """What the readings come to."""

    windings: tuple[Winding, ...]
    single: tuple[str, ...]
    ratios: Ratios
    findings: tuple[Finding, ...]

    def of(self, lead: str) -> Winding | None:
        return next((winding for winding in self.windings if lead in winding.leads), None)

    def volts(self, leads: Pair) -> Span | None:
        """Volts between two leads of one winding for one volt at the reference."""
        if pair(*leads) in self.ratios.of:
            return self.ratios.of[pair(*leads)]
        winding = self.of(leads[0])
        if winding is None or leads[1] not in winding.leads or len(winding.orders) != 1:
            return None
        return winding.orders[0].between(*leads, _ruler(winding.leads, self.ratios.of))


def sort_out(bench: Bench, to: Pair | None = None) -> Sorted:
    """Windings of a transformer by what is read of it so far; ratios are to the pair `to` where it was read."""
    found = _leads.groups(bench.leads, bench.ohms)
    known = ratios(bench.feeds, to and pair(*to))
    group_of = {lead: number for number, group in enumerate(found) for lead in group}
    wound = [group for group in found if len(group) > 1]
    ohms = bench.finest
    windings = tuple(_winding(group, ohms, known) for group in wound)
    findings = [
        *_leads.contradictions(found, bench.ohms),
        *_leads.leaks(bench.ohms),
        *_leads.unlike(bench.ohms),
        *(finding for group in wound for finding in _misfits(group, bench.ohms, ohms, known, bench.feeds)),
        *strangers(bench.feeds, group_of),
        *known.clashes,
        *sags(bench.feeds),
        *(finding for winding in windings for finding in _halves(winding)),
        *_wild(windings),
    ]
    return Sorted(windings, tuple(g[0] for g in found if len(g) == 1), known, tuple(findings))


def _ruler(leads: Sequence[str], of: Mapping[Pair, Span]) -> dict[Pair, Span]:
    return {each: span for each, span in of.items() if set(each) <= set(leads)}


def _winding(leads: tuple[str, ...], ohms: Mapping[Pair, Span], known: Ratios) -> Winding:
    if len(leads) > lines.MOST_LEADS:
        return Winding(leads, ())
    by_ohms, by_volts = _ruler(leads, ohms), _ruler(leads, known.of)
    found = lines.orders(leads, [by_ohms, by_volts])
    if len(found) != 1:
        return Winding(leads, found)
    order = found[0]

    def piece(a: str, b: str) -> Piece:
        times = known.times.get(pair(a, b), 0)
        return Piece((a, b), order.between(a, b, by_ohms), order.between(a, b, by_volts), times)

    pieces = tuple(piece(*each) for each in order.neighbours)
    return Winding(leads, found, piece(order.leads[0], order.leads[-1]), pieces)


def _misfits(
    leads: tuple[str, ...], noted: Ohms, ohms: Mapping[Pair, Span], known: Ratios, feeds: Sequence[Feed]
) -> Iterator[Finding]:
    """Readings within one winding that do not add up, in ohms and in volts."""
    if len(leads) > lines.MOST_LEADS:
        yield Finding("warn", f"{len(leads)} leads on one winding: more than are put in order here; sort them by hand")
        return
    by_ohms, by_volts = _ruler(leads, ohms), _ruler(leads, known.of)
    kinds = (
        ("ohms", by_ohms, lambda each: ("ohms", noted.key.get(each, "-".join(each)))),
        ("volts", by_volts, lambda each: _read_at(each, feeds)),
    )
    bad = False
    for word, ruler, where in kinds:
        if not lines.orders(leads, [ruler]):
            bad = True
            yield from _not_adding(leads, word, ruler, where)
    if not bad and not lines.orders(leads, [by_ohms, by_volts]):
        text = f"{', '.join(leads)}: ohms and volts put these leads in different orders. Was a lead taken for another?"
        slipped = lines.slips(leads, by_ohms, [by_volts])
        yield from (Finding("stop", f"{text}{_SLIP[by]}", kinds[0][2](each)) for each, by in slipped.items())
        if not slipped:
            yield Finding("stop", text, kinds[1][2](next(iter(by_volts))))


_SLIP = {10.0: " It would fit ten times larger.", 0.1: " It would fit ten times smaller."}


def _not_adding(leads: tuple[str, ...], word: str, ruler: Mapping[Pair, Span], where: object) -> Iterator[Finding]:
    slips = lines.slips(leads, ruler)
    for each in lines.suspects(leads, ruler) or tuple(ruler):
        slip = _SLIP.get(slips.get(each, 0.0), "")
        text = f"{'-'.join(each)}: along one winding the {word} add up, and with this reading they do not.{slip}"
        yield Finding("stop", f"{text} Read it again", where(each))  # type: ignore[operator]


def _read_at(leads: Pair, feeds: Sequence[Feed]) -> tuple[str | int, ...]:
    """Where the last reading of these leads stands."""
    found = [feed.where(leads) for feed in feeds if leads in feed.reads]
    return found[-1] if found else next((feed.table for feed in feeds if feed.into == leads), ("volts",))


def _halves(winding: Winding) -> Iterator[Finding]:
    """Halves of a centre tap that differ more than wire does."""
    if len(winding.pieces) != 2:
        return
    first, second = winding.pieces
    names = f"{'-'.join(first.leads)} and {'-'.join(second.leads)}"
    if winding.centre_tapped and first.ohm and second.ohm:
        if not first.ohm.wider(rule("leads.halves_warn") / 2).meets(second.ohm.wider(rule("leads.halves_warn") / 2)):
            text = (
                f"halves {names} give equal volts, but read {first.ohm.value:.3g} and {second.ohm.value:.3g} ohm: a "
                "joint, "
                "or shorted turns; read the ohms again, and mind the off-load current"
            )
            yield Finding("warn", text, ("ohms", "-".join(first.leads)), source("leads.halves_warn"))
    elif first.ratio and second.ratio and first.ratio.wider(0.12).meets(second.ratio.wider(0.12)):
        text = (
            f"{names} are nearly halves, but give {first.ratio.value:.3g} and {second.ratio.value:.3g} volts a volt: "
            "shorted "
            "turns in the lesser one, or a tap that is no centre"
        )
        yield Finding("warn", text, ("volts",), source("volts.halves"))


def _wild(windings: Sequence[Winding]) -> Iterator[Finding]:
    """Ohms and volts of windings that no wire explains."""
    known = [(w.whole.ratio.value, w.whole.ohm.value, w) for w in windings if w.whole and w.whole.ratio and w.whole.ohm]
    for volts, ohm, one in known:
        clashing = [w for v, r, w in known if ratio_by_ohms_clash((volts, ohm), (v, r))]
        if clashing and len(clashing) * 2 > len(known) - 1:
            text = (
                f"{'-'.join(one.leads)}: {ohm:.3g} ohm do not go with {volts:.3g} volts a volt beside the other "
                "windings. A "
                "slip of the decimal point or range in one of both, or shorted turns. Read both again"
            )
            yield Finding("stop", text, ("ohms",))
