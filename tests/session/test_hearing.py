"""What is told of a file or a recording: the one figure of its test, or one sentence on what is wrong with it."""

from __future__ import annotations

import hashlib
import re
import sys
from collections.abc import Callable
from dataclasses import replace
from math import sqrt
from pathlib import Path

import numpy as np
import pytest
import soundfile

from benchtui.cli.main import main
from benchtui.procedure.events import Captured
from benchtui.session.capture_words import told
from benchtui.session.captured import kept
from benchtui.session.hearing import Asked, Scale, heard
from tests.sound.signals import Made
from tests.sound.test_card import card

RATE = 48_000
TONE = Made(tone=1000.0, seconds=1.0, noise=-90.0).samples()
ASKED = Asked(
    serial=1, point="point", text="wav a.wav", unit="V", test="volts", whole="a.wav", parts=("a.wav",), folder="",
    keep="", seconds=4.0, channel=None, meter_v=None, meter_notes=(), hz=1000.0, mains_hz=50.0,
    scales=((1, Scale(10.0, RATE, "by the meter's 2.83 V with b.wav")),),
)  # fmt: skip


def told_of(
    folder: Path, *channels: np.ndarray, rate: int = RATE, subtype: str = "PCM_24", **asked: object
) -> Captured:
    """The event of a capture of these channels."""
    soundfile.write(folder / "a.wav", np.stack(channels, axis=1), rate, subtype=subtype)
    found = heard(replace(ASKED, folder=str(folder), **asked))  # type: ignore[arg-type]
    assert found.event is not None, found.trouble
    return found.event


def test_volts_are_all_that_moves_by_the_calibration_of_the_channel(tmp_path: Path) -> None:
    event = told_of(tmp_path, TONE)
    assert event.figure == pytest.approx(5.0, rel=1e-3)  # half of a range that 10 V rms fill
    assert event.sha256 == (hashlib.sha256((tmp_path / "a.wav").read_bytes()).hexdigest(),)
    assert (event.files, event.rate_hz, event.seconds, event.bits, event.channel) == (("a.wav",), RATE, 1.0, 24, 1)
    assert event.floor_dbfs == pytest.approx(-147.05, abs=0.01) and event.floor_from == "bits"


def test_hum_by_a_calibration_holds_all_multiples_of_the_mains(tmp_path: Path) -> None:
    hum = sum(10 ** (db / 20) * np.sin(2 * np.pi * m * 50.0 * np.arange(RATE) / RATE) for m, db in ((1, -60), (2, -66)))
    event = told_of(tmp_path, np.asarray(hum), test="hum", hz=0.0)
    assert event.figure == pytest.approx(10.0 * sqrt(10**-6 + 10**-6.6), rel=1e-3)
    assert [round(line.dbfs, 1) for line in kept(event).hum[:2]] == [-60.0, -66.0]


