"""What a terminal and its surroundings may do to the program, by case: all are proved by tests of their own."""

from __future__ import annotations

from tests.badinput.cases import Answer, Proved, Table

_HERE = "tests/badinput/test_terminal.py::"
_AROUND = "tests/badinput/test_environment.py::"
_SIZES = "tests/screens/test_sizes.py::"
_LOOK = "tests/screens/test_look.py::"
_OPENING = "tests/session/test_opening.py::"
_JOURNAL = "tests/record/test_journal.py::"

TERMINAL: Table[Proved] = {
    "80 by 24": (
        Proved(Answer.TAKEN, f"{_SIZES}test_a_reading_shows_all_that_is_needed_without_scrolling",
               f"{_SIZES}test_the_gate_shows_its_items_with_the_present_one_marked"),
    ),
    "60 by 20": (
        Proved(Answer.TAKEN, f"{_SIZES}test_danger_field_and_stop_stay_in_sight_in_small_windows",
               f"{_SIZES}test_what_does_not_fit_is_reached_by_scrolling"),
    ),
    "40 by 10": (
        Proved(Answer.FALLBACK, f"{_SIZES}test_a_window_too_small_shows_danger_stop_and_what_would_help",
               "tests/screens/test_stop.py::test_stop_works_at_every_size"),
    ),
    "one cell": (Proved(Answer.FALLBACK, f"{_SIZES}test_one_cell_is_no_error"),),
    "hundreds of sizes in a row": (Proved(Answer.TAKEN, f"{_SIZES}test_many_sizes_in_a_row_are_no_error"),),
    "little or no colour": (
        Proved(Answer.TAKEN, f"{_LOOK}test_without_colour_no_colour_is_sent_and_no_ink_is_its_paper",
               f"{_LOOK}test_the_verdict_is_a_word_without_colour",
               f"{_HERE}test_the_app_works_wherever_it_runs"),
    ),
    "a terminal that cannot be drawn on": (Proved(Answer.NO_PLACE, f"{_HERE}test_what_cannot_be_drawn_on_is_refused"),),
    "no terminal": (
        Proved(Answer.NO_PLACE, f"{_HERE}test_a_stream_that_is_no_terminal_is_refused",
               "tests/cli/test_main.py::test_the_app_is_refused_without_a_terminal_before_the_build_is_looked_at"),
    ),
    "the terminal or the line goes away": (
        Proved(Answer.FALLBACK,
               "tests/crash/test_signals.py::"
               "test_a_signal_to_end_leaves_a_sane_terminal_a_last_line_and_a_sound_record",
               "tests/crash/test_signals.py::test_a_terminal_that_vanishes_without_a_signal_ends_the_program"),
    ),
    "interrupted, stopped, held": (
        Proved(Answer.TAKEN, f"{_HERE}test_keys_of_the_terminal_lose_nothing"),
        Proved(Answer.FALLBACK, f"{_HERE}test_a_program_that_was_stopped_and_goes_on_begins_the_gate_anew",
               "tests/crash/test_standstill.py::test_ctrl_z_says_what_is_to_be_done_about_the_power",
               "tests/crash/test_standstill.py::test_a_program_stopped_in_a_wait_begins_the_gate_anew"),
    ),
    "a megabyte pasted": (
        Proved(Answer.ASKED, "tests/crash/test_no_hands.py::test_an_item_stays_open_for_all_but_hands",
               f"{_HERE}test_a_megabyte_pasted_is_no_answer_and_the_next_key_works",
               "tests/screens/test_typing.py::test_a_flood_of_keys_is_dropped_and_said",
               "tests/screens/test_stop.py::test_stop_overtakes_queued_keys_and_they_count_no_more"),
    ),
    "mouse and focus": (Proved(Answer.TAKEN, f"{_HERE}test_mouse_and_focus_clear_nothing"),),
}  # fmt: skip

