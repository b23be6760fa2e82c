"""Opening a build: beginning and resuming its record, and everything that may be in the way."""

from __future__ import annotations

import fcntl
import os
import shutil
from pathlib import Path

import pytest

from benchtui.record import Journal
from benchtui.session.ending import ending
from benchtui.session.errors import BuildWrong, PlaceWrong
from benchtui.session.opening import open_session, record_of
from tests.session.made_up import BUILDS, Desk

BUILD = BUILDS / "pp-6v6.toml"

#: Ten kinds of change in a build file between two sessions, each a text in it and what stands there later.
CHANGES = {
    "a value": ('value = "0.35 ohm"', 'value = "0.4 ohm"'),
    "a name": ('name = "Push-pull', 'name = "My push-pull'),
    "a comment": ("\n[mains]", "\n# mains of my workshop\n[mains]"),
    "mains": ('volts = "230 V"\nfrequency', 'volts = "235 V"\nfrequency'),
    "a blank at a line's end": ("\n[mains]", " \n[mains]"),
    "line ends": ("\n", "\r\n"),
    "a blank line": ("\n[mains]", "\n\n[mains]"),
    "a note": ('notes = "Two', 'notes = "It hums. Two'),
    "a meter": ('name = "hand meter', 'name = "the yellow hand meter'),
    "the last line end": (None, None),
}  # fmt: skip


def copied(folder: Path) -> Path:
    path = folder / BUILD.name
    shutil.copyfile(BUILD, path)
    return path


@pytest.fixture
def begun(tmp_path: Path) -> Path:
    """A build file with a record beside it in which the first stages have passed."""
    path = copied(tmp_path)
    desk = Desk(path, tmp_path)
    desk.reach("Did this chassis ever meet mains?")
    desk.drop()
    return path


def test_the_record_lies_beside_the_build_file_or_in_the_folder_named(tmp_path: Path) -> None:
    path = copied(tmp_path)
    open_session(path).leave()
    assert (tmp_path / "pp-6v6.bench").exists()
    (tmp_path / "elsewhere").mkdir()
    other = Path(shutil.copy(BUILDS / "pp-el34.toml", tmp_path / "pp-el34.toml"))
    open_session(other, record_folder=tmp_path / "elsewhere").leave()
    assert (tmp_path / "elsewhere" / "pp-el34.bench").exists() and not other.with_suffix(".bench").exists()


def test_the_first_line_holds_the_build_file_and_its_hash(begun: Path) -> None:
    with Journal.open(begun.with_suffix(".bench"), write=False) as journal:
        assert journal.header["source"] == begun.read_text("utf-8")
        assert len(journal.header["sha256"]) == 64


@pytest.mark.parametrize("kind", CHANGES)
def test_a_changed_build_file_is_noticed_and_decided_by_a_typed_word(begun: Path, kind: str) -> None:
    text = begun.read_bytes().decode()
    old, new = CHANGES[kind]
    changed = text.rstrip("\n") if old is None else text.replace(old, str(new), 1 if old != "\n" else -1)
    assert changed != text
    begun.write_bytes(changed.encode())
    desk = Desk(begun, begun.parent)
    view = desk.session.view()
    assert view.prompt.title == "The build file has changed" and view.stage == "Cold checks"
    assert desk.type("yes").prompt.title == view.prompt.title
    stage = "Cold checks" if kind == "a value" else "Parts on the bench"
    again = desk.type("again")
    assert again.stage == stage
    desk.drop()
    assert desk.open().prompt.title == again.prompt.title, "decided once, and not asked again"
    desk.drop()


def test_a_decision_to_keep_lets_earlier_passes_stand(begun: Path) -> None:
    begun.write_text(begun.read_text("utf-8") + "\n# a remark\n", "utf-8")
    desk = Desk(begun, begun.parent)
    assert "+# a remark" in " ".join(desk.session.view().prompt.lines)
    view = desk.type("keep")
    assert view.stage == "Cold checks" and view.stages[0].state == "passed"
    desk.drop()


