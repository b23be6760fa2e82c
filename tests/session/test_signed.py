"""What counts as the last sign-off, and how a check-up is held against it: folded from events, without a session."""

from __future__ import annotations

from benchtui.buildfile.load import load
from benchtui.procedure import events as e
from benchtui.procedure.plan import WINDING
from benchtui.session.compared import Row, rows, summary, told
from benchtui.session.planning import plan
from benchtui.session.signed import Key, Signed
from tests.session.made_up import BUILDS

BUILD = load(BUILDS / "pp-el34.toml").build
PLAN = plan(BUILD, {})
DAY = 86400.0
HT: Key = ("point", "ht")


def read(id: str, value: float, plain: float = 100.0) -> e.PointRead:
    """A pass where the file makes it `plain`, always the same by default."""
    return e.PointPassed(id, f"{value}", value, value, 0.0, 999.0, (), plain)


def unproved(id: str, value: float) -> e.PointRead:
    return e.PointUnproved(id, f"{value}", value, value, 0.0, 999.0, (), 100.0, "bond tester")


def trimmed(volts: float, *, inside: bool = True) -> e.Event:
    kind = e.TrimInside if inside else e.TrimOutside
    return kind("bias_v3", f"{volts}", volts, 0.45, 0.44, 0.46, 60.0)


MAINS, BACK, END = e.MainsRead("230", 230.0), e.BroughtBack(1), e.Finished()


def after(*happened: e.Event, begun: Signed | None = None, stage: str = "signal") -> Signed:
    """The sign-offs after events with power, a day apart."""
    signed = begun or Signed()
    for day, event in enumerate(happened, 1):
        signed.take(event, stage, day * DAY, "power")
    return signed


def only(signed: Signed) -> Row:
    (row,) = rows(BUILD, PLAN, signed)
    return row


def test_before_anything_came_back_nothing_is_compared() -> None:
    assert rows(BUILD, PLAN, after(MAINS, read("ht", 400.0), END)) == ()


def test_the_last_reading_before_the_end_is_that_of_the_sign_off() -> None:
    row = only(after(MAINS, read("ht", 380.0), read("ht", 400.0), END, BACK, read("ht", 401.0)))
    assert row.then is not None and row.then.value == 400.0 and row.verdict == "as before"


def test_what_was_read_after_the_end_or_without_one_is_no_sign_off() -> None:
    row = only(after(MAINS, read("ht", 400.0), END, read("ht", 300.0), BACK, read("ht", 401.0)))
    assert row.then is not None and row.then.value == 400.0
    row = only(after(MAINS, read("ht", 400.0), END, BACK, read("ht", 300.0), e.Stopped(), read("ht", 301.0)))
    assert row.then is not None and row.then.value == 400.0 and row.now.value == 301.0


def test_readings_that_were_asked_again_watched_or_stopped_count_as_none() -> None:
    odd = [kind("ht", "9", 9.0, 9.0, 0.0, 99.0) for kind in (e.PointDoubted, e.PointWatched, e.PointStopped)]
    assert only(after(MAINS, read("ht", 400.0), *odd, END, BACK, read("ht", 401.0), *odd)).now.value == 401.0


def test_a_soak_is_compared_with_a_soak_and_a_fresh_reading_with_a_fresh_one() -> None:
    signed = after(MAINS, read("load_ac", 1.0))
    signed.take(read("load_ac", 2.0), "signoff", DAY, "soak")
    after(END, BACK, read("load_ac", 1.0), begun=signed)
    signed.take(read("load_ac", 2.0), "signoff", 9 * DAY, "soak")
    found = rows(BUILD, PLAN, signed)
    assert [row.verdict for row in found] == ["as before", "as before"]
    assert [row.name for row in found] == ["AC across the load", "AC across the load, in the soak"]


def test_another_instrument_is_said_and_not_compared() -> None:
    bond = "earth_bond"
    row = only(after(unproved(bond, 0.3), END, BACK, read(bond, 0.08)))
    assert row.verdict == "not compared" and "another instrument" in told(row)


