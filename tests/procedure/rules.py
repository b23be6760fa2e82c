"""The rules of gate, closing, power and stages, each a named predicate beside the table that must keep them.

Rules 1 to 45 are those that the gate was planned by, later ones came with what it learnt since. `STEPS` are asked of
each step, by what was typed and which mode is shown; `SHOWN` of what shows as done after a step; `STATES` of what shows
as done, however it came about. rulebook.py has them all, with those that are out of the watcher's sight.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.ask import closing_items, gate_items
from benchtui.procedure.state import Mode, State
from tests.procedure.seen import (
    BARE,
    CLOSING,
    DONE,
    GATE,
    HALT,
    HANDS,
    POWERED,
    READONLY,
    Facts,
    Move,
    Seen,
    bad,
    high,
    live,
    shorted,
    stops,
)

When = Callable[[Mode, Mode, bool, type], bool]


@dataclass(frozen=True)
class Rule:
    """A rule by its number. `when` says, by mode, mode after, whether the phase moved, and kind of input, where it is
    asked; `kept` says whether it was kept; `held` names the tests of a rule that no walk asks about."""

    number: int
    says: str
    when: When | None = None
    kept: Callable[..., bool] | None = None
    held: tuple[str, ...] = ()

    def __str__(self) -> str:
        return f"{self.number} {self.says}"


STEPS: list[Rule] = []
SHOWN: list[Rule] = []
STATES: list[Rule] = []


def _rule(number: int, when: When, among: list[Rule] = STEPS) -> Callable[[Callable[..., bool]], Callable[..., bool]]:
    def enter(kept: Callable[..., bool]) -> Callable[..., bool]:
        among.append(Rule(number, (kept.__doc__ or "").strip(), when, kept))
        return kept

    return enter


# --- where a rule is asked ---


def goes_in(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return to is HANDS and mode is not HANDS


def stays_in(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return mode is HANDS and to is HANDS


def stays_or_moves(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return mode is HANDS and (to is HANDS or moved)


def goes_on(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return to is POWERED and mode is not POWERED


def moves(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return moved and kind not in (e.BrokeDown, e.BroughtBack)


def moves_or_ends(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return moves(mode, to, moved, kind) or ends(mode, to, moved, kind)


def goes_back(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return mode is GATE and to is CLOSING


def leads(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return goes_on(mode, to, moved, kind) or goes_back(mode, to, moved, kind)


def comes_out(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return mode is HANDS and to in (CLOSING, DONE)


def leads_or_comes_out(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return leads(mode, to, moved, kind) or comes_out(mode, to, moved, kind)


def closes(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return mode is CLOSING and to is CLOSING


def in_power(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return mode is POWERED


def stop(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return kind is e.Stopped and mode not in (HALT, READONLY)


def restart(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return kind is e.Restarted


def halts(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return kind is e.RecordFailed or (mode is HALT and kind is not e.Restarted)


def locks_out(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return kind is e.OtherHolds or (mode is READONLY and kind is not e.Restarted)


def is_bare(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return to is BARE


def has_power(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return to is POWERED


def powers_down(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return mode is POWERED and kind is e.PoweredDown


def ends(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return to is DONE and mode is not DONE


def leads_or_ends(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return goes_on(mode, to, moved, kind) or ends(mode, to, moved, kind)


def soak_ends(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return mode is POWERED and to is GATE and kind is c.GoOn


def breaks_down(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return mode is DONE and kind is e.BrokeDown


def brings_back(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return mode is DONE and kind is e.BroughtBack


def stays_done(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return mode is DONE and to is DONE


def at_power(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return POWERED in (mode, to) and GATE in (mode, to, POWERED)


def swaps(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return {mode, to} == {HANDS, POWERED}


def always(mode: Mode, to: Mode, moved: bool, kind: type) -> bool:
    return True


# --- hands go in ---


@_rule(1, goes_in)
def plug_out(of: Facts, m: Move) -> bool:
    """Hands go in after the plug was typed to be out and in sight; before any mains, that no lead is attached."""
    return m.seen.plug


@_rule(2, goes_in)
def meter_proved(of: Facts, m: Move) -> bool:
    """The meter was proved on a known source after that: DC, and AC for the mains side."""
    return m.seen.dc and (m.seen.ac or m.seen.told == "never")


@_rule(37, goes_in)
def mains_dead(of: Facts, m: Move) -> bool:
    """The mains side then read dead."""
    return m.seen.dead or m.seen.told == "never"


@_rule(3, goes_in)
def first_round(of: Facts, m: Move) -> bool:
    """Every reservoir then read under the threshold."""
    return of.ids <= m.seen.first


@_rule(4, goes_in)
def waited(of: Facts, m: Move) -> bool:
    """The whole wait then passed on the steady clock."""
    return m.seen.waited >= 2 or m.seen.told == "never"


@_rule(5, goes_in)
def second_round(of: Facts, m: Move) -> bool:
    """Every reservoir then read so a second time."""
    return of.ids <= m.seen.second or m.seen.told == "never"


@_rule(6, goes_in)
def proved_again(of: Facts, m: Move) -> bool:
    """The meter was proved again after the last of these readings."""
    return m.seen.dc2 and (m.seen.ac2 or m.seen.told == "never")


@_rule(7, goes_in)
def clip_on(of: Facts, m: Move) -> bool:
    """The bleed clip was then found on; before any mains there is none."""
    return m.seen.clip or m.seen.told == "never"


@_rule(62, goes_in)
def links_on(of: Facts, m: Move) -> bool:
    """Then a link was counted on each charge that the clip does not drain; before any mains, on each that is fitted."""
    return m.seen.linked or not of.due(m.seen)


@_rule(40, goes_in)
def clip_time(of: Facts, m: Move) -> bool:
    """Clip and links have been on for their whole time."""
    return m.seen.clipped >= 1 or of.nothing_to_link(m.seen)


@_rule(8, goes_in)
def no_doubt(of: Facts, m: Move) -> bool:
    """No reading that came too soon is open."""
    return m.seen.doubt != "open"


@_rule(9, goes_in)
def from_the_gate(of: Facts, m: Move) -> bool:
    """Hands go in from the gate only."""
    return m.mode is GATE


@_rule(10, goes_in)
def asked_in(of: Facts, m: Move) -> bool:
    """Hands go in by a typed request only."""
    return isinstance(m.given, c.GoIn)


GATE_RULES = (
    plug_out, meter_proved, mains_dead, first_round, waited, second_round, proved_again, clip_on, links_on, clip_time,
    no_doubt,
)  # fmt: skip


# --- while hands are in ---


@_rule(11, stays_in)
def clip_stays(of: Facts, m: Move) -> bool:
    """Clip off, from any source, ends hands in."""
    return not isinstance(m.given, e.ClipOff)


@_rule(12, stays_in)
def no_charge(of: Facts, m: Move) -> bool:
    """A reading at or over the threshold ends hands in."""
    return not high(m.given)


@_rule(13, stays_in)
def meter_stays_good(of: Facts, m: Move) -> bool:
    """A failed proof of the meter ends hands in."""
    return not bad(m.given)


@_rule(39, stays_in)
def no_mains(of: Facts, m: Move) -> bool:
    """Mains found on the mains side ends hands in."""
    return not live(m.given)


@_rule(44, stays_or_moves)
def untouched(of: Facts, m: Move) -> bool:
    """A sleep, a touched lead, a failed look or leaving ends hands in; no stage moves on with a look due."""
    if m.to_phase != m.phase and m.seen.in_for >= 1:
        return False
    left = isinstance(m.given, e.Unwatched) and of.behind(m.phase)
    return not left and not isinstance(m.given, (e.Disturbed, e.LeadAttached, e.LookFailed))


# --- power goes on ---


@_rule(14, goes_on)
def from_the_closing(of: Facts, m: Move) -> bool:
    """Power goes on from the closing only."""
    return m.mode is CLOSING


@_rule(15, goes_on)
def asked_on(of: Facts, m: Move) -> bool:
    """Power goes on by a typed request only, which names a limiter or the reason for none."""
    return isinstance(m.given, e.PowerOn) and bool(m.given.limiter.strip() or m.given.reason.strip())


@_rule(16, leads)
def clip_off(of: Facts, m: Move) -> bool:
    """The clip is known to be off, taken off since hands were in or off since before the last power."""
    return (m.seen.off and m.mode is CLOSING) or (m.seen.place and (m.seen.back or m.mode is GATE))


@_rule(63, goes_on)
def links_off(of: Facts, m: Move) -> bool:
    """Power goes on only after as many links were counted off as were put on."""
    return not m.seen.put


@_rule(17, goes_on)
def chassis_clear(of: Facts, m: Move) -> bool:
    """After that the chassis was seen to be clear, from outside."""
    return m.seen.clear


@_rule(18, goes_on)
def covered(of: Facts, m: Move) -> bool:
    """After that came the cover, or one hand behind the back."""
    return m.seen.cover


@_rule(19, has_power)
def stage_with_power(of: Facts, m: Move) -> bool:
    """Power is on only in a stage that calls for it."""
    return of.plan.phases[m.to_phase].kind == "power"


# --- stages ---


@_rule(20, moves)
def one_by_one(of: Facts, m: Move) -> bool:
    """Stages go up one by one."""
    return m.to_phase == m.phase + 1


@_rule(21, moves)
def readings_passed(of: Facts, m: Move) -> bool:
    """A stage moves on only with passing readings typed in it, those apart that a mended part cannot move."""
    return m.seen.passed or of.spares(m.seen, m.phase)


@_rule(22, moves)
def asked_to_move(of: Facts, m: Move) -> bool:
    """A stage moves on by a typed request only."""
    return isinstance(m.given, c.GoOn)


# --- STOP, restart, what ends the work ---


@_rule(23, stop)
def stop_leads_to_the_gate(of: Facts, m: Move) -> bool:
    """STOP leads to the gate from every mode that can change."""
    return m.to is GATE


@_rule(24, stop, SHOWN)
def stop_empties(of: Facts, state: State) -> bool:
    """STOP empties gate and closing, and takes back the stage's readings."""
    return _nothing_done(of, state) and not state.read


