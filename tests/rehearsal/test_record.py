"""The record of a rehearsal: never taken for a real one nor the other way round, the same amplifier after a kill, the
fault not told before the end."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from benchtui.buildfile.models import Build
from benchtui.forecast.signal import Setting
from benchtui.papers.source import source
from benchtui.record import Damaged, Event, Journal
from benchtui.rehearsal.asked import (
    Amplifier,
    Asked,
    Course,
    Falling,
    Falls,
    Plant,
    Planted,
    Powered,
    Reads,
    Signal,
    Turned,
    Warming,
)
from benchtui.session.earlier import StageRead
from benchtui.session.ending import ending
from benchtui.session.errors import SessionError
from benchtui.session.forecaster import StageFacts
from benchtui.session.opening import open_session
from benchtui.session.overview import records_of, standings
from benchtui.session.pretended import EXCHANGED, RENEWED, Pretended, after
from benchtui.session.rehearse import open_rehearsal
from benchtui.session.suspects import evidence
from benchtui.session.view import View
from tests.rehearsal.bench import BUILDS, Planting, Rehearsal
from tests.session.made_up import Desk, MadeUp

WEAK = Planted("valve-weak", "V2", "V2 is weak", 1)


class Simulated(Planting):
    """Answers at once: every volt is 100, a pot that is turned stands at 0.4."""

    def rehearsed(self, build: Build, asked: Asked) -> object:
        self.asked.append(asked)
        course = Course((0.0, 60.0), (100.0, 0.0))
        match asked:
            case Plant():
                return self.planted
            case Powered():
                return Reads(tuple((id, 100.0) for id in build.point), "dim")
            case Turned():
                return 0.4
            case Falling():
                return Falls((), course)
            case Warming():
                return course
        return 100.0


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in ("se-stereo", "pp-el34"):
        shutil.copy(BUILDS / f"{name}.toml", tmp_path)
    return tmp_path


def begin(folder: Path, name: str = "se-stereo", planted: Planted | None = WEAK) -> Rehearsal:
    return Rehearsal(folder / f"{name}.toml", folder, MadeUp(), Simulated(planted))


def test_it_has_a_file_of_its_own_that_says_what_it_is(folder: Path) -> None:
    begin(folder).drop()
    assert sorted(path.name for path in folder.glob("se-stereo.*")) == [
        "se-stereo.rehearsal", "se-stereo.rehearsal.head", "se-stereo.rehearsal.lock", "se-stereo.toml",
    ]  # fmt: skip
    with Journal.open(folder / "se-stereo.rehearsal", write=False) as journal:
        assert journal.header["rehearsal"] == {"seed": 5, "fault": "random"}


def test_a_soak_takes_ten_minutes_in_it_and_what_the_file_says_at_a_real_one(folder: Path) -> None:
    rehearsal, desk = begin(folder), Desk(folder / "se-stereo.toml", folder, forecaster=MadeUp())
    short, whole = (each.session._ledger.plan.phases[-1].soak.marks_s[-1] for each in (rehearsal, desk))
    assert (short, whole) == (600.0, 7200.0)
    folded = source(folder / "se-stereo.rehearsal").build
    assert folded.stage["signoff"].soak == 600.0, "folded by the report as it was made"
    rehearsal.drop()
    desk.drop()


def renamed(folder: Path, suffix: str, to: str) -> None:
    for end in ("", ".head"):
        shutil.move(folder / f"se-stereo{suffix}{end}", folder / f"se-stereo{to}{end}")


def test_a_rehearsal_renamed_is_refused_for_a_real_record(folder: Path) -> None:
    begin(folder).drop()
    renamed(folder, ".rehearsal", ".bench")
    with pytest.raises(SessionError, match="record of a rehearsal, of no real amplifier") as refused:
        open_session(folder / "se-stereo.toml", forecaster=MadeUp())
    assert refused.value.exit_code == 2
    assert "\n" not in str(refused.value)


def test_a_real_record_renamed_is_refused_for_a_rehearsal(folder: Path) -> None:
    Desk(folder / "se-stereo.toml", folder).drop()
    renamed(folder, ".bench", ".rehearsal")
    before = (folder / "se-stereo.rehearsal").read_bytes()
    with pytest.raises(SessionError, match="record of a real build") as refused:
        open_rehearsal(folder / "se-stereo.toml", forecaster=MadeUp(), simulator=Simulated())
    assert refused.value.exit_code == 2
    assert (folder / "se-stereo.rehearsal").read_bytes() == before


def test_an_event_of_a_rehearsal_in_a_real_record_breaks_its_chain(folder: Path) -> None:
    begin(folder).drop()
    Desk(folder / "se-stereo.toml", folder).drop()
    line = (folder / "se-stereo.rehearsal").read_bytes().splitlines(keepends=True)[1]
    with (folder / "se-stereo.bench").open("ab") as real:
        real.write(line)
    with Journal.open(folder / "se-stereo.bench") as journal:
        assert isinstance(journal.trouble, Damaged)
        assert [event.kind for event in journal.events] == ["birth"]


def test_a_rehearsal_is_no_record_of_the_build(folder: Path) -> None:
    """Neither listed, nor found where a second record is looked for, nor does the real build's record hinder it."""
    begin(folder).drop()
    listed = {each.file: each for each in standings(folder)}
    assert listed["se-stereo.toml"].record == ""
    assert listed["se-stereo.toml"].stands == "not begun"
    assert list(records_of("se-stereo", [folder])) == []
    Desk(folder / "se-stereo.toml", folder).drop()


