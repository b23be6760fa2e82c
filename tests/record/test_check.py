from __future__ import annotations

import random

from benchtui.record.check import SLOT_BYTES, Head, check, read_head
from benchtui.record.event import GENESIS, Event, decode, encode


def lines(number: int) -> tuple[list[bytes], list[Event]]:
    """Sound lines of a record, each with its event."""
    out: list[bytes] = []
    events: list[Event] = []
    for n in range(1, number + 1):
        prev = events[-1].hash if events else GENESIS
        out.append(encode(n, "reading", {"v": n}, t_wall=n, t_steady=n, boot="b", prev=prev))
        event = decode(out[-1], n, prev)
        assert event is not None
        events.append(event)
    return out, events


LINES, EVENTS = lines(5)
RECORD = b"".join(LINES)


def test_a_sound_record_gives_all_its_events() -> None:
    checked = check(RECORD, Head.of(EVENTS))
    assert checked.events == tuple(EVENTS)
    assert (checked.sound_bytes, checked.tail, checked.damage) == (len(RECORD), b"", "")


def test_a_record_may_lead_its_head_by_one_event_and_by_no_more() -> None:
    assert not check(RECORD, Head.of(EVENTS[:4])).damage
    assert "old" in check(RECORD, Head.of(EVENTS[:3])).damage
    assert "lost or old" in check(RECORD, Head()).damage
    assert not check(RECORD, Head.of(EVENTS[:3]), watching=True).damage


def test_a_head_of_another_record_is_damage() -> None:
    assert "another event #5" in check(RECORD, Head(5, "1" * 64)).damage
    assert "another event #5" in check(RECORD, Head(5, "1" * 64), watching=True).damage


def test_swapped_missing_and_repeated_lines_are_damage_at_the_right_event() -> None:
    for order, last_sound in (("02134", 1), ("0134", 2), ("011234", 2), ("1234", 0)):
        checked = check(b"".join(LINES[int(index)] for index in order), Head.of(EVENTS))
        assert checked.damage and len(checked.events) == last_sound, order


def test_every_interrupted_last_line_is_a_torn_tail_if_the_head_does_not_count_it() -> None:
    start = len(RECORD) - len(LINES[-1])
    for end in range(start + 1, len(RECORD)):
        uncounted = check(RECORD[:end], Head.of(EVENTS[:4]))
        assert (uncounted.tail, uncounted.damage) == (RECORD[start:end], ""), end
        counted = check(RECORD[:end], Head.of(EVENTS))
        assert counted.tail == b"" and "event #5" in counted.damage, end


def test_blocks_of_nul_in_an_uncounted_last_line_are_a_torn_tail() -> None:
    sound, head = b"".join(LINES[:4]), Head.of(EVENTS[:4])
    last = LINES[4]
    holed = last[:50] + bytes(30) + last[80:]
    for tail in (bytes(len(last)), bytes(50) + last[50:], holed, last[:90] + bytes(99)):
        assert check(sound + tail, head).tail == tail
        assert check(sound + tail, Head.of(EVENTS)).damage


def test_a_whole_line_that_fails_is_damage_even_if_the_head_does_not_count_it() -> None:
    altered = RECORD.replace(b'"v":5', b'"v":6')
    assert check(altered, Head.of(EVENTS[:4])).damage == "event #5 fails its check"


def test_more_than_one_line_after_the_sound_ones_is_damage() -> None:
    altered = LINES[0] + b"\0" + LINES[2] + LINES[3]
    assert check(altered, Head.of(EVENTS[:1])).damage == "event #2 fails its check"


def test_the_head_is_the_sound_slot_that_counts_further() -> None:
    four, five = Head.of(EVENTS[:4]), Head.of(EVENTS)
    assert (four.offset(), five.offset()) == (0, SLOT_BYTES)
    both = four.slot() + five.slot()
    assert len(both) == 2 * SLOT_BYTES
    assert read_head(both) == five
    assert read_head(four.slot()) == four
    assert read_head(b"") == read_head(bytes(2 * SLOT_BYTES)) == Head()


def test_a_flipped_bit_in_one_slot_leaves_the_other_and_never_a_false_count() -> None:
    four, five = Head.of(EVENTS[:4]), Head.of(EVENTS)
    both = four.slot() + five.slot()
    for bit in range(len(both) * 8):
        flipped = bytearray(both)
        flipped[bit // 8] ^= 1 << bit % 8
        assert read_head(bytes(flipped)) == (five if bit < SLOT_BYTES * 8 else four), bit


def test_random_bytes_are_never_a_head() -> None:
    rng = random.Random(1)
    for _ in range(300):
        assert read_head(rng.randbytes(rng.randrange(1500))) == Head()
