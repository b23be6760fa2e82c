"""What is typed for a reading, by case."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import Literal

from tests.badinput.cases import Answer, Proved, Table

_ASKED, _TAKEN, _WARNED = Answer.ASKED, Answer.TAKEN, Answer.WARNED

Place = Literal["dc", "ac", "ohms", "gate"]
"""Where it is typed: at a DC, AC or resistance point, or for a reservoir at the gate."""


@dataclass(frozen=True)
class Typed:
    """A line typed at a place, what is said, and the value that is understood where it is taken."""

    text: str
    says: str = ""
    at: Place = "dc"
    answer: Answer = _ASKED
    value: float | None = None


def _taken(text: str, value: float, at: Place = "dc", says: str = "") -> Typed:
    return Typed(text, says, at, _TAKEN, value)


SESSION = "tests/session/test_session.py::"
TYPING = "tests/screens/test_typing.py::"

TABLE: Table[Typed] = {
    "decimal comma": (Typed("38,5", "write 38.5"), Typed("0,3", "write 0.3", "gate")),
    "comma that may mark thousands": (Typed("1,234", "write 1.234 or 1234"),),
    "point and comma": (Typed("1.234,5", "write 1234.5"), Typed("1,234.5", "write 1234.5")),
    "exponent": (Typed("1e3", "exponent"), Typed("3e-1", "exponent", "gate"), Typed("1E3", "exponent", "ohms")),
    "multiplier without unit": (
        Typed("12k", "write 12 kV"),
        _taken("12k", 12e3, "ohms", "12 kΩ"),
        _taken("1k2", 1200.0, "ohms", "1.2 kΩ"),
        Typed("12m", "write 12M for megohms, or 0.012 ohm", "ohms"),
        _taken("12m", 0.012, "dc", "12 mV"),
    ),
    "minus zero": (_taken("-0", 0.0), _taken("-0.0", 0.0, "gate"), _taken("+0", 0.0)),
    "minus where plus is due": (
        Typed("-100", "swapped", answer=_WARNED),
        Proved(_TAKEN, f"{SESSION}test_a_capacitor_is_read_on_the_bench_before_the_step_that_fits_it",
               "tests/procedure/test_decide.py::test_only_a_magnitude_under_the_threshold_is_low"),
    ),
    "typographic minus": (
        Typed("\u221238", "plain -"), Typed("\u201338", "plain -"), Typed("\u22120.3", "plain -", "gate"),
    ),
    "digits of another script": (
        Typed("\u0663\u0668", "another script"), Typed("\uff13\uff18", "another script"),
        Typed("\u0660", "another script", "gate"), Typed("\u00b2", "another script"),
    ),
    "underscore": (Typed("1_000", "underscore"), Typed("0_0", "underscore", "gate")),
    "not finite": tuple(
        Typed(text, says, at)
        for at in ("dc", "ac", "ohms", "gate")
        for text, says in (("nan", "is no number"), ("inf", "is no number"), ("-Infinity", "is no number"),
                           ("1e400", "exponent"))
    ),
    "hexadecimal": (Typed("0x10", "hexadecimal"), Typed("0x0", "hexadecimal", "gate")),
    "over limit": (
        _taken("OL", inf, "ohms", "open"), _taken(" o.l ", inf, "ohms", "open"),
        Typed("OL", "higher range"), Typed("OL", "higher range", "ac"), Typed("OL", "higher range", "gate"),
        Typed("0L", "type 0 or OL", "ohms"), Typed("0L", "type 0 or OL", "gate"),
    ),
    "another quantity": (
        Typed("38.5 mA", "is in amperes"), Typed("0.3 A", "plain number of volts", "gate"),
        Typed("12 volz", "unknown unit"), Typed("4 V", "is in volts", "ohms"),
    ),
    "millivolts where volts are due": (_taken("250 mV", 0.25, "dc", "250 mV"), Typed("250 mV", "plain number", "gate")),
    "kilovolts at the gate": (Typed("0.25 kV", "plain number", "gate"), _taken("0.25 kV", 250.0)),
    "nothing": (Typed("", "Nothing was typed"), Typed("", "Nothing was typed", "gate"), Typed(" ", "Nothing", "gate")),
    "blanks": (
        _taken("  38.5 ", 38.5), _taken("\t38.5", 38.5), _taken(" 0.3 ", 0.3, "gate"), Typed("\t \t", "Nothing was"),
        Typed("3 8", "blank between digits"),
    ),
    "too long": (
        Typed("1" * 17, "too long"), Typed("0." + "0" * 15, "too long", "gate"), Typed("9" * 100_000, "too long"),
    ),
    "pasted": (
        Proved(_ASKED, f"{SESSION}test_pasted_text_clears_no_gate_item"),
        Proved(_WARNED, f"{SESSION}test_a_paste_of_one_line_is_taken_with_a_word_elsewhere_and_two_lines_never"),
    ),
    "pasted with a line end": (
        Typed("38.5\n", "line end"), Typed("38.5\n12", "line end"), Typed("0.3\n0.3", "line end", "gate"),
        Proved(_ASKED, f"{TYPING}test_a_paste_is_told_to_the_session_and_its_newline_is_no_enter",
               f"{TYPING}test_a_line_end_that_was_poured_in_is_no_enter_and_its_lines_never_join"),
    ),
    "two points or signs": (
        Typed("38.5.1", "two decimal points"), Typed("--5", "two signs"), Typed("5-", "sign after the digits"),
        Typed("+-0", "two signs", "gate"), Typed("38.", "ends in a decimal point"),
    ),
    "not exact": tuple(
        Typed(text, "not exact", at) for at in ("dc", "gate") for text in ("~38", "<1", "38?", ">0")
    ),
    "ten times off": (
        Proved(_ASKED, f"{SESSION}test_ten_times_off_is_asked_again_and_the_second_entry_counts"),
        Proved(Answer.HALTED, f"{SESSION}test_beyond_a_limit_the_power_off_text_comes_before_any_question"),
    ),
    "the same value at every point": (
        Proved(_WARNED, f"{SESSION}test_the_same_number_everywhere_makes_the_meter_suspect"),
    ),
    "AC for a DC point": (
        Typed("38.5 VAC", "says AC where DC is due"), Typed("6.3 V dc", "says DC where AC is due", "ac"),
        Typed("0.3 ac", "says AC where DC is due", "gate"), _taken("38.5 VDC", 38.5), _taken("6.3 V ac", 6.3, "ac"),
        Typed("-6.3", "no sign", "ac"),
    ),
    "an answer to a prompt already left": (
        Proved(_ASKED, f"{SESSION}test_an_answer_to_an_earlier_prompt_is_dropped_and_said",
               f"{TYPING}test_keys_struck_before_the_prompt_was_painted_answer_nothing"),
    ),
}  # fmt: skip