def test_a_finished_build_whose_file_changed_is_signed_off_again(tmp_path: Path) -> None:
    path = copied(tmp_path)
    desk = Desk(path, tmp_path)
    assert desk.till(lambda view: False).prompt.title == "Finished"
    desk.drop()
    path.write_text(path.read_text("utf-8") + "\n# another valve\n", "utf-8")
    assert desk.open().prompt.title == "The build file has changed"
    view = desk.type("keep")
    assert view.stage == "Sign-off" and view.danger.word == "ASSUME LIVE"
    assert desk.till(lambda view: False).prompt.title == "Finished"
    desk.drop()


def test_a_build_file_that_is_gone_is_read_from_the_record(begun: Path) -> None:
    begun.unlink()
    session = open_session(begun)
    view = session.view()
    assert view.stage == "Cold checks" and view.banner is not None
    assert "The build file is gone: this goes by the copy in its record." in view.banner.more
    session.leave()


def test_a_build_file_that_is_gone_and_a_damaged_record_are_both_told(begun: Path) -> None:
    record = record_of(begun)
    record.write_bytes(b"x" + record.read_bytes()[1:])
    begun.unlink()
    with pytest.raises(BuildWrong, match=r"(?s)pp-6v6.toml: the file cannot be read.*\n.*pp-6v6.bench is damaged"):
        open_session(begun)


@pytest.fixture
def live(tmp_path: Path) -> Path:
    """A build file whose record, in a folder beside it, ends with power on."""
    path = copied(tmp_path)
    (tmp_path / "records").mkdir()
    desk = Desk(path, tmp_path / "records")
    desk.till(lambda view: view.danger.word == "LIVE")
    desk.drop()
    return path


def carried(live: Path, to: Path, *endings: str) -> None:
    """Move those of the record's files to the folder of `to`, under its stem."""
    for each in endings:
        shutil.move(live.parent / "records" / f"{live.stem}{each}", to.with_suffix(each))


def test_a_forgotten_folder_begins_no_second_record(live: Path) -> None:
    with pytest.raises(BuildWrong, match="already.* --records .*/records; .*another id\n.* power on: switch"):
        open_session(live)
    assert not live.with_suffix(".bench").exists()


def test_a_folder_given_by_mistake_begins_no_second_record(begun: Path) -> None:
    (begun.parent / "records").mkdir()
    with pytest.raises(BuildWrong, match="leave out --records; for another chassis.*\n.*live and charged"):
        open_session(begun, record_folder=begun.parent / "records")
    assert not any((begun.parent / "records").iterdir())


def test_a_renamed_build_file_goes_on_with_its_record_when_that_is_renamed_along(live: Path) -> None:
    renamed = live.with_name("amp.toml")
    carried(live, live, ".bench", ".bench.head")
    live.rename(renamed)
    with pytest.raises(BuildWrong, match="it to amp.bench and its pp-6v6.bench.head to amp.bench.head;.*\n.*on:"):
        open_session(renamed)
    assert not record_of(renamed).exists()
    for each in (".bench", ".bench.head"):
        live.with_suffix(each).rename(renamed.with_suffix(each))
    desk = Desk(renamed, renamed.parent)
    assert desk.session.view().danger.word == "ASSUME LIVE" and "never" not in desk.session.view().prompt.words
    desk.drop()


def test_another_id_is_another_chassis_and_begins_a_record_of_its_own(live: Path) -> None:
    second = live.with_name("second.toml")
    second.write_text(live.read_text("utf-8").replace('id = "pp-6v6"', 'id = "pp-6v6-two"'), "utf-8")
    open_session(second).leave()
    assert record_of(second).exists()


