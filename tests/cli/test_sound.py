"""`benchtui sound`: what it prints, what it keeps, and every way to ask for it wrongly."""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile

from benchtui.cli.main import main
from benchtui.sound import card
from benchtui.sound.card import Recording
from benchtui.sound.figures import Analysis
from tests.cli.readme import ROOT
from tests.sound.signals import Made
from tests.sound.test_square import square

RATE = 48_000
MADE = Made(harmonics={2: -50.0, 3: -70.0}, hum={1: -65.0, 2: -60.0, 3: -75.0}, noise=-85.0, seconds=3.0)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where the captures lie: tone.wav in two channels, hum.wav, shorted.wav, square.wav."""
    monkeypatch.chdir(tmp_path)
    noise = np.random.default_rng(8).standard_normal(3 * RATE)
    put("tone.wav", np.stack([MADE.samples(), 1e-3 * MADE.samples() + 1e-4 * noise], axis=1))
    put("hum.wav", Made(tone=99.86, peak=3e-4, lines={49.93: -3.0}, noise=-10.0, seconds=3.0).samples())
    put("shorted.wav", 2e-5 * noise)
    put("square.wav", square(100.0, RATE, low=5.0, high=3000.0))
    return tmp_path


def put(name: str, samples: np.ndarray, rate: int = RATE, **settings: str) -> None:
    soundfile.write(name, samples, rate, **({"subtype": "PCM_24"} | settings))


def told(capsys: pytest.CaptureFixture[str], *arguments: str, code: int) -> tuple[str, str]:
    found = main(["sound", *arguments])
    captured = capsys.readouterr()
    assert found == code, captured.err
    return captured.out, captured.err


def test_a_tone_is_told_for_80_columns_with_what_each_figure_is(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out, words = told(capsys, "tone.wav", code=0)
    assert words == "" and max(map(len, out.splitlines())) <= 80
    assert out.startswith("tone.wav: channel 1 of 2, 48000 Hz, 24 bit, 3.0 s\n")
    assert re.search(r"^tone +997\.123 Hz +-6\.02 dBFS$", out, re.MULTILINE)
    assert re.search(r"^distortion +0\.317\d % -49\.9\d dB +THD, harmonics below 20 kHz$", out, re.MULTILINE)
    assert re.search(r"^ +2nd harmonic +1994\.25 Hz +-50\.\d+ dBc +0\.31\d\d %$", out, re.MULTILINE)
    assert re.search(r"^ +4 to 10: in the noise, each at most -1\d\d", out, re.MULTILINE)
    assert re.search(r"^hum +-6\d\.\d+ dBFS +mains found at 49\.93\d Hz$", out, re.MULTILINE)
    assert re.search(r"^crosstalk +-60\.\d+ dB +the tone in channel 2$", out, re.MULTILINE)
    plain = " ".join(out.split())
    assert "2 times mains points to ripple of the rectifier" in plain
    assert "Not calibrated: levels are dBFS" in plain
    assert "Never join it to an amplifier without a divider" in plain
    assert "never across a bridged or floating output" in plain


def test_json_has_every_figure_and_no_words(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out, words = told(capsys, "tone.wav", "--json", code=0)
    data = json.loads(out)
    assert words == "" and list(data) == ["schema", "volts_full_scale", "captures", "response", "warnings"]
    (one,) = data["captures"]
    assert list(one) == ["file", "bits", *Analysis.__dataclass_fields__]
    assert one["tone"]["hertz"] == pytest.approx(997.123, abs=0.001)
    assert one["harmonics"][0]["level"]["percent"] == pytest.approx(10 ** (-50 / 20) * 100, abs=0.01)
    assert data["volts_full_scale"] is None and one["tone"]["level"]["volts"] is None


def test_readme_tells_every_key_of_the_json(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = (ROOT / "README.md").read_text("utf-8")
    part = text.partition("`benchtui sound FILE ... [options] --json`")[2].partition("`benchtui records")[0]

    def keys(data: object) -> set[str]:
        inner = data.values() if isinstance(data, dict) else data if isinstance(data, list) else ()
        own = set(data) if isinstance(data, dict) else set()
        return own.union(*map(keys, inner))

    put("low.wav", MADE.samples() * 0.5)
    for arguments in (["tone.wav"], ["square.wav", "--square"]):
        out, _ = told(capsys, *arguments, "--json", code=0)
        missing = {key for key in keys(json.loads(out)) if f'"{key}"' not in part}
        assert missing == set()


def test_a_meter_gives_volts_and_the_calibration_is_kept_and_taken_up(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out, words = told(capsys, "tone.wav", "--volts", "8.5", "--write-calibration", "card.toml", code=0)
    assert words == "" and re.search(r"^tone +997\.123 Hz +8\.500 V -6\.02 dBFS$", out, re.MULTILINE)
    assert "A sine that fills the range is 17.00 V rms, by a meter at 997 Hz." in out
    out, words = told(capsys, "hum.wav", "--no-tone", "--calibration", "card.toml", "--json", code=0)
    (one,) = json.loads(out)["captures"]
    assert one["hum"][1]["level"]["volts"] == pytest.approx(17.0 * 3e-4, rel=0.01)
    assert one["tone"] is None


def test_only_a_calibration_is_overwritten_by_one(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "letter.txt").write_text("my letter\n", "utf-8")
    _, words = told(capsys, "tone.wav", "--volts", "2", "--write-calibration", "letter.txt", code=2)
    assert "letter.txt: it is no calibration" in words
    assert (folder / "letter.txt").read_text("utf-8") == "my letter\n"
    for volts in ("2", "4"):
        told(capsys, "tone.wav", "--volts", volts, "--write-calibration", "card.toml", code=0)
    assert "meter_volts = 4 " in (folder / "card.toml").read_text("utf-8")
    _, words = told(capsys, "tone.wav", "--volts", "2", "--write-calibration", "gone/card.toml", code=3)
    assert words == "benchtui sound: gone/card.toml could not be written (No such file or directory)\n"


def test_against_a_shorted_input_the_noise_is_the_converters(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    put("still.wav", 3e-5 * np.random.default_rng(9).standard_normal(3 * RATE))
    out, _ = told(capsys, "still.wav", "--floor", "shorted.wav", "--no-tone", code=0)
    assert re.search(r"^noise +at most -\d+\.\d+ dBFS", out, re.MULTILINE)
    plain = " ".join(out.split())
    assert "within 6 dB of it, so the amplifier is at most this" in plain
    assert re.search(r"floor +-\d+\.\d+ dBFS +the converter's, input shorted", out)
    _, words = told(capsys, "still.wav", "--floor", "tone.wav", code=2)
    assert "tone.wav: the capture of the floor has -6 dBFS in it: short the input for it" in words


def test_several_captures_give_a_response_with_its_corners(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    time = np.arange(2 * RATE) / RATE
    names = []
    for hertz in (21.0, 47.0, 1000.0, 10_000.0, 20_000.0):
        names.append(f"{hertz:.0f}.wav")
        put(names[-1], 0.5 / np.hypot(1, 30 / hertz) * np.sin(2 * np.pi * hertz * time))
    out, words = told(capsys, *names, "--mains", "60", code=0)
    assert words == "" and re.search(r"^-3 dB, low +3\d\.\d Hz", out, re.MULTILINE)
    assert re.search(r"^-3 dB, high +not among these", out, re.MULTILINE)
    data = json.loads(told(capsys, *names, "--json", code=0)[0])
    assert len(data["captures"]) == 5 and data["response"]["low_hz"] == pytest.approx(30, rel=0.1)
    _, words = told(capsys, names[0], names[0], code=2)
    assert "two captures are of the same frequency, 21.0 Hz" in words


def test_a_square_wave_is_told_by_its_shape(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out, words = told(capsys, "square.wav", "--square", code=0)
    assert words == "" and max(map(len, out.splitlines())) <= 80
    assert re.search(r"^droop +14\.\d % +as one corner at [45]\.\d+ Hz does$", out, re.MULTILINE)
    assert re.search(r"^rise time +0\.1\d\d ms +10-90 %, as one corner at [23]\.\d+ kHz$", out, re.MULTILINE)
    _, words = told(capsys, "tone.wav", "--square", code=2)
    assert "tone.wav: " in words and words.count("\n") == 1


def test_what_is_doubtful_is_warned_of_on_stderr_with_exit_1(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    put("low.wav", MADE.samples() * 0.01)
    out, words = told(capsys, "low.wav", code=1)
    assert words.startswith("warn  low.wav: the tone is -46.0 dBFS") and "tone " in out
    data = json.loads(told(capsys, "low.wav", "--json", code=1)[0])
    assert len(data["warnings"]) == len(data["captures"][0]["warnings"]) == 1


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["gone.wav"], "gone.wav: the file cannot be read (No such file or directory)"),
        (["."], ".: it is a folder, a WAV file is wanted"),
        (["tone.wav", "--channel", "3"], "tone.wav: the capture has no channel 3, it has 2"),
        (["square.wav", "--square", "--channel", "0"], "no channel 0"),
        (["tone.wav", "--volts", "0"], "0 V are no reading to calibrate by"),
        (["tone.wav", "--volts", "2,83"], "2,83"),
        (["tone.wav", "--tone", "5000"], "no tone stands out within 5 % of 5000 Hz"),
        (["tone.wav", "--tone", "-5"], "--tone -5 is no frequency"),
        (["tone.wav", "--band", "20000", "20"], "--band 20000 20 is no band"),
        (
            ["tone.wav", "--band", "30000", "40000"],
            "the band from 30000 Hz is below half the rate, 24000 Hz",
        ),
        (["tone.wav", "hum.wav", "--volts", "2"], "--volts calibrates by one capture"),
        (["tone.wav", "--write-calibration", "a"], "it goes with --volts"),
        (["tone.wav", "--volts", "2", "--calibration", "a"], "give one of them"),
        (["tone.wav", "--calibration", "gone.toml"], "gone.toml cannot be read (No such file or directory)"),
        (["tone.wav", "--calibration", "tone.wav"], "tone.wav cannot be read (it is no text)"),
        (["tone.wav", "--floor", "gone.wav"], "gone.wav: the file cannot be read"),
        (["tone.wav", "--no-tone", "--tone", "1000"], "--no-tone is for one capture without a tone"),
        (["square.wav", "--square", "--tone", "100"], "--square tells shapes"),
        (["tone.wav", "--device", "x"], "they go with --record"),
        (["a.wav", "b.wav", "--record", "2"], "it goes with one FILE"),
        (["a.wav", "--record", "0"], "0 s cannot be recorded"),
        (["tone.wav", "--record", "2"], "no capture is overwritten"),
        (["tone.wav", "--mains", "55"], "55"),
    ],
)
def test_what_is_asked_wrongly_is_one_sentence(
    arguments: list[str], said: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    out, words = told(capsys, *arguments, code=2)
    assert out == "" and said in words and words.splitlines()[-1].startswith("benchtui sound: ")
    assert words.count("\n") == 1
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_the_problems_of_all_files_are_told_at_once(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    put("clipped.wav", np.clip(2 * MADE.samples() / 0.5, -1, 1))
    (folder / "empty.wav").touch()
    _, words = told(capsys, "gone.wav", "empty.wav", code=2)
    assert words.count("\n") == 2
    put("silent.wav", np.zeros(RATE))
    _, words = told(capsys, "clipped.wav", "silent.wav", code=2)
    assert words.count("\n") == 2 and "clipped by the converter" in words and "is silent" in words


def test_a_recording_is_kept_and_told(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []

    def record(*arguments: object) -> Recording:
        asked.append(arguments)
        return Recording(MADE.samples()[:, None], RATE, "line in")

    monkeypatch.setattr(card, "record", record)
    out, words = told(capsys, "new.wav", "--record", "3", "--device", "line", "--rate", "48000", code=0)
    assert asked == [(3.0, "line", 48_000.0)]
    assert "Never join it to an amplifier without a divider" in words and "recording 3 s" in words
    assert out.startswith("new.wav: channel 1 of 1, 48000 Hz, 24 bit, 3.0 s\n")
    assert soundfile.info("new.wav").frames == 3 * RATE


@pytest.mark.parametrize(
    ("package", "arguments"), [("soundfile", ["tone.wav"]), ("sounddevice", ["new.wav", "--record", "2"])]
)
def test_without_its_package_it_says_what_to_install(
    package: str, arguments: list[str], folder: Path,
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setitem(sys.modules, package, None)
    out, words = told(capsys, *arguments, code=3)
    last = words.splitlines()[-1]
    assert out == "" and package in last and "pip install 'benchtui[sound]'" in last