ENVIRONMENT: Table[Proved] = {
    "read-only folder": (
        Proved(Answer.NO_PLACE, f"{_AROUND}test_a_read_only_folder_is_refused_before_the_first_stage",
               f"{_JOURNAL}test_a_read_only_folder_refuses_a_birth_and_lets_a_record_be_read"),
    ),
    "full disk": (
        Proved(Answer.HALTED, "tests/session/test_session.py::test_halt_when_an_event_cannot_be_saved",
               "tests/record/test_faults.py::"
               "test_a_fault_at_any_operation_ends_the_journal_with_every_shown_event_safe"),
        Proved(Answer.NO_PLACE, "tests/cli/test_printing.py::test_a_full_disk_is_told_and_exit_3"),
    ),
    "quota, or a file as large as may be": (Proved(Answer.HALTED, f"{_AROUND}test_a_limit_of_size_halts"),),
    "no home folder, or none to write in": (
        Proved(Answer.FALLBACK, f"{_AROUND}test_a_command_works_or_refuses_in_words_wherever_it_runs",
               "tests/cli/test_kept.py::test_where_nothing_can_be_kept_it_is_computed"),
    ),
    "record held by another program": (
        Proved(Answer.READ_ONLY, f"{_OPENING}test_a_second_program_reads_only_and_can_clear_nothing"),
    ),
    "lock file of a dead program": (
        Proved(Answer.TAKEN, f"{_JOURNAL}test_the_lock_file_stays_and_a_stale_one_blocks_nobody"),
    ),
    "clock wrong or set": (
        Proved(Answer.TAKEN, f"{_JOURNAL}test_a_wall_clock_that_jumps_harms_nothing",
               "tests/session/test_session.py::test_a_sleep_empties_the_gate_and_a_jump_of_the_wall_clock_does_nothing",
               "tests/session/test_away.py::test_a_fortnight_or_a_clock_that_has_gone_back_is_too_long"),
        Proved(Answer.TAKEN, f"{_AROUND}test_a_wall_clock_that_is_set_in_a_wait_shortens_none"),
        Proved(Answer.WARNED, f"{_AROUND}test_times_of_a_clock_that_is_no_clock_are_unknown"),
    ),
    "no UTF-8": (
        Proved(Answer.TAKEN, f"{_LOOK}test_in_a_plain_locale_every_cell_is_ascii",
               "tests/cli/test_printing.py::test_an_ascii_terminal_gets_stand_ins",
               f"{_AROUND}test_a_locale_that_was_asked_for_counts_and_not_what_stands_in_for_it",
               f"{_HERE}test_the_app_works_wherever_it_runs"),
    ),
    "record of a newer version": (
        Proved(Answer.NO_PLACE, f"{_JOURNAL}test_a_record_of_a_newer_format_is_refused_with_its_number",
               f"{_OPENING}test_a_record_of_another_version_is_refused_with_code_3"),
    ),
    "damaged record": (
        Proved(Answer.READ_ONLY, f"{_OPENING}test_a_damaged_record_opens_read_only_and_names_the_last_sound_event"),
    ),
    "build file gone": (Proved(Answer.FALLBACK, f"{_OPENING}test_a_build_file_that_is_gone_is_read_from_the_record"),),
    "file system without locks": (
        Proved(Answer.NO_PLACE, f"{_JOURNAL}test_a_file_system_without_locks_is_never_written_on"),
    ),
    "assertions switched off": (
        Proved(Answer.TAKEN, f"{_AROUND}test_no_check_lives_in_an_assertion",
               f"{_HERE}test_the_app_works_wherever_it_runs"),
    ),
    "started as root": (Proved(Answer.WARNED, f"{_AROUND}test_a_start_as_root_is_warned_of"),),
    "no umask": (
        Proved(Answer.TAKEN, f"{_JOURNAL}test_all_files_are_for_their_owner_alone_whatever_the_umask",
               f"{_AROUND}test_kept_answers_are_for_their_owner_alone_whatever_the_umask"),
    ),
}  # fmt: skip
