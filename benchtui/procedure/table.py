"""The transition table: what may happen in which mode, on what conditions, and what it does.

An event that has no row in a mode is refused there and changes nothing. A row names its guards (guards.py),
all of which must hold, the mode it leads to (None: the same), and its effects (effects.py) in order.
"""

from __future__ import annotations

from dataclasses import dataclass

from benchtui.procedure import events as e
from benchtui.procedure.events import Event
from benchtui.procedure.guards import GATE_ITEMS
from benchtui.procedure.state import Mode

BARE, OFF_GATE, HANDS, CLOSING = Mode.BARE, Mode.OFF_GATE, Mode.HANDS, Mode.CLOSING
POWERED, HALT, READONLY, DONE = Mode.POWERED, Mode.HALT, Mode.READONLY, Mode.DONE

RECORDING = (BARE, OFF_GATE, HANDS, CLOSING, POWERED, DONE)


@dataclass(frozen=True, slots=True)
class Row:
    """Conditions, target mode and effects of one event in one mode, by name."""

    guards: tuple[str, ...] = ()
    to: Mode | None = None
    effects: tuple[str, ...] = ()


#: Everything that was borne out about charge, mains, meter and clip is taken back.
ALL_BACK = ("drop_gate", "drop_closing", "drop_clip_place", "drop_pending", "drop_end")

#: The same, the end of the last stage apart: nobody knows what happened meanwhile.
UNSEEN = ("drop_gate", "drop_closing", "drop_clip_place", "drop_pending", "drop_cooling")
RESTART = (*UNSEEN, "drop_power_readings")

#: What a reservoir reading needs before it counts.
PROVED = ("plug_out", "meter_proved", "mains_dead")

#: What a reading needs at power before its window applies, and a stage before it is over.
AT_POWER = ("settled", "mains_known")

TABLE: dict[Mode, dict[type[Event], Row]] = {mode: {} for mode in Mode}


def _row(
    modes: tuple[Mode, ...] | Mode,
    events: tuple[type[Event], ...] | type[Event],
    *guards: str,
    to: Mode | None = None,
    do: tuple[str, ...] = (),
) -> None:
    for mode in modes if isinstance(modes, tuple) else (modes,):
        for event in events if isinstance(events, tuple) else (events,):
            if event in TABLE[mode]:
                raise ValueError(f"two rows for {event.__name__} in {mode}")
            TABLE[mode][event] = Row(guards, to, do)


# A row each, as narrow as it may be.
# fmt: off

# --- any mode ---

_row(RECORDING, (e.Noted, e.Captured, e.Left, e.Refused))
_row((*RECORDING, READONLY), e.RecordFailed, to=HALT, do=RESTART)
_row((*RECORDING, HALT), e.OtherHolds, to=READONLY, do=RESTART)

_row((BARE, OFF_GATE, POWERED), e.Stopped, to=OFF_GATE,
     do=("drop_gate", "drop_closing", "drop_readings", "drop_pending", "drop_end"))
_row((HANDS, CLOSING, DONE), e.Stopped, to=OFF_GATE, do=(*ALL_BACK, "drop_readings"))

_row((BARE, OFF_GATE, HANDS, CLOSING, POWERED, HALT, READONLY), e.Restarted, to=OFF_GATE, do=RESTART)
_row(DONE, e.Restarted)
_row(OFF_GATE, e.BuildChanged, do=("forget_passes", "drop_spared", "drop_winding"))
_row(DONE, e.BuildChanged, to=OFF_GATE, do=(*ALL_BACK, "drop_readings", "forget_passes", "drop_winding"))

_row((OFF_GATE, HANDS, CLOSING), e.Disturbed, to=OFF_GATE, do=UNSEEN)
_row(POWERED, e.Disturbed, do=("drop_pending",))
_row((OFF_GATE, HANDS, CLOSING), e.Unwatched, "power_behind", to=OFF_GATE,
     do=(*UNSEEN, "mark_unwatched", "drop_spared"))

_row((BARE, OFF_GATE, HANDS), e.LeadAttached, to=OFF_GATE, do=("tell_met", *ALL_BACK))
_row((BARE, OFF_GATE, HANDS, CLOSING, DONE), e.MainsLive, to=OFF_GATE, do=ALL_BACK)

# --- bare: nothing fitted that could be live or charged ---