@_rule(25, restart)
def restart_at_the_gate(of: Facts, m: Move) -> bool:
    """A restart begins at the gate, or stays at the end."""
    return m.to is (DONE if m.mode is DONE else GATE)


@_rule(26, restart, SHOWN)
def restart_empties(of: Facts, state: State) -> bool:
    """A restart keeps no item of gate or closing."""
    return _nothing_done(of, state)


@_rule(27, restart)
def restart_moves_nothing(of: Facts, m: Move) -> bool:
    """A restart does not move the stage."""
    return m.to_phase == m.phase


@_rule(28, in_power)
def stop_reading_ends_power(of: Facts, m: Move) -> bool:
    """A reading beyond a limit, or a limiter that shows a short, takes the power off at once."""
    return m.to is GATE or not (stops(m.given) or shorted(m.given))


@_rule(29, halts)
def nothing_goes_on(of: Facts, m: Move) -> bool:
    """An error of the record halts the work in every mode, and nothing goes on before a restart."""
    return m.to is HALT or (m.mode is HALT and m.to is READONLY)


@_rule(30, locks_out)
def second_takes_no_part(of: Facts, m: Move) -> bool:
    """A program that finds the record held by another takes no part, whatever its mode."""
    return m.to is READONLY or (m.mode is READONLY and m.to is HALT)