def test_a_captured_hum_is_not_compared_with_a_metered_one() -> None:
    card = e.Captured(**(dict.fromkeys(e.Captured.__slots__, ()) | {"point": "load_ac", "text": "hum.wav"}))
    captured = e.PointPassed("load_ac", "hum.wav", 0.002, 0.0, 0.0, 1.0, (), 0.0)
    metered = read("load_ac", 0.001)
    assert only(after(MAINS, metered, END, BACK, card, captured)).verdict == "not compared"
    assert only(after(MAINS, card, captured, END, BACK, card, captured)).verdict == "as before"


def test_a_point_that_is_new_is_said_to_be() -> None:
    row = only(after(MAINS, read("reservoir", 400.0), END, BACK, read("ht", 400.0)))
    assert row.then is None and told(row) == "Not read at the last sign-off."


def test_a_pot_is_compared_as_it_was_found_with_how_it_was_left() -> None:
    found = (trimmed(0.36, inside=False), trimmed(0.41, inside=False), trimmed(0.45))
    row = only(after(MAINS, trimmed(0.44), trimmed(0.45), END, BACK, *found))
    assert row.name == "Cathode of V3, as found" and row.verdict == "means" and "20 % down" in told(row)
    assert "the pot where it was left" in row.hint
    assert only(after(MAINS, trimmed(0.45), END, BACK, trimmed(0.44))).verdict == "as before"


KEPT = e.BuildChanged(True, ("signal",), ("+R1",), "00", "text")
CHANGED = e.BuildChanged(False, ("signal",), ("+R1",), "00", "text")


def test_a_file_mended_in_between_is_no_move_of_the_amplifier() -> None:
    """The file says 330 V now for what it said 300 V: what it reads is what it read."""
    row = only(after(MAINS, read("ht", 300.0, 300.0), END, KEPT, BACK, read("ht", 301.0, 330.0)))
    assert row.moved is not None and row.verdict == "as before" and abs(row.moved.by) < 0.01
    other = e.BuildChanged(True, ("driver",), ("+R1",), "00", "text")
    row = only(after(MAINS, read("ht", 300.0, 300.0), END, other, BACK, read("ht", 330.0, 330.0)))
    assert row.verdict == "as before", "what the change does not touch is reckoned as ever"


def test_a_chassis_that_was_changed_is_compared_with_nothing_from_before() -> None:
    row = only(after(MAINS, read("ht", 300.0), END, CHANGED, BACK, read("ht", 300.0)))
    assert row.then is None
    within = after(MAINS, read("ht", 300.0), END, BACK, read("ht", 300.0), CHANGED, read("ht", 300.0))
    assert rows(BUILD, PLAN, within) == () and not within.checked
    nothing = e.BuildChanged(False, (), ("+R1",), "00", "text")  # touches nothing known: from the first stage
    assert only(after(MAINS, read("ht", 300.0), END, nothing, BACK, read("ht", 300.0))).then is None


def test_the_first_sign_off_is_the_first_since_anything_was_mended() -> None:
    years = (MAINS, read("ht", 400.0), END, BACK, read("ht", 404.0), END, e.BroughtBack(2), read("ht", 408.0))
    row = only(after(*years))
    assert row.first is not None and row.first.value == 400.0 and row.then is not None and row.then.value == 404.0
    mended = (MAINS, read("ht", 400.0), END, e.BrokeDown(1), read("ht", 404.0), END, BACK, read("ht", 408.0))
    assert only(after(*mended)).first is None


def test_a_summary_tells_what_means_something_first_and_counts_what_has_not_moved() -> None:
    signed = after(MAINS, read("ht", 400.0), read("v3_cathode", 0.5), read("v4_anode", 390.0), END, BACK)
    after(read("ht", 400.0), read("v3_cathode", 0.38), read("v4_anode", 440.0), begun=signed)
    found = rows(BUILD, PLAN, signed)
    assert summary(found) == (
        "Moved, and it means something: Cathode of V3 24 % down. Moved: Anode of V4 13 % up. As before: 1 of 3."
    )
    assert summary(found[:1]) == "Nothing has moved: 1 readings as before." and summary(()) == ""


def test_the_winding_is_among_them() -> None:
    signed = Signed()
    for event in (read(WINDING, 60.0, 90.0), END, BACK, read(WINDING, 80.0, 90.0)):
        signed.take(event, "signoff", DAY, "cold")
    row = only(signed)
    assert row.name == "Temperature of the mains winding" and row.verdict == "means" and "20.0 °C up" in told(row)