def test_one_that_was_renamed_is_listed_as_what_it_is(folder: Path) -> None:
    begin(folder).drop()
    renamed(folder, ".rehearsal", ".bench")
    listed = next(each for each in standings(folder) if each.file == "se-stereo.toml")
    assert "rehearsal" in listed.trouble and listed.stands == ""
    assert list(records_of("se-stereo", [folder])) == []
    assert "no amplifier" in ending(folder / "se-stereo.bench")


@pytest.mark.parametrize("named", [{"seed": 6}, {"fault": "none"}])
def test_another_seed_or_fault_than_the_record_has_is_refused(folder: Path, named: dict[str, object]) -> None:
    begin(folder).drop()
    with pytest.raises(SessionError, match="seed 5 and fault random"):
        open_rehearsal(folder / "se-stereo.toml", forecaster=MadeUp(), simulator=Simulated(), **named)


def test_new_sets_the_last_one_aside(folder: Path) -> None:
    rehearsal = begin(folder)
    with pytest.raises(SessionError, match="another program has this rehearsal open|locked|is open"):
        rehearsal.open(seed=6, new=True)
    rehearsal.drop()
    view = rehearsal.open(seed=6, new=True)
    assert view.saved == 2  # its birth, and that something is planted
    assert (folder / "se-stereo.rehearsal.1").exists() and (folder / "se-stereo.rehearsal.1.head").exists()
    rehearsal.drop()


@pytest.fixture
def trimming(folder: Path) -> Rehearsal:
    """At a pot that was read off its target."""
    rehearsal = begin(folder, "pp-el34", Planted("resistor-open", "R34", "R34 is open"))
    reach(rehearsal, "Trim P2")
    rehearsal.type("50")
    return rehearsal


def reach(rehearsal: Rehearsal, title: str) -> View:
    """Walk with made-up answers until the prompt called `title`."""
    desk = Desk.__new__(Desk)
    desk.clock, desk.session, desk.forecaster = rehearsal.clock, rehearsal.session, rehearsal.forecaster
    view = desk.till(lambda view: view.prompt.title == title)
    assert view.prompt.title == title
    return rehearsal.compute()


def test_the_amplifier_after_a_kill_is_the_same(trimming: Rehearsal) -> None:
    trimming.type("turn 100")
    last = [asked for asked in trimming.simulator.asked if isinstance(asked, Powered)][-1]
    assert last.pots == (("P2", 0.4),) and last.amplifier.planted == trimming.simulator.planted
    before = trimming.session._on
    trimming.drop()
    trimming.simulator = Simulated(WEAK)  # what would be planted by now makes no difference
    trimming.open()
    after = trimming.session._on
    assert (after.amplifier, after.pots, after.last) == (before.amplifier, before.pots, before.last)
    assert after.charged is not None and after.charged.powered == last