_row(OFF_GATE, e.SaidBare, "bare_phase", "never_met", to=BARE, do=("drop_gate", "drop_pending"))
_row(BARE, e.NextBare, "complete", do=("enter_phase", "drop_readings"))
_row(BARE, e.BareEnds, "complete", to=OFF_GATE, do=("enter_phase", "drop_readings"))
_row(BARE, e.ReservoirHigh, to=OFF_GATE, do=ALL_BACK)

# --- gate ---

_row(OFF_GATE, e.SaidFitted, "bare_phase", do=("take_fitted",))
_row(OFF_GATE, e.SaidNever, "not_told_yet", do=("tell_never",))
_row(OFF_GATE, e.SaidMet, "not_told_yet", do=("tell_met",))
_row(OFF_GATE, e.NoLead, "never", do=("take_plug",))
_row(OFF_GATE, e.PlugOut, "not_never", do=("take_plug",))
_row(OFF_GATE, e.MeterGood, "plug_out", do=("take_proof", "settle_doubt"))
_row(OFF_GATE, e.Fallen, "plug_out", do=("take_proof", "drop_pending"))
_row(OFF_GATE, e.NotFallen, do=("drop_gate", "drop_pending"))
_row(OFF_GATE, e.MeterBad, do=("drop_meter", "drop_mains", "drop_rounds", "drop_pending"))
_row(HANDS, e.MeterBad, to=OFF_GATE, do=ALL_BACK)
_row(OFF_GATE, e.MainsDead, "plug_out", "meter_proved", do=("take_mains",))
_row(OFF_GATE, e.ReservoirLow, *PROVED, do=("take_reservoir", "drop_again"))
_row(OFF_GATE, e.ReservoirSoon, *PROVED, do=("open_doubt", "drop_meter", "drop_pending"))
_row(OFF_GATE, e.ReservoirHigh, do=("drop_rounds", "mark_charged"))
_row((HANDS, CLOSING, DONE), e.ReservoirHigh, to=OFF_GATE, do=(*ALL_BACK, "mark_charged"))
_row(OFF_GATE, e.RailHigh, do=("drop_rounds",))
_row((BARE, HANDS, CLOSING, DONE), e.RailHigh, to=OFF_GATE, do=ALL_BACK)
_row(OFF_GATE, e.Bled, *PROVED, do=("drop_rounds", "drop_clip_place", "unmark_charged"))
_row(OFF_GATE, e.ClipShunted, "round_1", "round_2", do=("take_shunted",))
_row(OFF_GATE, e.ClipAlone, "round_1", "round_2", do=("take_alone",))
_row(OFF_GATE, e.ClipOn, "round_1", "round_2", do=("take_clip", "drop_clip_place"))
_row(OFF_GATE, e.LinksOn, "round_1", "round_2", "links_next", do=("take_links",))
_row(OFF_GATE, e.ClipOff, do=("drop_clip",))
_row(OFF_GATE, e.HandsIn, *GATE_ITEMS, to=HANDS, do=("enter_hands", "drop_pending"))
_row(OFF_GATE, e.Slipped, "plug_out", "stopped_by_reading", do=("drop_alarm",))
_row(OFF_GATE, e.BackToPower, "power_phase", "clip_known_off", "no_alarm", "plug_out",
     to=CLOSING, do=("drop_gate", "start_back", "drop_pending"))

# --- hands in ---

_row((HANDS, DONE), e.ClipOff, to=OFF_GATE, do=ALL_BACK)
_row(HANDS, e.Looked, do=("take_look",))
_row(HANDS, e.LookFailed, to=OFF_GATE, do=ALL_BACK)
_row(HANDS, e.FurtherRead, "nothing_exchanged")
_row(HANDS, e.Exchanged, "power_phase", "nothing_exchanged", "looked_over", "alarm_cleared", "retest_settled",
     "look_answered",
     do=("take_exchange", "drop_end", "drop_spared"))
_row(HANDS, e.PutBack, "something_exchanged", "look_answered", do=("drop_exchange", "drop_spared"))
_row(HANDS, e.CauseFound, "nothing_exchanged", "cause_asked", "power_phase", "said", "look_answered",
     do=("take_found",))
_row(HANDS, e.CauseOpen, "nothing_exchanged", "cause_asked", "power_phase", "look_answered", do=("take_open",))
_row(HANDS, e.Retest, "nothing_exchanged", "named_replaced", "guarded_again", "look_answered", do=("take_retest",))
_row(HANDS, e.HandsOut, "wired_as_planned", "looked_over", "alarm_cleared", "retest_settled", to=CLOSING,
     do=("end_look_over", "drop_gate", "drop_closing"))
