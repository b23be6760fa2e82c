"""The disk as a power cut may leave it, after every operation of a session: nothing shown is ever lost."""

from __future__ import annotations

import random
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest

from benchtui.record import Damaged, Event, Journal, NotFound
from tests.record.counts import count
from tests.record.layers import Did, Disk, Image, Killed, LoggedFiles, QuickFiles, put

SESSIONS = count(short=2, full=24)
EVENTS = 8


def run(folder: Path, files: LoggedFiles, rng: random.Random, number: int) -> tuple[Event, ...]:
    """Open the record of a folder, or begin it, and add events; what it holds then."""
    try:
        journal = Journal.open(folder / "r", files=files)
    except NotFound:
        journal = Journal.create(folder / "r", {"build": "part = 'R1'\n" * rng.randrange(300)}, files=files)
    with journal:
        files.log.append(Did("shown", at=len(journal.events)))
        for _ in range(number):
            typed = "3" * rng.choice((3, 40, 900, 5000))
            event = journal.append("reading", {"typed": typed, "v": rng.random()})
            files.log.append(Did("shown", at=event.n))
    return journal.events


def images(
    log: list[Did], start: Image, rng: random.Random, *, after: int = 0
) -> Iterator[tuple[str, int, Image]]:
    """Every image after every prefix of a log, with the way it was made and the count shown by then.

    `after`: leave out the prefixes of fewer operations.
    """
    disk = Disk(dict(start), named=set(start))
    for step, did in enumerate(log, 1):
        disk.take(did)
        if step < after:
            continue
        for way, image in disk.images(rng):
            yield f"{way} after {step} {did.what} {did.name}", disk.shown, image


def fault(folder: Path, shown: tuple[Event, ...]) -> str:
    """What is wrong with a record found after a power cut, "" if it is as it must be."""
    try:
        journal = Journal.open(folder / "r", files=QuickFiles())
    except NotFound:
        if shown:
            return "the whole record is lost"
        try:
            journal = Journal.create(folder / "r", {}, files=QuickFiles())
        except Damaged as error:
            return f"false alarm: {error}"
    with journal:
        if journal.trouble:
            return f"false alarm: {journal.trouble}"
        if journal.events[: len(shown)] != shown:
            return "a shown event is lost"
        journal.append("reading", {})
        tails = [event.data["file"] for event in journal.events if event.kind == "tail set aside"]
    untold = {file.name for file in folder.iterdir() if "torn" in file.name} - set(tails)
    return f"silent about {untold}" if untold else ""


def faults(tmp_path: Path, sessions: int, *, lying: frozenset[str] = frozenset()) -> tuple[int, list[str]]:
    """How many images were made and opened, and the faults among them."""
    rng = random.Random(31)
    made, found = 0, []
    start: Image = {}
    for number in range(sessions):
        log: list[Did] = []
        folder = tmp_path / f"session-{number}"
        put(folder, start)
        events = run(folder, LoggedFiles(log, lying=lying), rng, EVENTS)
        kept = start
        for where, shown, image in images(log, start, rng):
            place = tmp_path / f"{number}-{made}"
            put(place, image)
            if what := fault(place, events[:shown]):
                found.append(f"session {number}, {where}: {what}")
            made += 1
            kept = image if "torn" in where and rng.random() < 0.1 else kept
        # The next session begins where a power cut left this one, so that recovery is cut as well.
        start = {} if number % 4 == 3 else kept
    return made, found


def test_no_power_cut_loses_a_shown_event_or_raises_a_false_alarm(tmp_path: Path) -> None:
    made, found = faults(tmp_path, SESSIONS)
    assert found == []
    assert made >= count(short=300, full=3000)


def test_no_power_cut_after_a_kill_at_any_operation_loses_what_the_next_run_has_shown(tmp_path: Path) -> None:
    """The next run sees what the killed one wrote, in a cache that the power cut takes away."""
    for dies_at in range(1, 40, count(short=3, full=1)):  # an append is 5 operations, so 3 meets each of them
        rng, log, folder = random.Random(dies_at), [], tmp_path / f"session-{dies_at}"
        put(folder, {})
        with suppress(Killed):
            run(folder, LoggedFiles(log, dies_at=dies_at), rng, EVENTS)
        events = run(folder, LoggedFiles(log), rng, 1)
        for made, (where, shown, image) in enumerate(images(log, {}, rng, after=dies_at)):
            place = tmp_path / f"{dies_at}-{made}"
            put(place, image)
            assert not fault(place, events[:shown]), f"killed at {dies_at}, {where}"


def test_no_power_cut_while_a_torn_tail_is_set_aside_loses_a_byte_of_it(tmp_path: Path) -> None:
    rng, log = random.Random(32), []
    put(tmp_path / "first", {})
    run(tmp_path / "first", LoggedFiles([]), rng, 2)
    start = {file.name: file.read_bytes() for file in (tmp_path / "first").iterdir()}
    tail = b'{"n":4,"typed":"' + b"3" * 2000
    start["r"] += tail
    put(tmp_path / "second", start)
    events = run(tmp_path / "second", LoggedFiles(log), rng, 2)
    for made, (where, shown, image) in enumerate(images(log, start, rng)):
        place = tmp_path / str(made)
        put(place, image)
        assert not fault(place, events[:shown]), where
        assert tail in [file.read_bytes() for file in place.glob("r.torn-*")], where


@pytest.mark.parametrize("left_out", ["fsync", "fdatasync", "folder"])
def test_the_images_do_show_the_harm_if_one_kind_of_sync_is_left_out(tmp_path: Path, left_out: str) -> None:
    _, found = faults(tmp_path, 1, lying=frozenset({left_out}))
    assert found