def test_the_fault_is_told_nowhere_before_the_end(folder: Path) -> None:
    rehearsal = begin(folder)
    reach(rehearsal, "Clip on")
    told = [line.text for line in rehearsal.session.log()]
    view = rehearsal.session.view()
    told += [*view.help, *view.why, *view.findings, *(view.banner.more if view.banner else ())]
    assert not any("V2" in line and "weak" in line for line in told)
    assert "something is planted, or nothing: the end tells" in told
    shown = rehearsal.type("show fault")
    assert shown.banner is not None and shown.banner.text == "Rehearsal: planted was V2: V2 is weak."
    assert any("V2 is weak" in line for line in shown.help)


def _mends(rehearsal: Rehearsal, text: str) -> tuple[str, str]:
    banner = rehearsal.type(text).banner
    assert banner is not None
    return banner.kind, banner.text


def test_parts_are_renewed_with_hands_in_and_what_it_was_not_is_counted(folder: Path) -> None:
    rehearsal = begin(folder, planted=Planted("fuse-open", "F1", "F1 is blown, or makes no contact in its holder"))
    view = reach(rehearsal, "Prove the meter on DC")
    assert _mends(rehearsal, "mend F1") == (
        "refused", "A part is renewed with hands in: power down, the gate, then 'mend F1'.",
    )  # fmt: skip
    assert rehearsal.session.view().prompt.title == view.prompt.title
    reach(rehearsal, "Hands in")
    rehearsal.type("in")
    assert _mends(rehearsal, "mend R999")[0] == "refused"
    assert _mends(rehearsal, "mend")[0] == "question"
    assert _mends(rehearsal, "mend C1")[1] == "C1 is not fitted yet, so there is nothing to renew."
    assert _mends(rehearsal, "mend s1l")[1].startswith("S1L is renewed")
    assert rehearsal.session._on.needless == ("S1L",) and not rehearsal.session._on.renewed
    assert _mends(rehearsal, "mend F1")[1].startswith("F1 is renewed")
    assert rehearsal.session._on.renewed and rehearsal.session._on.amplifier.planted is None
    told = rehearsal.type("show fault").banner
    assert told is not None and told.more[:2] == (
        "Named and renewed before any reading was off.", "Renewed for nothing: S1L.",
    )  # fmt: skip


def test_a_pot_is_turned_once_a_reading_off_its_target_was_typed(trimming: Rehearsal) -> None:
    assert "To turn it" in trimming.session.view().seen[1]
    assert _mends(trimming, "turn it up")[0] == "question"
    trimming.type("turn 100")
    asked = [asked for asked in trimming.simulator.asked if isinstance(asked, Turned)]
    assert [(each.adjustment, each.wanted_v) for each in asked] == [("bias_v3", 100.0)]
    assert "P2 turned" in [line.text for line in trimming.session.log()]


def test_where_nothing_is_trimmed_nothing_is_turned(folder: Path) -> None:
    rehearsal = begin(folder)
    reach(rehearsal, "Prove the meter on DC")
    assert _mends(rehearsal, "turn 15.4")[0] == "refused"
    assert not [asked for asked in rehearsal.simulator.asked if isinstance(asked, Turned)]


def test_leads_are_exchanged_with_hands_in_where_they_are_fitted_and_named(folder: Path) -> None:
    rehearsal = begin(folder)
    reach(rehearsal, "Prove the meter on DC")
    assert _mends(rehearsal, "exchange T2L secondary")[0] == "refused"
    reach(rehearsal, "Hands in")
    rehearsal.type("in")
    assert _mends(rehearsal, "exchange") == (
        "question", "Which leads? Type 'exchange T2L anodes' or 'exchange T2L secondary': one of both, never both.",
    )  # fmt: skip
    assert _mends(rehearsal, "exchange T2L secondary")[1] == "T2L is not fitted yet, so it has no leads to exchange."
    assert rehearsal.session._on.exchanged == ()