@_rule(32, at_power, SHOWN)
def power_empties_the_gate(of: Facts, state: State) -> bool:
    """No gate item outlives power."""
    return not any(item.done for item in gate_items(of.plan, state))


@_rule(33, swaps)
def never_both(of: Facts, m: Move) -> bool:
    """No single step leads between hands in and power on."""
    return False


#: Gate item = what of the account bears it out.
_BORNE: dict[str, Callable[[Facts, Move], bool]] = {
    "plug_out": plug_out, "meter_proved": meter_proved, "mains_dead": mains_dead, "round_1": first_round,
    "wait_over": waited, "round_2": second_round, "clip_on": clip_on, "links_on": links_on, "clip_time": clip_time,
    "meter_again": proved_again,
}  # fmt: skip


@_rule(38, always, STATES)
def shown_is_borne_out(of: Facts, state: State, seen: Seen) -> bool:
    """No gate item shows as done that the inputs do not bear out."""
    if state.mode is not GATE:
        return True
    at = Move(seen, state.mode, state.phase, None, state.mode, state.phase)
    return all(_BORNE[item.name](of, at) for item in gate_items(of.plan, state) if item.done)


# --- since then ---


@_rule(46, goes_on)
def mains_read_before(of: Facts, m: Move) -> bool:
    """Where mains is read at an outlet, it was read since the cover went on."""
    return m.seen.before or not of.plan.phases[m.phase].mains_before


