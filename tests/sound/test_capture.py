"""WAV files: what is written comes back, and every bad file is one sentence."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest
import soundfile

from benchtui.sound import capture
from benchtui.sound.analysis import analyse
from benchtui.sound.capture import read_wav, refuse_place, write_wav
from benchtui.sound.errors import CardError, SoundError
from benchtui.sound.floor import Floor
from tests.sound.signals import Made

RATE = 48_000
SAMPLES = Made(seconds=1.0, harmonics={2: -50.0}).samples()


@pytest.mark.parametrize(
    ("subtype", "bits"), [("PCM_16", 16), ("PCM_24", 24), ("PCM_32", 32), ("FLOAT", None), ("DOUBLE", None)]
)
@pytest.mark.parametrize("form", ["WAV", "WAVEX", "RF64"])
def test_every_form_of_sample_is_read(subtype: str, bits: int | None, form: str, tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    table = np.stack([SAMPLES, SAMPLES * 0.1, SAMPLES * 0.01], axis=1)
    soundfile.write(path, table, 44_100, subtype=subtype, format=form)
    read = read_wav(path)
    assert (read.rate, read.bits, read.frames) == (44_100.0, bits, RATE)
    assert np.abs(read.samples - table).max() <= 2.0 ** (1 - (bits or 24))


@pytest.mark.parametrize(("subtype", "bits"), [("PCM_16", 16), ("PCM_24", 24)])
def test_a_file_has_the_figures_that_were_put_into_it(subtype: str, bits: int, tmp_path: Path) -> None:
    made = Made(harmonics={2: -60.0, 3: -85.0}, hum={1: -70.0, 2: -80.0}, rate=44_100.0)
    soundfile.write(tmp_path / "a.wav", made.samples(), 44_100, subtype=subtype)
    read = read_wav(tmp_path / "a.wav")
    told = analyse(read.samples, read.rate, floor=Floor(read.bits))
    assert told.tone is not None and told.tone.hertz == pytest.approx(made.tone, rel=1e-6)
    assert [line.level.dbc for line in told.harmonics[:2]] == pytest.approx([-60.0, -85.0], abs=0.1)
    assert [line.level.dbc for line in told.hum[:2]] == pytest.approx([-70.0, -80.0], abs=0.1)
    assert bits == read.bits


def test_a_long_file_is_read_from_its_beginning(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(capture, "LONGEST", 1000)
    soundfile.write(tmp_path / "a.wav", SAMPLES, RATE, subtype="DOUBLE")
    read = read_wav(tmp_path / "a.wav")
    assert read.frames == RATE and np.array_equal(read.samples[:, 0], SAMPLES[:1000])


def test_what_is_written_is_read_and_never_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    refuse_place(path)
    write_wav(path, SAMPLES[:, None], RATE)
    before = path.read_bytes()
    assert np.abs(read_wav(path).samples[:, 0] - SAMPLES).max() < 2.0**-22
    for refuse in (lambda: refuse_place(path), lambda: write_wav(path, SAMPLES[:, None], RATE)):
        with pytest.raises(SoundError, match="no capture is overwritten"):
            refuse()
    assert path.read_bytes() == before
    with pytest.raises(CardError, match="is no folder"):
        refuse_place(tmp_path / "gone" / "a.wav")


def wav(path: Path, **settings: object) -> bytes:
    soundfile.write(path, SAMPLES[:4000], RATE, subtype="PCM_16", **settings)
    return path.read_bytes()


def test_what_is_no_file_is_one_sentence(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "empty").touch()
    (tmp_path / "text").write_text("my letter\n" * 100, "utf-8")
    for name, said in (
        ("", "it is a folder, a WAV file is wanted"),
        ("pipe", "it is no plain file"),
        ("empty", "the file is empty"),
        ("text", "no WAV that can be read"),
        ("gone", "cannot be read .No such file"),
        ("a" * 300, "cannot be read .File name too long"),
    ):
        with pytest.raises(SoundError, match=said) as told:
            read_wav(tmp_path / name)
        assert "\n" not in str(told.value)


def test_another_kind_of_sound_file_is_told_as_what_it_is(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "a.wav", SAMPLES, RATE, format="FLAC")
    with pytest.raises(SoundError, match="the file is FLAC, a WAV file is wanted"):
        read_wav(tmp_path / "a.wav")
    soundfile.write(tmp_path / "many.wav", np.zeros((100, 12)), RATE)
    with pytest.raises(SoundError, match="12 channels, at most 8"):
        read_wav(tmp_path / "many.wav")


@pytest.mark.parametrize("kept", [4, 11, 30, 44, 100, 5000])
def test_a_file_that_was_cut_short_is_refused(kept: int, tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    path.write_bytes(wav(path)[:kept])
    with pytest.raises(SoundError, match="cut short|no WAV") as told:
        read_wav(path)
    assert "\n" not in str(told.value)


def test_a_file_that_a_recorder_had_no_time_to_close_is_read(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    data = bytearray(wav(path))
    data[4:8] = b"\xff" * 4
    path.write_bytes(data)
    assert len(read_wav(path).samples) == 4000


def test_a_damaged_file_is_read_or_refused_and_nothing_else(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    sound = wav(path)
    random = np.random.default_rng(4)
    refused = 0
    for _ in range(300):
        data = bytearray(sound)
        for at in random.integers(0, 44, size=random.integers(1, 4)):
            data[at] = random.integers(0, 256)
        path.write_bytes(data)
        try:
            assert read_wav(path).samples.ndim == 2
        except SoundError as error:
            refused += 1
            assert "\n" not in str(error)
    assert 50 < refused < 300