def test_either_pair_of_leads_mends_a_transformer_that_is_the_wrong_way_round_and_a_second_exchange_is_wrong(
    folder: Path,
) -> None:
    session = begin(folder).session
    ends = " and ".join(session._build.output_transformer["T2L"].secondary)
    wrong = Planted("leads-exchanged", "T2L", f"T2L's leads at {ends} are exchanged")

    def then(on: Pretended, kind: str, **data: str) -> Pretended:
        return after(on, session._build, session._ledger.plan, Event(1, kind, data, 0.0, 0.0, "", "", ""))

    def exchanged(on: Pretended, leads: str) -> Pretended:
        return then(on, EXCHANGED, part="T2L", leads=leads)

    cured = exchanged(Pretended(5, True, wrong), "anodes")
    assert cured.renewed and cured.amplifier == Amplifier(5)
    again = exchanged(cured, "secondary")
    assert again.amplifier == Amplifier(5, None, (("T2L", "secondary"),))
    assert exchanged(again, "secondary").amplifier == Amplifier(5)
    renewed = then(again, RENEWED, part="T2L")
    assert renewed.amplifier == Amplifier(5) and renewed.needless == ()
    other = exchanged(Pretended(5, True, WEAK), "anodes")
    assert not other.renewed and other.amplifier == Amplifier(5, WEAK, (("T2L", "anodes"),))


@pytest.mark.parametrize("entry", ["mend F1", "show fault", "turn 1", "exchange T2L anodes"])
def test_own_words_are_not_taken_from_a_paste(folder: Path, entry: str) -> None:
    rehearsal = begin(folder)
    before = rehearsal.session.view()
    rehearsal.session.answer(before.prompt.number, entry, pasted=True)
    assert not rehearsal.session._on.shown and not rehearsal.session._on.needless
    assert not rehearsal.session._on.exchanged
    assert rehearsal.session._turning is None


def test_where_nothing_could_be_planted_the_rehearsal_goes_on(folder: Path) -> None:
    session = begin(folder, planted=None).session
    assert session._on.chosen and session._on.amplifier.planted is None
    view = session.answer(session.view().prompt.number, "show fault")
    assert view.banner is not None and "for want of a fault that shows" in view.banner.text


def test_a_meter_that_cannot_be_worked_out_says_so(folder: Path) -> None:
    rehearsal = begin(folder)
    reach(rehearsal, "Prove the meter on DC")
    session = rehearsal.session
    session._answers = type(session._answers)(session._build, rehearsal.simulator)
    assert session.view().seen == ("Meter shows  ....  (being worked out)",)
    assert session.pending_amplifier() is not None
    session.take_amplifier(None)
    assert "could not be worked out" in session.view().seen[0]


class Set(MadeUp):
    """Every signal test is set to 100 mV."""

    def stage(self, build: Build, stage: str, mains_v: float | None, earlier: tuple[StageRead, ...]) -> StageFacts:
        found = super().stage(build, stage, mains_v, earlier)
        return replace(found, settings={id: Setting(0.1, 400.0) for id in found.expectations if "signal" in id})


def test_a_signal_is_shown_as_the_bench_is_set_what_it_reads_is_weighed_and_leads_are_exchanged_for_it(
    tmp_path: Path,
) -> None:
    shutil.copy(BUILDS / "pp-6v6.toml", tmp_path)
    rehearsal = Rehearsal(tmp_path / "pp-6v6.toml", tmp_path, Set(), Simulated(WEAK))
    view = reach(rehearsal, "Load volts, feedback lead off")
    assert view.seen == ("Meter shows  100.0 V",)
    asked = [each for each in rehearsal.simulator.asked if isinstance(each, Signal)]
    assert [(each.point, each.input_v, each.powered.stage) for each in asked] == [("signal open", 0.1, "feedback")]
    rehearsal.type("88")
    of = evidence(rehearsal.session._bench())
    assert of is not None and of.signal == (("signal open", 88.0),) and "signal open" not in dict(of.readings)
    rehearsal.type("exchange T2 anodes")
    assert rehearsal.session._on.exchanged == ()  # the power is on
    rehearsal.type("F8")
    reach(rehearsal, "Hands in")
    rehearsal.type("in")
    kind, said = _mends(rehearsal, "exchange T2 anodes")
    assert (kind, said) == ("info", "Exchanged: the anode leads of T2. Whether that was right, the signal will tell.")
    assert rehearsal.session._on.amplifier.exchanged == (("T2", "anodes"),)
    assert "T2: anodes exchanged" in [line.text for line in rehearsal.session.log()]
    again = evidence(rehearsal.session._bench())
    assert again is not None and again.signal == of.signal