@_rule(47, goes_on)
def back_by_a_limiter(of: Facts, m: Move) -> bool:
    """Back to power goes through a limiter."""
    return not m.seen.back or bool(getattr(m.given, "limiter", ""))


@_rule(48, leads_or_comes_out)
def alarm_cleared(of: Facts, m: Move) -> bool:
    """After an alarm no power before its checks were read again, and what was found typed, or that nobody knows."""
    if m.mode is GATE:
        return not m.seen.alarm
    return of.plan.phases[m.phase].kind == "hands" or of.cleared(m.seen, m.phase)


@_rule(49, leads_or_comes_out)
def looked_over(of: Facts, m: Move) -> bool:
    """A chassis that nobody watched has no power, and no end, before it was looked over."""
    return not m.seen.unwatched or (m.mode is HANDS and m.seen.over)


@_rule(50, goes_on)
def closing_read(of: Facts, m: Move) -> bool:
    """Rails and HT to chassis were read since hands were in."""
    return m.seen.back or of.inside(m.seen, m.phase)


@_rule(51, goes_on)
def objections_answered(of: Facts, m: Move) -> bool:
    """What speaks against power was overruled by a typed reason in this stage."""
    return not of.plan.objections or m.phase in m.seen.overruled


@_rule(52, moves)
def capacitors_read(of: Facts, m: Move) -> bool:
    """No capacitor was fitted that was not read low on the bench since hands went in."""
    return m.seen.stepped or not any(step.capacitors for step in of.plan.phases[m.phase].steps)


@_rule(53, is_bare)
def bare_by_a_word(of: Facts, m: Move) -> bool:
    """A chassis is bare in a bare stage, by a typed word, till a lead, a charge or mains is met, and never after."""
    begun = m.mode is BARE or (m.mode is GATE and isinstance(m.given, e.SaidBare) and m.seen.told != "met")
    met = isinstance(m.given, e.LeadAttached) or high(m.given) or live(m.given)
    return begun and not met and of.plan.phases[m.to_phase].bare


@_rule(54, closes)
def no_charge_in_closing(of: Facts, m: Move) -> bool:
    """Charge or mains found in the closing leads to the gate."""
    return not high(m.given) and not live(m.given)


@_rule(55, goes_back)
def back_with_the_plug_out(of: Facts, m: Move) -> bool:
    """Back to power is typed, with the plug out."""
    return m.seen.plug and isinstance(m.given, e.BackToPower)


@_rule(56, closes)
def clip_on_a_charge(of: Facts, m: Move) -> bool:
    """The clip seen on the way back to power, a charge behind it, leads to the gate."""
    return not m.seen.back or not of.clip_seen(m.phase, m.given)


@_rule(57, ends)
def finished_in_order(of: Facts, m: Move) -> bool:
    """The work ends after the last stage: its readings passed, and hands in or the whole gate through."""
    last = m.phase == len(of.plan.phases) - 1
    if isinstance(m.given, e.FinishedShut):
        return True
    if m.mode is HANDS:
        return last and m.seen.passed
    return last and m.mode is GATE and m.seen.last and all(kept(of, m) for kept in GATE_RULES)