def test_hum_agrees_with_the_command_digit_for_digit(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    hum = Made(tone=100.04, peak=2e-3, lines={50.02: 3.0, 150.06: -9.0, 9000.0: -20.0}, noise=-30.0, seconds=2.0)
    words = " ".join(told(told_of(tmp_path, hum.samples(), test="hum", hz=0.0, meter_v=0.002, scales=())))
    assert main(["sound", str(tmp_path / "a.wav"), "--no-tone"]) == 0
    by_command = capsys.readouterr().out
    figures = re.findall(r"(-\d+\.\d\d) dBFS", by_command)
    assert len(figures) >= 9, by_command
    level, *others = figures  # the first is all that moves, which is the reading where a calibration gives it volts
    assert [figure for figure in others if f"{figure} dBFS" not in words] == [], (words, by_command)
    hertz = re.findall(r"times mains +(\d+\.\d\d) Hz", by_command)
    assert hertz[:2] == ["50.02", "100.04"] and all(f"{each} Hz" in words for each in hertz)


def test_hum_by_the_meter_needs_no_calibration_and_makes_none(tmp_path: Path) -> None:
    event = told_of(tmp_path, 0.01 * TONE, test="hum", hz=0.0, meter_v=0.0021, scales=())
    assert event.figure == 0.0021 and not event.calibrates and event.full_scale_v is None


def test_crosstalk_is_the_share_of_the_driven_volts_in_the_other_channel(tmp_path: Path) -> None:
    event = told_of(tmp_path, 0.001 * TONE, TONE, test="crosstalk", driven_v=2.0, scales=())
    assert event.figure == pytest.approx(0.002, rel=1e-3) and event.channel == 2
    assert [round(line.dbc or 0.0, 2) for line in kept(event).crosstalk] == [-60.0]
    assert "Crosstalk -60.00 dB in channel 1." in told(event)


def test_crosstalk_into_a_channel_that_is_calibrated_is_in_its_own_volts(tmp_path: Path) -> None:
    event = told_of(tmp_path, 0.001 * TONE, TONE, test="crosstalk")  # 0.5 mV of full scale, which 10 V rms fill
    assert event.figure == pytest.approx(0.005, rel=1e-3) and "by the meter's 2.83 V with b.wav" in event.notes[0]


def test_of_a_long_file_the_beginning_is_told_and_that_it_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("benchtui.sound.capture.LONGEST", RATE)
    event = told_of(tmp_path, np.tile(TONE, 3))
    assert event.seconds == 1.0 and event.notes[-1] == "The first 1.0 s of 3.0 s are told."


def test_distortion_counts_at_volts_that_were_told_alone(tmp_path: Path) -> None:
    """A generator by itself has little of it, and would pass: what binds the capture to the load is its level."""
    event = told_of(tmp_path, TONE, test="distortion", scales=(), level_v=5.0, meter_v=5.1)
    assert event.calibrates and event.meter_v == 5.1 and "by the meter's 5.1" in event.calibration
    asked = replace(ASKED, folder=str(tmp_path), test="distortion", scales=(), level_v=5.0)
    assert "no meter has told" in heard(asked).trouble
    assert "5.00 V is asked for" in heard(replace(asked, meter_v=1.0)).trouble


def test_the_floor_of_the_card_bounds_what_lies_at_it(tmp_path: Path) -> None:
    noise = 1e-4 * np.random.default_rng(4).standard_normal((2, RATE))
    soundfile.write(tmp_path / "q.wav", noise[0], RATE, subtype="PCM_24")
    floor = heard(replace(ASKED, folder=str(tmp_path), whole="q.wav", parts=("q.wav",), test="floor")).floor
    # white noise over 20 Hz to 20 kHz of 24 kHz, against a full-scale sine's rms
    assert floor is not None and floor.dbfs == pytest.approx(10 * np.log10(2e-8 * 19_980 / 24_000), abs=0.1)
    event = told_of(tmp_path, TONE + noise[1], test="distortion", floor=floor)
    assert event.floor_from == "capture" and event.floor_dbfs == pytest.approx(floor.dbfs, abs=0.01)
    assert {"floor", "noise"} >= {line.bound for line in kept(event).harmonics}
    assert event.notes[-1].startswith("The floor is that of q.wav, SHA-256 ")
    soundfile.write(tmp_path / "q.wav", noise[0], 96_000, subtype="PCM_24")
    other = heard(replace(ASKED, folder=str(tmp_path), floor=floor)).trouble
    assert "48000 samples a second, but the capture of the card's floor 96000" in other
    (tmp_path / "q.wav").unlink()
    assert "is gone, give it again" in heard(replace(ASKED, folder=str(tmp_path), floor=floor)).trouble


def test_the_same_signal_in_both_channels_is_no_question(tmp_path: Path) -> None:
    assert told_of(tmp_path, TONE, TONE).channel == 1


@pytest.mark.parametrize("name", ["my own.wav", "'quoted'.wav", "läuft.wav", "two  blanks.wav", "~x.wav"])
def test_names_are_taken_as_they_are_with_or_without_quotes(tmp_path: Path, name: str) -> None:
    soundfile.write(tmp_path / name, TONE, RATE, subtype="PCM_24")
    assert heard(replace(ASKED, folder=str(tmp_path), whole=name, parts=("nothing",))).event is not None
    assert heard(replace(ASKED, folder=str(tmp_path), whole=f'"{name}"', parts=(name,))).event is not None


def test_a_tilde_is_the_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    soundfile.write(tmp_path / "a.wav", TONE, RATE, subtype="PCM_24")
    assert heard(replace(ASKED, folder="/", whole="~/a.wav", parts=("~/a.wav",))).event is not None


Change = Callable[[Path], None]


def _made(*channels: np.ndarray, rate: int = RATE, subtype: str = "PCM_24") -> Change:
    return lambda path: soundfile.write(path, np.stack(channels, axis=1), rate, subtype=subtype)


WRONG: dict[str, tuple[Change, dict[str, object], str]] = {
    "missing": (lambda path: None, {}, "there is no file {path}; a name counts from the folder where the program was"),
    "a folder": (lambda path: path.mkdir(), {}, "capture {path}: it is a folder, a WAV file is wanted"),
    "text": (lambda path: path.write_text("hum") and None, {}, "capture {path}: the file is no WAV that can be read"),
    "empty": (lambda path: path.touch(), {}, "capture {path}: the file is empty"),
    "a low rate": (_made(TONE, rate=8000), {}, "it has 8000 samples a second, 44100 or more are wanted"),
    "clipped": (_made(np.clip(3 * TONE, -1, 1)), {}, "channel 1 is clipped by the converter"),
    "silent": (_made(0 * TONE), {}, "channel 1 of the capture is silent"),
    "not a number": (_made(TONE * np.nan, subtype="FLOAT"), {}, "samples that are no numbers"),
    "no tone": (_made(1e-3 * np.random.default_rng(1).standard_normal(RATE)), {}, "no tone stands out"),
    "another tone": (_made(Made(tone=440.0, seconds=1.0).samples()), {}, "its tone has 440.0 Hz, 1.000 kHz is asked"),
    "two tones": (_made(TONE, 0.9 * Made(seed=2, seconds=1.0).samples()), {}, "channels 1 and 2 are about as loud"),
    "no channel": (_made(TONE), {"channel": 2}, "it has no channel 2, it has 1"),
    "a channel nobody read": (_made(0.01 * TONE, TONE), {}, "no meter has told channel 2 its volts yet"),
    "another rate": (_made(TONE, rate=44_100), {"hz": 918.75}, "44100 samples a second, but the calibration 48000"),
    "no calibration": (_made(TONE), {"scales": ()}, "such as 'wav a.wav meter 2.83'"),
    "no volts": (_made(TONE), {"meter_v": 0.0}, "0 V are no reading to calibrate by"),
    "another level": (_made(TONE), {"test": "distortion", "level_v": 7.0}, "has 5.00 V in it by the calibration"),
    "one load": (_made(TONE), {"test": "crosstalk", "driven_v": 2.0}, "it has 1 channel(s), two are wanted"),
    "driven unread": (_made(TONE, 0.1 * TONE), {"test": "crosstalk", "scales": ()}, "driven load were not read yet"),
    "other load open": (_made(TONE, 0 * TONE), {"test": "crosstalk", "driven_v": 2.0}, "channel 2 holds nothing"),
    "a floor with a tone": (_made(TONE), {"test": "floor"}, "short the input for it"),
    "a sine as square": (_made(TONE), {"test": "overshoot"}, "not flat enough for a square wave"),
}  # fmt: skip


@pytest.mark.parametrize("what", WRONG)
def test_a_wrong_file_gets_one_sentence_with_its_place_and_what_would_be_right(what: str, tmp_path: Path) -> None:
    make, asked, says = WRONG[what]
    path = tmp_path / "a.wav"
    make(path)
    found = heard(replace(ASKED, folder=str(tmp_path), **asked))  # type: ignore[arg-type]
    assert found.event is None and says.format(path=path) in found.trouble, found.trouble
    assert str(path) in found.trouble and "\n" not in found.trouble and "--" not in found.trouble


def test_captures_far_apart_tell_no_corner(tmp_path: Path) -> None:
    for hertz, db in ((1000, 0.0), (500, 0.0), (50, -1.0), (25, -6.0)):
        soundfile.write(
            tmp_path / f"{hertz}.wav", Made(tone=hertz, peak=0.5 * 10 ** (db / 20), seconds=1.5).samples(), RATE
        )
    corner = replace(ASKED, test="low corner", unit="Hz", folder=str(tmp_path), whole="?")
    apart = heard(replace(corner, parts=("1000.wav", "50.wav", "25.wav"))).trouble
    assert "between 25.00 Hz and 50.00 Hz nothing was captured" in apart
    flat = heard(replace(corner, parts=("1000.wav", "500.wav", "50.wav"))).trouble
    assert "does not fall by 3 dB between 50.00 Hz and 1.000 kHz" in flat
    low = heard(replace(corner, parts=("500.wav", "50.wav", "25.wav"))).trouble
    assert "nearest to 1 kHz, which has 500.0 Hz, 1.000 kHz is asked" in low


def test_a_card_records_a_file_that_is_kept_and_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = card(monkeypatch, inputs=1)
    monkeypatch.setattr(
        sys.modules["sounddevice"], "rec",
        lambda frames, **settings: asked.append({"frames": frames}) or np.resize(TONE, frames)[:, None],
    )  # fmt: skip
    keep = tmp_path / "amp.capture-12.wav"
    of_card = replace(ASKED, whole="", parts=(), keep=str(keep), seconds=1.0)
    found = heard(of_card)
    assert found.event is not None, found.trouble
    assert (found.event.card, found.event.files, found.event.seconds) == ("usual", ("amp.capture-12.wav",), 1.0)
    assert found.event.figure == pytest.approx(5.0, rel=1e-3) and asked[0]["frames"] == 52_800
    assert found.event.sha256 == (hashlib.sha256(keep.read_bytes()).hexdigest(),)
    assert "the file is there already" in heard(of_card).trouble


def test_a_card_that_refuses_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    card(monkeypatch, refuses="No input device")
    found = heard(replace(ASKED, whole="", parts=(), keep=str(tmp_path / "x.wav")))
    assert found.event is None and found.trouble == "the sound card cannot record: No input device"
    assert not (tmp_path / "x.wav").exists()
