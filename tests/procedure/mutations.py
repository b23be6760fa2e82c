"""Switch every guard, effect and change of mode of the table off, one at a time, and say which rule misses it.

A guard that is off always holds, an effect that is off changes nothing, and a mode that is not changed stays.
`python -m tests.procedure.mutations` does all of them and prints a table; test_walk.py does most on every run.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import Any

from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.effects import EFFECTS
from benchtui.procedure.guards import GUARDS, Guard
from benchtui.procedure.state import Mode
from benchtui.procedure.table import TABLE
from tests.procedure import test_checkup, test_decide, test_exchange, test_repair, test_soak, test_wires
from tests.procedure.explore import walk
from tests.procedure.small import plan

#: Every change of mode, by its mode and event.
TURNS = {
    f"{mode} {event.__name__}": (mode, event)
    for mode, rows in TABLE.items()
    for event, row in rows.items()
    if row.to not in (None, mode)
}

#: Kind of mutation = all of its names.
ALL = {"guard": sorted(GUARDS), "effect": sorted(EFFECTS), "mode": sorted(TURNS)}

#: What most mutations are missed without, and far sooner: what only takes back, or is told once.
ASIDE = (
    e.Stopped, e.Restarted, e.Disturbed, e.RecordFailed, e.OtherHolds, e.LeadAttached, e.LookFailed, e.SaidNever,
    e.SaidBare, e.CauseFound, e.Bled, e.PoweredDown, c.ReadFallen, c.ReadHt,
)  # fmt: skip


@dataclass(frozen=True)
class Way:
    """A plan to walk, and what of `ASIDE` is typed all the same."""

    options: dict[str, Any] = field(default_factory=dict)
    typed: tuple[type, ...] = ()
    reservoirs: int = 1
    kinds: tuple[str, ...] = ("hands", "power", "hands")


SHORT = ("hands", "power")

#: Everything in a plan whose goals are all within reach, for what holds the work up when it is off.
END = Way({"bare": False}, ASIDE, kinds=SHORT)

#: A finished amplifier that stops working and is mended. Nothing else happens to it.
REPAIR = Way({"bare": False, "repair": True}, (e.CauseFound,), reservoirs=0, kinds=SHORT)

#: A finished amplifier that is brought back though it works.
CHECKUP = Way({"bare": False, "checkup": True}, reservoirs=0, kinds=SHORT)

#: The way to miss a mutation, where it is not the usual one.
WAYS: dict[str, Way] = {
    "bare_phase": Way(typed=(e.SaidBare,)),
    "never_met": Way(typed=(e.SaidBare,)),
    "not_never": Way(typed=(e.SaidNever,)),
    "not_told_yet": Way(typed=(e.SaidNever,)),
    "said": Way(typed=(e.CauseFound,)),
    "last_phase": Way(kinds=SHORT),
    "last_complete": Way(kinds=SHORT),
    "links_on": Way(reservoirs=2),
    "links_next": Way(reservoirs=2),
    "no_links_on": Way(reservoirs=2),
    "not_guarded": Way({"guarded": True}),
    "instrument_owned": Way({"lacking": True}),
    "capacitors_low": Way({"fits": True}),
    "objections_answered": Way({"objections": ("V3 past a rating",)}),
    "mains_read_before": Way({"mains_before": True}),
    "mains_in_range": Way({"mains_before": True}),
    "limiter_or_reason": Way({"mains_before": True}),
    "ht_live": Way({"mains_before": True}, (c.ReadFallen, c.ReadHt, e.PoweredDown)),
    "looked_over": Way({"look_over": True}),
    "limiter_if_open": REPAIR,
    "begin_repair": REPAIR,
    "take_open": REPAIR,
    "done BrokeDown": REPAIR,
    "done BroughtBack": CHECKUP,
    "drop_closing": Way(kinds=SHORT, typed=(e.Stopped,)),
    "drop_end": Way(kinds=SHORT, typed=ASIDE),
    "drop_power_readings": Way(kinds=SHORT, typed=(e.Restarted,)),
    "drop_pending": Way(typed=(c.ReadFallen, c.ReadHt, e.PoweredDown)),
    "enter_hands": Way(typed=ASIDE, reservoirs=2),
    "mark_capacitor": Way({"fits": True}),
    "mark_unproved": Way({"lacking": True}),
    "mark_unwatched": Way({"look_over": True}),
    "take_capacitor": replace(END, options={"fits": True}),
    "take_mains_before": replace(END, options={"mains_before": True}),
    "take_overruled": replace(END, options={"objections": ("V3 past a rating",)}),
    "take_step": replace(END, options={"fits": True}),
    **{
        name: END
        for name in (
            "gate HandsIn", "gate Finished", "hands HandsOut", "closing PowerOn", "powered LastComplete",
            "enter_full", "enter_phase", "take_clear", "take_clip", "take_clip_off", "take_cover", "take_end",
            "take_found", "take_limiter", "take_mains", "take_mains_v", "take_ohms", "take_pending", "take_plug",
            "take_proof",
            "take_rail", "take_read", "take_reservoir", "take_warn", "take_watch", "tell_met", "tell_never",
        )
    },
}  # fmt: skip

#: Mutations that the walks of small plans have nothing for, and the test of test_decide.py that misses each.
OWN: dict[str, str] = {
    "take_alone": "a_short_that_hides_the_clip_is_mended_with_the_clip_read_alone",
    "take_shunted": "a_short_that_hides_the_clip_is_mended_with_the_clip_read_alone",
    "to_be_made": "only_what_is_due_can_be_made_and_only_what_is_made_be_loose",
    "made_before": "only_what_is_due_can_be_made_and_only_what_is_made_be_loose",
    "wired_as_planned": "no_power_comes_back_while_a_wire_of_an_earlier_stage_is_loose",
    "take_made": "wires_are_asked_one_after_the_other_and_several_can_be_told_at_once",
    "take_undone": "a_loose_wire_keeps_the_work_where_it_is_and_what_was_read_is_read_again",
    "nothing_exchanged": "where_nothing_is_left_to_read_the_work_waits_for_it_too",
    "something_exchanged": "only_what_is_exchanged_is_put_back_and_read",
    "take_exchange": "what_is_exchanged_is_read_by_its_limits_and_nothing_passes",
    "take_tried": "what_is_exchanged_is_read_by_its_limits_and_nothing_passes",
    "drop_exchange": "what_is_put_back_lets_the_work_go_on",
    "power_in_plan": "what_never_has_power_cannot_stop_working",
    "story_open": "what_happened_is_told_once_and_in_a_repair_alone",
    "cause_asked": "a_cause_is_told_only_where_one_is_asked",
    "begin_checkup": "it_begins_live_at_the_gate_of_its_last_stage_with_power_and_nobody_asks_what_happened",
    "end_repair": "a_repair_ends_with_everything_read_and_begins_anew",
    "take_told": "what_happened_is_told_once_and_in_a_repair_alone",
    "retest_settled": "what_a_mended_part_cannot_move_is_not_read_again",
    "named_replaced": "only_for_what_was_named_something_is_left_out",
    "guarded_again": "grid_bias_and_what_the_limiter_shows_are_never_left_out",
    "drop_spared": "something_that_reads_badly_makes_all_be_read_again",
    "take_retest": "what_a_mended_part_cannot_move_is_not_read_again",
    "limited": "full_mains_waits_for_limiter_and_watch_point_and_comes_once",
    "settled": "while_it_settles_a_reading_is_watched_and_a_stop_is_a_stop",
    "step_of_phase": "a_point_or_step_of_another_stage_does_not_count",
    "trim_due": "trims_fall_due_again_at_two_ten_and_thirty_minutes",
    "trim_ht_read": "pots_are_read_only_after_ht_of_the_pass",
    "power_behind": "a_chassis_without_power_so_far_has_nothing_to_be_looked_over_again",
    "drop_alarm": "a_stop_reading_that_was_a_slip_goes_back_to_power_with_the_plug_out_and_a_limiter",
    "end_look_over": "a_chassis_that_nobody_watched_is_looked_over_with_hands_in_before_power",
    "forget_passes": "changed_build_keeps_or_drops_what_passed",
    "mark_charged": "bleeding_clears_nothing",
    "unmark_charged": "bleeding_clears_nothing",
    "mark_proved": "a_pass_recorded_with_the_instrument_stands_and_a_later_pass_proves_the_point",
    "take_fitted": "a_bare_stage_is_left_by_a_word_that_is_asked_once",
    "take_look": "hands_in_for_long_ask_for_a_look_before_anything_passes",
    "take_links": "a_chassis_that_never_met_mains_has_the_short_gate",
    "take_trim_ht": "a_round_ends_after_a_pass_in_which_no_pot_was_turned",
    "take_trim_inside": "a_round_ends_after_a_pass_in_which_no_pot_was_turned",
    "take_trim_outside": "a_round_ends_after_a_pass_in_which_no_pot_was_turned",
    "screwed_down": "a_soak_is_closed_with_its_last_screw_and_neither_with_one_hand_nor_with_a_loose_cover",
    "screwed_on": "what_is_read_from_outside_counts_after_the_last_screw_only",
    "outside_read": "what_is_read_from_outside_counts_after_the_last_screw_only",
    "drop_outside": "what_is_read_from_outside_counts_after_the_last_screw_only",
    "winding_asked": "power_waits_for_the_cold_winding_or_for_the_word_that_it_is_left",
    "room_told": "power_waits_for_the_cold_winding_or_for_the_word_that_it_is_left",
    "winding_cold": "power_waits_for_the_cold_winding_or_for_the_word_that_it_is_left",
    "take_room": "power_waits_for_the_cold_winding_or_for_the_word_that_it_is_left",
    "take_cold": "power_waits_for_the_cold_winding_or_for_the_word_that_it_is_left",
    "leave_winding": "power_waits_for_the_cold_winding_or_for_the_word_that_it_is_left",
    "mark_due": "each_mark_has_mains_and_every_point_read_again_and_between_them_a_reading_is_only_watched",
    "take_round": "a_warn_that_is_accepted_ends_its_round_as_a_pass_does",
    "cooling": "the_winding_is_read_as_it_cools_with_the_mains_side_dead_and_some_time_apart",
    "winding_next": "the_winding_is_read_as_it_cools_with_the_mains_side_dead_and_some_time_apart",
    "cooled_enough": "the_winding_is_read_as_it_cools_with_the_mains_side_dead_and_some_time_apart",
    "begin_cooling": "the_winding_is_read_as_it_cools_with_the_mains_side_dead_and_some_time_apart",
    "drop_cooling": "the_winding_is_read_as_it_cools_with_the_mains_side_dead_and_some_time_apart",
    "take_hot": "the_winding_is_read_as_it_cools_with_the_mains_side_dead_and_some_time_apart",
    "winding_warned": "the_winding_is_judged_by_itself_and_beyond_its_limit_the_soak_is_not_over",
    "take_winding": "the_winding_is_judged_by_itself_and_beyond_its_limit_the_soak_is_not_over",
    "warn_winding": "the_winding_is_judged_by_itself_and_beyond_its_limit_the_soak_is_not_over",
    "winding_settled": "after_a_soak_the_work_ends_unopened_with_the_mains_side_dead_and_the_winding_told",
    "gate FinishedShut": "after_a_soak_the_work_ends_unopened_with_the_mains_side_dead_and_the_winding_told",
    "soaked": "without_a_soak_there_is_no_end_but_through_the_gate",
    "drop_winding": "a_changed_build_and_a_repair_ask_for_the_cold_winding_anew",
    "gate SaidBare": "a_bare_stage_is_left_by_a_word_that_is_asked_once",
    "hands Finished": "a_changed_build_takes_the_end_back",
    "done BuildChanged": "a_changed_build_takes_the_end_back",
}


def _way(name: str) -> Way:
    """The usual way, but for what is listed; for a change of mode its own event and what leads to its mode."""
    if name in WAYS or name not in TURNS:
        return WAYS.get(name, Way())
    mode, event = TURNS[name]
    before = {Mode.BARE: (e.SaidBare,)}.get(mode, (e.Restarted, e.RecordFailed, e.OtherHolds))
    stands = mode in (Mode.BARE, Mode.HALT, Mode.READONLY)
    kinds = ("hands",) if mode is Mode.DONE else Way().kinds
    return Way({"look_over": event is e.Unwatched}, (event, *(before if stands else ())), kinds=kinds)


@contextmanager
def off(kind: str, name: str) -> Iterator[None]:
    """The guard, effect or change of mode of that name, switched off meanwhile."""
    table: dict[Any, Any] = {"guard": GUARDS, "effect": EFFECTS}.get(kind) or TABLE[TURNS[name][0]]
    key = TURNS[name][1] if kind == "mode" else name
    whole = table[key]
    table[key] = {
        "guard": lambda: Guard(lambda plan, state, event: True, whole.says),
        "effect": lambda: _nothing,
        "mode": lambda: replace(whole, to=None),
    }[kind]()
    try:
        yield
    finally:
        table[key] = whole


def _nothing(plan: object, state: Any, event: object) -> Any:
    return state


def caught(name: str) -> tuple[str, int]:
    """What a walk misses first with something off (the rule's number and words; "" for nothing), and after how many
    states."""
    way = _way(name)
    aside = tuple(one for one in ASIDE if one not in way.typed)
    found = walk(plan(way.reservoirs, kinds=way.kinds, **way.options), stop_at=1, without=aside)
    if found.rules:
        return str(found.rules[0]), found.states
    lost = found.lost() if whole(name) else []
    return (f"42 {lost[0]}" if lost else ""), found.states


def whole(name: str) -> bool:
    """Is all that can be typed walked for it? Then the goals must stay within reach, and it takes seconds."""
    return _way(name).typed == ASIDE


_MODULES = (test_decide, test_checkup, test_repair, test_exchange, test_soak, test_wires)


def missed(name: str) -> bool:
    """Does the test of its own fail with something off?"""
    name = f"test_{OWN[name]}"
    test = next(getattr(module, name) for module in _MODULES if hasattr(module, name))
    try:
        test()
    except Exception:
        return True
    return False


def main(kinds: list[str]) -> None:
    """Switch all of these kinds off, or all there are, and print who misses each."""
    print(f"{'off':8}{'name':26}{'states':>7}{'seconds':>9}  missed first by")
    by: Counter[tuple[str, str]] = Counter()
    for kind in kinds or ALL:
        for name in ALL[kind]:
            began = time.monotonic()
            with off(kind, name):
                rule, states = ("", 0) if name in OWN else caught(name)
                rule = rule or (f"test_{OWN[name]}" if name in OWN and missed(name) else "")
            seconds = time.monotonic() - began
            print(f"{kind:8}{name:26}{states or '':>7}{seconds:9.1f}  {rule or 'NOTHING'}", flush=True)
            by[kind, "a test of its own" if name in OWN and rule else rule.partition(" ")[0] or "nothing"] += 1
    for (kind, who), count in sorted(by.items()):
        print(f"{kind:8}{who:>20}{count:5}")


if __name__ == "__main__":
    main(sys.argv[1:])