def test_a_record_copied_with_its_head_works_in_another_folder(
    live: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    copy = tmp_path_factory.mktemp("stick") / live.name
    shutil.copy(live, copy)
    for name in ("pp-6v6.bench", "pp-6v6.bench.head"):
        shutil.copy(live.parent / "records" / name, copy.with_name(name))
    desk = Desk(copy, copy.parent)
    view = desk.session.view()
    assert view.danger.word == "ASSUME LIVE" and view.saved > 50 and view.stage == "First mains"
    assert desk.session.note("copied").saved == view.saved + 1
    desk.drop()


def test_a_record_copied_without_its_head_is_read_only_and_told_as_that(live: Path) -> None:
    (live.parent / "records" / "pp-6v6.bench.head").unlink()
    desk = Desk(live, live.parent / "records")
    view = desk.session.view()
    assert view.danger.word == "READ ONLY"
    assert "its .head file is lost or old, or was not copied along" in " ".join(view.prompt.lines)
    assert "power on: switch off" in ending(desk.record)
    desk.drop()


def test_a_build_file_that_is_wrong_gives_every_problem_and_code_2(tmp_path: Path) -> None:
    path = tmp_path / "bad.toml"
    path.write_text("format = 1\nid = 'x'\nnonsense = 3\n", "utf-8")
    with pytest.raises(BuildWrong) as error:
        open_session(path)
    assert error.value.exit_code == 2 and len(str(error.value).splitlines()) > 1
    assert not (tmp_path / "bad.bench").exists()


def test_a_valve_that_the_library_lacks_is_refused_with_code_2(tmp_path: Path) -> None:
    path = copied(tmp_path)
    path.write_text(path.read_text("utf-8").replace('type = "12AX7"', 'type = "12AX9"'), "utf-8")
    with pytest.raises(BuildWrong, match="12AX9 is not in the valve library") as caught:
        open_session(path)
    assert caught.value.exit_code == 2
    assert list(tmp_path.iterdir()) == [path], "a build that is refused begins no record"


def test_a_second_program_reads_only_and_can_clear_nothing(begun: Path) -> None:
    first = Desk(begun, begun.parent)
    second = Desk(begun, begun.parent)
    view = second.session.view()
    assert view.danger.word == "READ ONLY" and view.prompt.entry == "nothing"
    saved = first.session.view().saved
    for after in (second.type("out"), second.session.stop(), second.session.note("x"), second.session.touched()):
        assert after.danger.word == "READ ONLY"
    assert second.session.view().power_off, "STOP says what to do, also where nothing is written"
    assert first.session.view().saved == saved == second.session.view().saved
    second.drop()
    first.drop()


def test_a_damaged_record_opens_read_only_and_names_the_last_sound_event(begun: Path) -> None:
    record = begun.with_suffix(".bench")
    data = bytearray(record.read_bytes())
    third = data.index(b'"n":4,')
    data[third + 60] ^= 1
    record.write_bytes(data)
    desk = Desk(begun, begun.parent)
    view = desk.session.view()
    assert view.danger.word == "READ ONLY" and any("#3" in line for line in view.prompt.lines)
    desk.drop()


def test_a_torn_tail_is_set_aside_and_told(begun: Path) -> None:
    record = begun.with_suffix(".bench")
    record.write_bytes(record.read_bytes() + b'{"n":99,"t_wall"')
    desk = Desk(begun, begun.parent)
    assert any("set aside" in line.text for line in desk.session.log())
    assert desk.session.view().step == "gate"
    desk.drop()


def test_a_record_of_another_version_is_refused_with_code_3(begun: Path) -> None:
    with Journal.open(begun.with_suffix(".bench")) as journal:
        journal.append("plug out", {"v": 99})
    with pytest.raises(PlaceWrong, match="version 99"):
        open_session(begun)


def test_a_folder_that_is_missing_or_cannot_be_written_is_refused_with_code_3(tmp_path: Path) -> None:
    path = copied(tmp_path)
    with pytest.raises(PlaceWrong, match="does not exist"):
        open_session(path, record_folder=tmp_path / "nowhere")
    (tmp_path / "pp-6v6.bench").mkdir()
    with pytest.raises(PlaceWrong) as error:
        open_session(path)
    assert error.value.exit_code == 3 and "\n" not in str(error.value)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write anywhere")
def test_a_read_only_folder_is_refused_before_the_first_stage(tmp_path: Path) -> None:
    path = copied(tmp_path)
    tmp_path.chmod(0o500)
    try:
        with pytest.raises(PlaceWrong):
            open_session(path)
    finally:
        tmp_path.chmod(0o700)


@pytest.mark.parametrize("n", [2, 4])
def test_a_new_record_begins_in_the_place_of_a_damaged_one_and_quotes_it(begun: Path, n: int) -> None:
    record = begun.with_suffix(".bench")
    data = bytearray(record.read_bytes())
    data[data.index(b'"n":%d,' % n) + 60] ^= 1
    record.write_bytes(data)
    desk = Desk(begun, begun.parent)
    for said in ("yes", "new"):
        assert desk.type(said).danger.word == "READ ONLY"
    assert desk.type("new record", pasted=True).danger.word == "READ ONLY"
    assert record.read_bytes() == data, "nothing is written before it is typed"
    view = desk.type("New record")
    assert view.stage == "Parts on the bench" and view.danger.word == "ASSUME LIVE"
    desk.drop()
    kept = begun.with_name("pp-6v6.bench.damaged-1")
    assert kept.read_bytes() == data and kept.with_name(f"{kept.name}.head").exists()
    with Journal.open(kept, write=False) as old, Journal.open(record, write=False) as new:
        assert new.trouble is None or "reading only" in str(new.trouble)
        assert new.header["quotes"] == {"file": kept.name, "event": n - 1, "hash": old.events[-1].hash}
        assert new.events[1].kind == "met mains"
    desk.open()
    assert any("damaged-1" in line.text for line in desk.session.log())
    titles = {view.prompt.title for view in desk.go(lambda view: view.stage == "First mains")}
    assert "Pull the plug" in titles and "Did this chassis ever meet mains?" not in titles
    desk.drop()


def test_a_new_record_that_cannot_be_begun_leaves_the_damaged_one_and_says_why(begun: Path) -> None:
    record = begun.with_suffix(".bench")
    record.write_bytes(record.read_bytes().replace(b'"kind":"bare"', b'"kind":"bear"'))
    desk = Desk(begun, begun.parent)
    held = record.with_name("pp-6v6.bench.lock").open("a")
    fcntl.flock(held, fcntl.LOCK_EX)
    view = desk.type("new record")
    held.close()
    assert view.danger.word == "READ ONLY" and view.banner is not None and "no new record" in view.banner.text.lower()
    assert desk.type("new record").danger.word == "ASSUME LIVE"
    desk.drop()


#: States that a record can end in, how a desk gets there, and what its ending says to do.
ENDINGS = {
    "LIVE": "power on: switch off, pull the plug",
    "ASSUME LIVE": "pull the plug, hands off",
    "CLOSING": "plug out",
    "BARE": "",
}


@pytest.mark.parametrize("word", ENDINGS)
def test_a_record_tells_of_the_power_at_its_end_without_being_touched(tmp_path: Path, word: str) -> None:
    path = copied(tmp_path)
    assert ending(record_of(path)) == "", "no record yet"
    desk = Desk(path, tmp_path)
    desk.till(lambda view: view.danger.word == word)
    assert ENDINGS[word] in ending(desk.record) and bool(ending(desk.record)) == bool(ENDINGS[word])
    desk.drop()
    before = desk.record.read_bytes()
    path.write_text("nonsense", "utf-8")
    with pytest.raises(BuildWrong):
        open_session(path)
    assert ENDINGS[word] in ending(desk.record) and desk.record.read_bytes() == before


def test_a_record_whose_end_is_lost_or_not_understood_is_told_as_not_known(begun: Path) -> None:
    record = record_of(begun)
    data = record.read_bytes()
    assert "live and charged" in ending(record)
    record.write_bytes(b"x" + data[1:])
    assert ending(record) == "How the record ends is not known: switch off, pull the plug."
    record.write_bytes(data)
    with Journal.open(record) as journal:
        journal.append("plug out", {"v": 99})
    assert ending(record) == "How the record ends is not known: switch off, pull the plug."


def test_a_damaged_record_is_never_told_as_bare(tmp_path: Path) -> None:
    desk = Desk(copied(tmp_path), tmp_path)
    desk.till(lambda view: view.danger.word == "BARE")
    desk.drop()
    assert ending(desk.record) == ""
    desk.record.write_bytes(desk.record.read_bytes() + b"not an event\n")
    assert "not known" in ending(desk.record)
