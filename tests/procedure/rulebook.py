"""All rules in one list, also those that no watcher of steps can see, each with the tests that hold it.

`python -m tests.procedure.rulebook` prints them as the table of DEVELOPERS.md.
"""

from __future__ import annotations

from tests.procedure.rules import SHOWN, STATES, STEPS, Rule

_SESSION, _DECIDE = "tests/session/test_session.py::", "tests/procedure/test_decide.py::"

ELSEWHERE = [
    Rule(31, "The wall clock, forward or back, clears nothing.", held=(
        f"{_SESSION}test_a_sleep_empties_the_gate_and_a_jump_of_the_wall_clock_does_nothing",
        f"{_SESSION}test_a_wait_is_counted_on_the_steady_clock_alone",
    )),
    Rule(34, "A paste, a held key, a computed value or a switch clears no item.", held=(
        f"{_SESSION}test_pasted_text_clears_no_gate_item",
        "tests/screens/test_typing.py::test_a_held_enter_sends_nothing_to_the_next_prompt",
    )),
    Rule(35, "An answer to another prompt, stage or point has no effect.", held=(
        f"{_SESSION}test_an_answer_to_an_earlier_prompt_is_dropped_and_said",
    )),
    Rule(36, "A stage passes by its own readings only.", held=(
        f"{_DECIDE}test_a_point_or_step_of_another_stage_does_not_count",
    )),
    Rule(41, "No gate is empty: a plan without a reservoir has one to read all the same.", held=(
        f"{_DECIDE}test_a_plan_without_phases_or_with_an_empty_gate_is_refused",
        "tests/walk/test_walk_session.py::test_no_link_is_asked_for_where_no_capacitor_is_fitted",
    )),
    Rule(42, "From every state hands in, power and the end can be reached.", held=(
        "tests/procedure/test_walk.py::test_hands_power_and_the_end_can_be_reached_from_every_state",
    )),
    Rule(43, "No low reading is inferred: a computed fall is shown and counts as nothing.", held=(
        "tests/session/test_waiting.py::test_a_reading_in_the_wait_is_noted_and_neither_ends_nor_counts",
        "tests/session/test_words.py::test_nothing_is_ever_called_safe",
    )),
    Rule(45, "Where no bleeder is quick enough the wait is the long one, and a better one is asked for.", held=(
        f"{_DECIDE}test_the_wait_is_long_where_a_bleeder_is_missing_or_slow",
        "tests/forecast/test_review.py::test_a_weak_part_is_found",
    )),
]  # fmt: skip

RULES = sorted((*STEPS, *SHOWN, *STATES, *ELSEWHERE), key=lambda rule: rule.number)


def table() -> str:
    """The rules as a table in Markdown: those that are walked, and the others with their tests."""
    lines = ["| rule | what must hold | held by |", "|---|---|---|"]
    for rule in RULES:
        held = ", ".join(f"`{each.removeprefix('tests/').replace('.py::', '::')}`" for each in rule.held)
        lines.append(f"| {rule.number} | {rule.says} | {held or 'the walks'} |")
    return "\n".join(lines)


if __name__ == "__main__":
    print(table())
