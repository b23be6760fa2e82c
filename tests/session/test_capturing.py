"""Captures typed in place of readings: through a session that stands in its signal stage, walked once, in its order."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from dataclasses import replace
from math import log10
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
import soundfile

from benchtui.buildfile.load import load
from benchtui.buildfile.models import Build
from benchtui.cli.main import main
from benchtui.forecast.signal import Setting
from benchtui.forecast.signal_points import signal_points
from benchtui.procedure import events as e
from benchtui.procedure.ask import Ask
from benchtui.procedure.codec import decode
from benchtui.procedure.state import Mode
from benchtui.record import Event
from benchtui.session.bench import Bench
from benchtui.session.captured import kept
from benchtui.session.capturing import Captures, Line, asked, helps, hint, parts, typed
from benchtui.session.earlier import StageRead
from benchtui.session.forecaster import RealForecaster, StageFacts
from benchtui.session.hearing import Asked, Heard
from benchtui.session.notebook import Notebook
from benchtui.session.rehearsing import RehearsalSession
from benchtui.session.view import View
from benchtui.verdicts.expectation import Expectation
from tests.screens.keys import opened
from tests.session.made_up import BUILDS, Desk, MadeUp
from tests.session.test_hearing import ASKED
from tests.sound.signals import Made
from tests.sound.test_card import card
from tests.sound.test_square import square

RATE = 48_000
MADE = Made(
    tone=1000.0, harmonics={2: -60.0, 3: -66.0}, hum={1: -80.0, 2: -86.0}, noise=-95.0, mains=50.02, seconds=3.0
)
SILENT_TONE = Made(tone=1000.0, seconds=3.0).samples()
HUM = (
    Made(tone=1000.0, hum={1: -60.0, 2: -66.0, 6: -80.0}, noise=-95.0, mains=50.02, seconds=3.0).samples() - SILENT_TONE
)


class Signals(MadeUp):
    """Each test is set to 100 mV at 1 kHz; distortion is healthy to 0.2 %, overshoot to 30 %."""

    def stage(self, build: Build, stage: str, mains_v: float | None, earlier: tuple[StageRead, ...]) -> StageFacts:
        found = super().stage(build, stage, mains_v, earlier)
        return replace(found, settings={id: Setting(0.1, 1000.0) for id in found.expectations if "signal" in id})

    def _points(self, build: Build, stage: str) -> dict[str, Expectation]:
        shares = {"signal distortion": 0.002, "signal overshoot": 0.3}
        found = super()._points(build, stage)
        return found | {
            id: Expectation(id, "share", "%", 0.5 * high, 0.0, high) for id, high in shares.items() if id in found
        }


class AtSignals(Desk):
    """Hands that type a small share where a share is asked for."""

    def _answer(self, view: View) -> str:
        shares = view.prompt.title.startswith(("Distortion", "Square wave"))
        return "0.1" if shares else super()._answer(view)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """The folder where the program was started, with captures."""
    made = tmp_path_factory.mktemp("captures")
    put(made / "tone.wav", MADE.samples())
    put(made / "my 's.wav", HUM)
    put(made / "louder.wav", 1.5 * MADE.samples())
    put(made / "shorted.wav", 1e-4 * np.random.default_rng(9).standard_normal(3 * RATE))
    put(made / "square.wav", square(1000.0, RATE, high=4000.0, damping=0.5))
    for hertz in (1000.0, 90.0, 110.0):
        db = -10.0 * log10(1.0 + (100.0 / hertz) ** 2)
        put(made / f"{hertz:.0f} Hz.wav", Made(tone=hertz, peak=0.5 * 10 ** (db / 20), seconds=2.0).samples())
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(made)
        yield made


@pytest.fixture(scope="module")
def desk(folder: Path) -> Iterator[Desk]:
    """A bench with a sound card, on which the push-pull demo build stands in its signal stage, power on."""
    text = (BUILDS / "pp-6v6.toml").read_text("utf-8")
    owned = '[bench]\nsound_card = true\noscilloscope = true\ngenerator = true\nsecond_load = "8 ohm"\n'
    (folder / "amp.toml").write_text(text.replace("[bench]\n", owned, 1), "utf-8")
    made = AtSignals(folder / "amp.toml", folder, forecaster=Signals())
    made.till(lambda view: view.stage == "Signal" and view.prompt.title == "AC across the load" and view.step == "read")
    yield made
    made.drop()


def put(path: Path, *channels: np.ndarray, rate: int = RATE) -> None:
    soundfile.write(path, np.stack(channels, axis=1), rate, subtype="PCM_24")


def said(desk: Desk, text: str) -> View:
    """What is shown once `text` was typed and all that it asks for was worked out."""
    desk.type(text)
    desk.compute()
    return desk.session.view()


def events(desk: Desk) -> tuple[Event, ...]:
    return desk.session._journal.events


def last(desk: Desk) -> tuple[e.Captured, e.PointRead]:
    """The last two events: a capture, and the reading by it."""
    capture, reading = (decode(event.kind, event.data) for event in events(desk)[-2:])
    assert isinstance(capture, e.Captured) and isinstance(reading, e.PointRead)
    return capture, reading


def refused(view: View) -> str:
    """The sentence of a refusal."""
    assert view.banner is not None and view.banner.kind in ("refused", "question"), view.banner
    return view.banner.text


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("wav tone.wav", Line("tone.wav", "", "")),
        ("WAV my hum.wav meter 2.1 mV", Line("my hum.wav", "", "2.1 mV")),
        ("wav the meter test.wav meter 2.83", Line("the meter test.wav", "", "2.83")),
        ("wav 'the meter 3' meter .5", Line("'the meter 3'", "", ".5")),
        ("wav 'the meter 3'", Line("'the meter 3'", "", "")),
        ("wav a.wav channel 2 meter 1", Line("a.wav", "2", "1")),
        ("wav a.wav meter 1 V channel 2", Line("a.wav", "2", "1 V")),
        ("wav", Line("?", "", "")),
        ("wav my floor.wav floor", Line("my floor.wav", "", "", True)),
        ("card floor", Line("", "", "", True)),
        ("card", Line("", "", "")),
        ("card meter 2.83 channel 1", Line("", "1", "2.83")),
        ("card noise is known of old", None),
        ("wavers a little", None),
        ("2.83", None),
    ],
)
def test_a_line_is_a_capture_by_its_first_word(text: str, line: Line | None) -> None:
    assert typed(text) == line


def test_a_name_is_cut_at_its_blanks_as_a_shell_does_it() -> None:
    assert parts("a.wav 'b c.wav' d\\ e.wav") == ("a.wav", "b c.wav", "d e.wav")
    assert parts("builder's.wav") == ("builder's.wav",)


async def test_real_keys_give_hum_by_the_meter_and_its_lines_by_the_capture(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("NO_COLOR", "LC_ALL", "LC_CTYPE"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("LANG", "en_GB.UTF-8")
    monkeypatch.setenv("TERM", "xterm-256color")
    assert "the meter also shows an oscillation" in refused(said(desk, "wav my 's.wav")).casefold()
    async with opened(desk.session) as hands:
        assert "wav FILE meter 2.1 mV" in hands.text()
        hands.now_s += 1.0
        for key in ("w", "a", "v", " ", "m", "y", "tab"):
            await hands.key(key)
        for _ in range(200):
            if "my 's.wav" in hands.text():
                break
            await hands.settle()
        for key in " meter 100":
            await hands.key(key)
        await hands.key("enter")
        for _ in range(200):
            if "PASS" in hands.text():
                break
            await hands.settle()
        shown = hands.text()
    assert "100.0 V at AC across the load" in shown, shown
    assert "50.02 Hz -66.02 dBFS, heaters, a field, or an earth loop" in shown
    capture, reading = last(desk)
    assert (reading.value, reading.text) == (100.0, "wav my 's.wav meter 100") and not capture.calibrates
    assert [line.order for line in kept(capture).hum if line.clear] == [1, 2, 6]


def test_volts_are_refused_until_a_meter_told_them_and_then_are_judged_as_typed_ones(desk: Desk) -> None:
    desk.reach("Load volts, feedback closed")
    assert "no meter has told its volts yet" in refused(said(desk, "wav tone.wav"))
    assert "decimal comma" in refused(said(desk, "wav tone.wav meter 2,83"))
    assert "has no sign" in refused(said(desk, "wav tone.wav meter -2.83"))
    view = said(desk, "wav tone.wav meter 100")
    assert view.banner is not None and (view.banner.kind, view.banner.text[:7]) == ("pass", "100.0 V")
    capture, by_meter = last(desk)
    assert capture.calibrates and capture.meter_v == 100.0
    assert capture.full_scale_v == pytest.approx(200.0, rel=1e-4)  # the tone has half of full scale, and 100 V
    assert desk.session.view().prompt.title == "AC at the anode of V1a"
    assert "no sound card belongs at a valve" in refused(said(desk, "wav tone.wav")).casefold()
    desk.reach("Load volts with a second load")
    said(desk, "wav louder.wav")
    capture, by_capture = last(desk)
    assert by_capture.value == pytest.approx(150.0, rel=1e-4) and isinstance(by_capture, e.PointWarned)
    assert capture.calibration == "by the meter's 100.0 V with tone.wav" and not capture.calibrates
    said(desk, "150.0")
    by_hand = decode(events(desk)[-1].kind, events(desk)[-1].data)
    assert isinstance(by_hand, e.PointWarned)
    assert replace(by_hand, text=by_capture.text, value=by_capture.value) == by_capture


def test_another_reading_or_stop_leaves_a_capture_behind(desk: Desk) -> None:
    view = desk.reach("Load volts with a second load")  # where it warned it stands still
    desk.type("wav louder.wav")
    job = desk.session.pending_capture()
    assert job is not None and desk.session.pending_capture() is None
    view = desk.type("100")
    assert view.banner is not None and view.banner.kind == "pass"
    saved = len(events(desk))
    desk.session.take_capture(job())
    desk.session.take_capture(None)
    assert len(events(desk)) == saved and desk.session.view().banner == view.banner


def test_what_fails_of_an_older_capture_says_nothing_of_the_newer_one(folder: Path) -> None:
    under_way = Captures(None, RealForecaster())  # type: ignore[arg-type]
    line = ASKED
    under_way.begin(line)
    older = under_way.job()
    under_way.begin(replace(line, serial=2))
    assert older is not None and under_way.over(None, None) == ("", "")  # type: ignore[arg-type]
    assert under_way.over(older(), None) == ("", "")  # type: ignore[arg-type]
    assert under_way.job() is not None
    text, why = under_way.over(None, None)  # type: ignore[arg-type]
    assert text == "wav a.wav" and "has ended" in str(why)


def test_a_file_that_was_told_before_the_power_came_on_last_is_no_reading_of_now(folder: Path) -> None:
    line = replace(ASKED, folder=str(folder), whole="tone.wav", parts=("tone.wav",))
    notebook, under_way = Notebook(), Captures(None, RealForecaster())  # type: ignore[arg-type]
    under_way.begin(line)
    job = under_way.job()
    found = job() if job else None
    assert isinstance(found, Heard) and found.event is not None, found
    told = found.event
    for event, wall in ((e.PowerOn("40 W lamp"), 1e6), (told, 1e6 + 60.0), (told, 1e6 + 90.0)):
        notebook.take(event, "signal", wall)
        assert notebook.stale(told) is None
    notebook.take(e.PowerOn("40 W lamp"), "signal", 2e6)
    assert notebook.stale(told) == (told.files[0], 1e6 + 60.0)
    assert notebook.stale(replace(told, sha256=("another",))) is None
    _, why = under_way.over(found, SimpleNamespace(notebook=notebook))  # type: ignore[arg-type]
    assert str(why).startswith("tone.wav was told already on 1970-01-12")


def test_a_corner_comes_from_captures_on_both_sides(desk: Desk) -> None:
    desk.reach("Low corner")
    assert "three captures or more" in refused(said(desk, "wav '90 Hz.wav' '1000 Hz.wav'"))
    assert "there is no file" in refused(said(desk, "wav '90 Hz.wav' 95.wav '1000 Hz.wav'")).casefold()
    said(desk, "wav '90 Hz.wav' '110 Hz.wav' '1000 Hz.wav'")
    capture, reading = last(desk)
    assert reading.value == pytest.approx(100.0, rel=0.01) and isinstance(reading, e.PointPassed)
    assert [round(line.hertz) for line in kept(capture).response] == [90, 110, 1000] and len(capture.sha256) == 3


def test_overshoot_comes_from_a_captured_square_wave(desk: Desk) -> None:
    desk.reach("Square wave, overshoot")
    assert "short the input for it" in refused(said(desk, "wav tone.wav floor"))
    view = said(desk, "wav shorted.wav floor")
    assert view.banner is not None and view.banner.text.startswith("The card's floor is -77.")
    assert view.prompt.title == "Square wave, overshoot" and events(desk)[-1].kind == "note"
    assert "goes with a capture of output volts, hum or distortion" in refused(said(desk, "wav square.wav meter 3"))
    said(desk, "wav square.wav")
    capture, reading = last(desk)
    # exp(-pi d / sqrt(1 - d^2)) of the step, d = 0.5 (any textbook on control)
    assert reading.value == pytest.approx(0.163, abs=0.005)
    assert capture.notes[0].startswith(f"{100 * reading.value:.1f} % overshoot")


def test_a_card_records_at_full_power_for_a_short_while_and_the_file_is_kept(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    recorded = card(monkeypatch, inputs=1)
    monkeypatch.setattr(
        sys.modules["sounddevice"], "rec",
        lambda frames, **settings: recorded.append({"frames": frames}) or np.resize(MADE.samples(), frames)[:, None],
    )  # fmt: skip
    desk.reach("Load volts just before clipping")
    said_first = desk.type("card meter 100").banner
    assert said_first is not None and "Level down once the figure is there, and after 10 s" in said_first.text
    desk.compute()
    capture, reading = last(desk)
    assert (reading.text, reading.value, capture.card, capture.seconds) == ("card meter 100", 100.0, "usual", 4.0)
    (name,) = capture.files
    assert name.startswith("amp.capture-") and (desk.folder / name).is_file() and name in said_first.text


def test_what_no_capture_tells_is_asked_of_the_meter(desk: Desk) -> None:
    desk.reach("Input volts for full power")
    assert "no capture is taken here" in refused(said(desk, "wav tone.wav")).casefold()


def test_distortion_agrees_with_the_command_digit_for_digit(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    view = desk.reach("Distortion at half power")
    assert view.prompt.hint == "type the percentage, or: wav FILE"
    assert "100 V in it by the calibration, 70.7 V is asked for" in refused(said(desk, "wav tone.wav"))
    put(Path("half.wav"), MADE.samples() / np.sqrt(2.0))
    view = said(desk, "wav half.wav")
    assert view.banner is not None and view.banner.kind == "pass"
    words = " ".join(view.banner.more)
    assert "The floor is that of shorted.wav, SHA-256" in words
    capsys.readouterr()
    assert main(["sound", "half.wav", "--floor", "shorted.wav"]) == 0
    told = capsys.readouterr().out
    figures = {name: re.search(rf"^{re.escape(name)} +(.*?)(?:  |$)", told, re.MULTILINE) for name in
               ("distortion", "THD+N", "floor", "hum")}  # fmt: skip
    percent, db = str(figures["distortion"] and figures["distortion"][1]).rsplit(" ", 2)[0], "dB"
    assert f"THD {percent} " in words and db in words, (percent, words)
    for name in ("THD+N", "floor"):
        found = figures[name]
        assert found is not None and found[1].split(" dB")[0].rsplit(" ", 1)[-1] in words, (name, words)
    harmonics = re.findall(r"^ +(\d+..) harmonic .* (\d\S* %)", told, re.MULTILINE)
    assert [order for order, _ in harmonics] == ["2nd", "3rd"]
    assert all(f"{order} {share}" in words for order, share in harmonics), words
    lines = re.findall(r"^ +\d+ times mains +(\d+\.\d\d) Hz .* (\d\S* %)", told, re.MULTILINE)
    assert len(lines) == 2 and all(f"{hertz} Hz {share}" in words for hertz, share in lines), words
    assert last(desk)[1].value == pytest.approx(float(percent.rstrip(" %")) / 100.0, rel=1e-3)


def test_f2_has_the_figures_until_the_next_reading_and_f5_has_the_file_and_its_hash(desk: Desk) -> None:
    capture, _ = last(desk)
    assert any(line.startswith("THD ") for line in desk.session.view().why)
    logged = desk.session.log(2)[0].text
    assert "capture half.wav" in logged and capture.sha256[0][:12] in logged and len(capture.sha256[0]) == 64


def test_where_nothing_is_captured_it_says_so(desk: Desk) -> None:
    desk.till(lambda view: view.step == "power down")
    assert desk.session.view().prompt.title == "HT before power-down"
    assert refused(said(desk, "wav tone.wav")).startswith("'wav tone.wav' ")


def test_a_new_start_of_the_program_forgets_the_calibration(desk: Desk) -> None:
    assert desk.session._ledger.notebook.calibrations
    desk.drop()
    desk.open()
    assert not desk.session._ledger.notebook.calibrations
    assert desk.session._ledger.notebook.stages["signal"]["signal distortion"].verdict == "pass"


def bench_of(build: Build, test: str, *, hears: bool = True) -> Bench:
    """A moment at which the signal test `test` is asked for, power on."""
    id = next(point.id for point in signal_points(build, "signal") if point.what == test)
    state = SimpleNamespace(mode=Mode.POWERED, at=lambda plan: SimpleNamespace(stage="signal"))
    return Bench(build, None, state, Ask("point", id), None, Notebook(), None, None, hears)  # type: ignore[arg-type]


@pytest.mark.parametrize("test", ["closed", "clip"])
@pytest.mark.parametrize("text", ["wav a.wav meter 2.83", "card meter 2.83"])
def test_nothing_earthed_is_joined_to_an_output_that_floats(
    test: str, text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    build = load(BUILDS / "pp-6v6.toml").build
    floating = build.model_copy(update={"link": {k: v for k, v in build.link.items() if k != "SPK0"}})
    monkeypatch.setattr(Bench, "test", test)
    monkeypatch.setattr(Bench, "facts", None)
    monkeypatch.setattr(Bench, "expectation", lambda self: Expectation("x", "ac", "V", 1.0, 0.9, 1.1))
    line = typed(text)
    assert line is not None
    refusal = asked(bench_of(floating, test), line, text, 1, Path("keep.wav"))
    assert isinstance(refusal, str) and refusal.startswith("this output floats")
    assert hint(bench_of(floating, test)) == "" and helps(bench_of(floating, test)) == ()
    taken = asked(bench_of(build, test), line, text, 1, Path("keep.wav"))
    assert isinstance(taken, Asked) and taken.meter_v == 2.83 and "wav FILE" in hint(bench_of(build, test))


def test_in_a_rehearsal_no_capture_is_offered(monkeypatch: pytest.MonkeyPatch) -> None:
    rehearsed = bench_of(load(BUILDS / "pp-6v6.toml").build, "closed", hears=RehearsalSession.HEARS)
    assert hint(rehearsed) == "" and helps(rehearsed) == ()
