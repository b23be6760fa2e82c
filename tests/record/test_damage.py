"""Bits flipped and ends cut in a record on the disk: found every time, at the right event."""

from __future__ import annotations

import os
import random
import shutil
from pathlib import Path

import pytest

from benchtui.record import Damaged, Event, Journal, ReadOnly
from benchtui.record.check import Head
from tests.record.counts import count
from tests.record.layers import Image, QuickFiles, put

EVENTS = 30


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Image:
    """The files of a sound record of some events, of many lengths."""
    folder = tmp_path_factory.mktemp("sound")
    rng = random.Random(3)
    with Journal.create(folder / "r", {"build": "part = 'R1'\n" * 40}, files=QuickFiles()) as journal:
        while len(journal.events) < EVENTS:
            journal.append("reading", {"typed": "3" * rng.randrange(200), "v": rng.random()})
    return {file.name: file.read_bytes() for file in folder.iterdir()}


def opened(folder: Path, image: Image) -> tuple[tuple[Event, ...], ReadOnly | None]:
    """Events and trouble of the journal of an image."""
    put(folder, image)
    with Journal.open(folder / "r", files=QuickFiles()) as journal:
        return journal.events, journal.trouble


def test_each_flipped_bit_in_the_record_is_found_at_its_event(sound: Image, tmp_path: Path) -> None:
    rng = random.Random(11)
    for trial in range(count(short=300, full=2000)):
        record = bytearray(sound["r"])
        place = rng.randrange(len(record))
        record[place] ^= 1 << rng.randrange(8)
        events, trouble = opened(tmp_path / str(trial), sound | {"r": bytes(record)})
        events_before = sound["r"][:place].count(b"\n")
        assert isinstance(trouble, Damaged), place
        assert trouble.event == len(events) == events_before, place
        assert (tmp_path / str(trial) / "r").read_bytes() == record


@pytest.mark.skipif("BENCHTUI_LONG" not in os.environ, reason="some minutes; set BENCHTUI_LONG to run it")
def test_every_single_byte_of_a_long_record_that_is_changed_is_found(tmp_path: Path) -> None:
    with Journal.create(tmp_path / "r", {"build": "x"}, files=QuickFiles()) as journal:
        while len(journal.events) < 200:
            journal.append("reading", {"typed": "38.5"})
    image = {file.name: file.read_bytes() for file in tmp_path.iterdir()}
    record = bytearray(image["r"])
    for place in range(len(record)):
        record[place] ^= 0xFF
        events, trouble = opened(tmp_path / "changed", image | {"r": bytes(record)})
        assert isinstance(trouble, Damaged) and trouble.event == len(events) == image["r"][:place].count(b"\n"), place
        record[place] ^= 0xFF
        shutil.rmtree(tmp_path / "changed")


def test_each_cut_end_is_found_with_the_last_event_that_is_left(sound: Image, tmp_path: Path) -> None:
    rng = random.Random(12)
    for trial in range(count(short=200, full=1000)):
        left = sound["r"][: rng.randrange(len(sound["r"]))]
        events, trouble = opened(tmp_path / str(trial), sound | {"r": left})
        assert isinstance(trouble, Damaged), len(left)
        assert trouble.event == len(events) == left.count(b"\n"), len(left)


def test_each_cut_in_an_event_that_was_never_shown_is_set_aside(sound: Image, tmp_path: Path) -> None:
    start = sound["r"].rindex(b"\n", 0, -1) + 1
    whole, _ = opened(tmp_path / "whole", sound)
    head = Head.of(whole[:-1])
    rng = random.Random(13)
    for trial in range(count(short=60, full=300)):
        left = sound["r"][: rng.randrange(start + 1, len(sound["r"]))]
        heads = bytes(head.offset()) + head.slot()
        events, trouble = opened(tmp_path / str(trial), {"r": left, "r.head": heads})
        assert trouble is None, len(left)
        assert len(events) == EVENTS
        assert dict(events[-1].data) == {"file": "r.torn-1", "bytes": len(left) - start}


def test_one_flipped_bit_in_the_head_file_harms_nothing(sound: Image, tmp_path: Path) -> None:
    rng = random.Random(14)
    for trial in range(count(short=100, full=1000)):
        heads = bytearray(sound["r.head"])
        place = rng.randrange(len(heads))
        heads[place] ^= 1 << rng.randrange(8)
        events, trouble = opened(tmp_path / str(trial), sound | {"r.head": bytes(heads)})
        assert trouble is None and len(events) == EVENTS, place


def test_a_head_file_with_both_slots_spoiled_is_damage(sound: Image, tmp_path: Path) -> None:
    good = sound["r.head"]
    for trial, heads in enumerate((b"", bytes(1024), good[:400], good.replace(b" ", b"_"))):
        _, trouble = opened(tmp_path / str(trial), sound | {"r.head": heads})
        assert isinstance(trouble, Damaged)


def test_random_changes_are_always_damage_and_raise_nothing_else(sound: Image, tmp_path: Path) -> None:
    rng = random.Random(15)
    for trial in range(count(short=200, full=10_000)):
        record = bytearray(sound["r"])
        for _ in range(rng.randrange(1, 40)):
            place = rng.randrange(len(record))
            record[place : place + rng.randrange(3)] = rng.randbytes(rng.randrange(1, 4))
        events, trouble = opened(tmp_path / str(trial), sound | {"r": bytes(record)})
        assert isinstance(trouble, Damaged)