_row(HANDS, e.NextHands, "nothing_exchanged", "looked_over", "complete", "wired_as_planned", "look_answered",
     do=("end_look_over", "enter_phase", "drop_readings"))
_row(HANDS, e.NextClosing, "nothing_exchanged", "looked_over", "complete", "wired_as_planned", "look_answered",
     to=CLOSING, do=("end_look_over", "enter_phase", "drop_readings", "drop_gate", "drop_closing"))
_row(HANDS, e.Finished, "nothing_exchanged", "last_phase", "looked_over", "complete", "wired_as_planned",
     "look_answered", to=DONE, do=("end_look_over", "end_repair"))

# --- closing ---

_row(CLOSING, e.ClipOff, "no_links_on", do=("take_clip_off",))
_row(CLOSING, e.LinksOff, do=("take_clip_off",))
_row(CLOSING, e.Clear, "clip_taken_off", do=("take_clear",))
_row(CLOSING, e.RailLow, "chassis_clear", do=("take_rail",))
_row(CLOSING, e.OhmsGood, "rails_low", "chassis_clear", do=("take_ohms",))
_row(CLOSING, e.OhmsBad, do=("drop_ohms_and_cover", "drop_spared"))
_row(CLOSING, e.ClipFound, do=("drop_clip_off_and_after",))
_row(CLOSING, e.Covered, "inside_done", "screwed_down", do=("take_cover", "drop_outside"))
_row(CLOSING, e.RoomRead, "screwed_on", "winding_asked", do=("take_room",))
_row(CLOSING, e.WindingCold, "screwed_on", "winding_asked", "room_told", do=("take_cold",))
_row((CLOSING, OFF_GATE), e.WindingLeft, "winding_asked", do=("leave_winding",))
_row(CLOSING, e.MainsRead, "mains_before", "covered", "mains_in_range", do=("take_mains_before",))
_row(CLOSING, e.Overruled, "power_phase", "reason_given", do=("take_overruled",))
_row(CLOSING, e.PowerOn, "covered", "power_phase", "objections_answered", "limiter_or_reason", "limiter_if_back",
     "limiter_if_open", "outside_read", "winding_cold", "mains_read_before", to=POWERED,
     do=("drop_gate", "drop_readings", "drop_pending", "drop_end", "enter_power", "drop_closing"))

# --- power ---

_row(POWERED, e.LimiterGood, "limited", do=("take_limiter",))
_row(POWERED, e.LimiterDark, "limited", do=("ask_limiter_again",))
_row(POWERED, e.LimiterBad, to=OFF_GATE,
     do=("drop_gate", "drop_readings", "drop_pending", "drop_end", "drop_spared", "take_short"))
_row(POWERED, e.FullMains, "limited", "limiter_good", "watched", do=("enter_full",))
_row(POWERED, e.MainsRead, "full_mains", "mains_in_range", do=("take_mains_v", "drop_pending"))
_row(POWERED, e.PointWatched, do=("take_watch", "drop_pending"))
_row(POWERED, e.PointNothing, do=("drop_watch", "ask_again", "drop_pending"))
_row(POWERED, e.HtLive, "ht_live", do=("take_pending",))
_row(POWERED, e.PoweredDown, to=OFF_GATE, do=("drop_gate", "drop_readings"))
_row(POWERED, e.TrimHt, *AT_POWER, "trim_due", do=("take_trim_ht", "drop_pending"))
_row(POWERED, e.TrimInside, *AT_POWER, "trim_due", "trim_ht_read", do=("take_trim_inside", "drop_pending"))
_row(POWERED, e.TrimOutside, *AT_POWER, "trim_due", "trim_ht_read", do=("take_trim_outside", "drop_pending"))
_row(POWERED, e.NextPowered, "nothing_exchanged", "complete", "full_mains", *AT_POWER,
     do=("enter_phase", "drop_readings", "drop_pending"))
_row(POWERED, e.NextGate, "nothing_exchanged", "complete", "full_mains", *AT_POWER, to=OFF_GATE,
     do=("enter_phase", "drop_gate", "drop_readings"))
_row(POWERED, e.LastComplete, "nothing_exchanged", "last_phase", "complete", "full_mains", *AT_POWER, to=OFF_GATE,
     do=("drop_gate", "drop_readings", "take_end", "begin_cooling"))
_row(OFF_GATE, e.Finished, "last_complete", "winding_settled", *GATE_ITEMS, to=DONE,
     do=("drop_gate", "drop_pending", "end_repair"))

# --- after a soak: the winding as it cools, and the end without hands in ---