@_rule(58, stays_done)
def end_is_not_final(of: Facts, m: Move) -> bool:
    """Clip off, a charge, mains or a reading beyond a limit takes the end back."""
    return not (isinstance(m.given, e.ClipOff) or high(m.given) or live(m.given) or stops(m.given))


@_rule(59, always, STATES)
def unproved_stays_open(of: Facts, state: State, seen: Seen) -> bool:
    """What was read without the instrument that proves it stays open, in every mode and to the end."""
    return seen.unproved <= state.unproved


@_rule(60, powers_down)
def down_to_the_gate(of: Facts, m: Move) -> bool:
    """Power down leads to the gate."""
    return m.to is GATE


@_rule(61, moves)
def closing_before_power(of: Facts, m: Move) -> bool:
    """From hands in, a stage with power begins in the closing, and one without keeps hands in."""
    return m.mode is not HANDS or m.to is (CLOSING if of.plan.phases[m.to_phase].kind == "power" else HANDS)


@_rule(64, breaks_down)
def broken_down(of: Facts, m: Move) -> bool:
    """What has stopped working is no longer finished: it goes to the gate of its last stage with power."""
    return of.plan.whole is None or (m.to is GATE and m.to_phase == of.last)


@_rule(65, goes_on)
def open_by_a_limiter(of: Facts, m: Move) -> bool:
    """While a cause is not found, or something is exchanged, power goes on through a limiter."""
    return not (m.seen.open or m.seen.exchanged) or bool(getattr(m.given, "limiter", ""))


@_rule(66, leads_or_comes_out)
def retest_settled(of: Facts, m: Move) -> bool:
    """No power before it is settled what is read again after parts were replaced."""
    return m.mode is not HANDS or not m.seen.named


@_rule(67, moves_or_ends)
def put_back(of: Facts, m: Move) -> bool:
    """No stage moves on, and the work does not end, with something exchanged to find a fault."""
    return not m.seen.exchanged


@_rule(68, moves)
def wires_on(of: Facts, m: Move) -> bool:
    """A stage is not over before its wires are on."""
    return m.seen.on or m.phase > 0 or not of.wired


@_rule(69, leads_or_comes_out)
def nothing_loose(of: Facts, m: Move) -> bool:
    """Hands do not come out, and no power comes, with a wire that is told to be loose."""
    return not m.seen.slack


@_rule(70, goes_on)
def screwed_on(of: Facts, m: Move) -> bool:
    """What runs with its cover on has power only after its last screw, and after all that is read from outside then."""
    return of.soak(m.phase) is None or (m.seen.screwed and m.seen.outside)


@_rule(71, soak_ends)
def read_at_every_mark(of: Facts, m: Move) -> bool:
    """A soak is over only after a round of readings at each mark of its time at full mains, on mains read for it."""
    soak = of.soak(m.phase)
    return soak is None or m.seen.rounds >= len(soak.marks_s)


@_rule(72, ends)
def unopened_after_a_soak(of: Facts, m: Move) -> bool:
    """Unopened the work ends only after a soak with no hands in since, the plug out, and the mains side read dead."""
    if not isinstance(m.given, e.FinishedShut):
        return True
    soaked = m.mode is GATE and m.seen.last and of.soak(m.phase) is not None
    return soaked and plug_out(of, m) and meter_proved(of, m) and mains_dead(of, m)


@_rule(73, leads_or_ends)
def winding_told(of: Facts, m: Move) -> bool:
    """No soak begins without the cold winding, and none ends without its temperature, unless told to be left."""
    soak = of.soak(m.phase)
    if soak is None or soak.winding is None or m.seen.left or m.mode is GATE and m.to is CLOSING:
        return True
    return m.seen.cold if m.to is POWERED else m.seen.verdict == "read"


@_rule(74, brings_back)
def brought_back(of: Facts, m: Move) -> bool:
    """What is brought back is no longer finished: it goes to the gate of its last stage with power."""
    return of.plan.whole is None or (m.to is GATE and m.to_phase == of.last)


def _nothing_done(of: Facts, state: State) -> bool:
    return not any(item.done for item in (*gate_items(of.plan, state), *closing_items(of.plan, state)))