_row(OFF_GATE, e.WindingHot, *PROVED, "last_complete", "winding_asked", "cooling", "winding_next", do=("take_hot",))
_row(OFF_GATE, e.PointPassed, *PROVED, "last_complete", "winding_asked", "cooled_enough",
     do=("take_winding", "mark_proved"))
_row(OFF_GATE, e.PointUnproved, *PROVED, "last_complete", "winding_asked", "cooled_enough",
     do=("take_winding", "mark_unproved"))
_row(OFF_GATE, e.PointWarned, *PROVED, "last_complete", "winding_asked", "cooled_enough", do=("warn_winding",))
_row(OFF_GATE, e.Accepted, "winding_warned", "reason_given", do=("take_winding",))
_row(OFF_GATE, e.FinishedShut, "last_complete", "soaked", *PROVED, "winding_settled", to=DONE,
     do=("drop_gate", "drop_pending", "end_repair"))

# --- a finished amplifier that stopped working, or is brought back though it works ---

_row(DONE, e.BrokeDown, "power_in_plan", to=OFF_GATE,
     do=(*ALL_BACK, "drop_readings", "begin_repair", "mark_unwatched", "drop_winding"))
_row(DONE, e.BroughtBack, "power_in_plan", to=OFF_GATE,
     do=(*ALL_BACK, "drop_readings", "begin_checkup", "mark_unwatched", "drop_winding"))
_row(OFF_GATE, e.Told, "story_open", do=("take_told",))

# --- readings and steps ---

_row(POWERED, e.PointExchanged, *AT_POWER, "something_exchanged", do=("take_tried", "drop_pending"))
_row(POWERED, e.PointPassed, "nothing_exchanged", "mains_known", "mark_due", "instrument_owned",
     do=("take_read", "mark_proved", "drop_pending", "take_round"))
_row(POWERED, e.PointWarned, "nothing_exchanged", "mains_known", do=("take_warn", "drop_pending", "drop_spared"))
_row(POWERED, e.PointDoubted, do=("ask_again", "drop_pending"))
_row(POWERED, e.PointStopped, to=OFF_GATE,
     do=("drop_gate", "drop_readings", "drop_pending", "drop_end", "drop_spared", "take_stop_alarm"))
_row((BARE, HANDS), e.PointPassed, "nothing_exchanged", "look_answered", "instrument_owned",
     do=("take_read", "mark_proved"))
_row((BARE, HANDS), e.PointUnproved, "nothing_exchanged", "look_answered", do=("take_read", "mark_unproved"))
_row((BARE, HANDS), e.PointWarned, do=("take_warn", "drop_spared"))
_row((BARE, HANDS), e.PointDoubted, do=("ask_again",))
_row((BARE, HANDS), e.PointStopped, do=("take_stop", "drop_spared"))
_row(OFF_GATE, e.PointStopped, do=("take_stop", "drop_pending", "drop_end", "drop_spared"))
_row(DONE, e.PointStopped, to=OFF_GATE, do=ALL_BACK)
_row((BARE, HANDS), e.Accepted, "nothing_exchanged", "was_warned", "not_guarded", "reason_given", "look_answered",
     do=("take_read",))
_row(POWERED, e.Accepted, "was_warned", "not_guarded", "reason_given", do=("take_read", "take_round"))
_row(CLOSING, e.PointPassed, "screwed_on", "instrument_owned", do=("take_read", "mark_proved"))
_row(CLOSING, e.PointUnproved, "screwed_on", do=("take_read", "mark_unproved"))
_row(CLOSING, e.PointWarned, "screwed_on", do=("take_warn",))
_row(CLOSING, e.PointDoubted, "screwed_on", do=("ask_again",))
_row(CLOSING, e.PointStopped, "screwed_on", do=("take_stop",))
_row(CLOSING, e.Accepted, "screwed_on", "was_warned", "not_guarded", "reason_given", do=("take_read",))
_row(HANDS, e.CapacitorLow, "look_answered", do=("take_capacitor",))
_row(HANDS, e.CapacitorHigh, do=("mark_capacitor",))
_row((BARE, HANDS), e.StepDone, "nothing_exchanged", "step_of_phase", "capacitors_low", "look_answered",
     do=("take_step",))
_row((BARE, HANDS), e.Made, "nothing_exchanged", "to_be_made", "look_answered", do=("take_made",))
_row((BARE, HANDS), e.Undone, "made_before", do=("take_undone", "drop_spared"))
_row(POWERED, e.StepDone, "step_of_phase", *AT_POWER, do=("take_step",))
