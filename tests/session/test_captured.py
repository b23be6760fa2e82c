"""What the record keeps of a capture, read back as figures and words."""

from __future__ import annotations

import json
from math import inf, nan

import pytest

from benchtui.procedure import events as e
from benchtui.procedure.codec import decode, encode
from benchtui.session.capture_words import brief, told
from benchtui.session.captured import Levels, kept, levels
from benchtui.session.wording import line

ROWS = (
    ("tone", 1000.0, -6.0, ""), ("harmonic 2", 2000.0, -66.0, ""), ("harmonic 3", 3000.0, -110.0, "noise"),
    ("mains 1", 50.02, -80.0, ""), ("mains 2", 100.04, -86.0, ""), ("mains 3", 150.06, None, "hidden"),
    ("line", 19_000.0, -90.0, ""), ("channel 2", 1000.0, -66.0, ""), ("total", nan, -5.9, ""),
    ("distortion", nan, -66.0, ""), ("distortion and noise", nan, -62.0, ""), ("noise", nan, -95.0, ""),
    ("hum", nan, -79.0, ""), ("hum and noise", nan, -78.9, ""),
)  # fmt: skip


def captured(of: Levels, **fields: object) -> e.Captured:
    """An event that tells `of`, calibrated so that a full-scale sine has 10 V."""
    usual = {
        "point": "signal distortion", "text": "wav a.wav", "files": ("a.wav",), "sha256": ("ab" * 32,), "card": "",
        "rate_hz": 48_000.0, "seconds": 5.0, "bits": 24, "channel": 1, "figure": 0.001, "unit": "%", "meter_v": None,
        "full_scale_v": 10.0, "calibration": "by the meter's 2.83 V with b.wav", "calibrates": False, "low_hz": 20.0,
        "high_hz": 20_000.0, "mains_hz": 50.02, "floor_dbfs": -146.0, "floor_from": "bits", "names": of.names,
        "hertz": of.hertz, "dbfs": of.dbfs, "bounds": of.bounds, "notes": ("mind this.",),
    }  # fmt: skip
    return e.Captured(**(usual | fields))  # type: ignore[arg-type]


def test_figures_come_back_from_the_record_with_their_ratios_and_volts() -> None:
    kind, data = encode(captured(levels(ROWS)))
    event = decode(kind, json.loads(json.dumps(data, allow_nan=False)))
    assert isinstance(event, e.Captured)
    of = kept(event)
    assert of.tone is not None and of.tone.volts == pytest.approx(10 * 10 ** (-6 / 20))
    second, third = of.harmonics
    assert (second.order, second.hertz, second.dbc, second.clear) == (2, 2000.0, -60.0, True)
    assert second.percent == pytest.approx(0.1) and not third.clear
    assert [line.order for line in of.hum] == [1, 2, 3] and of.hum[2].dbfs == -inf
    assert of.crosstalk[0].dbc == -60.0 and of.others[0].hertz == 19_000.0
    assert of.hum_sum is not None and of.hum_sum.dbfs == -79.0 and of.floor_dbfs == -146.0


def test_words_of_a_tone_give_each_harmonic_and_each_line_of_hum() -> None:
    words = "\n".join(told(captured(levels(ROWS))))
    assert "of the tone 50.02 Hz 0.0200 %, 100.04 Hz 0.0100 %" in words and "points to" not in words
    assert "THD 0.1000 % (-60.00 dB): 2nd 0.1000 %, the others at most 0.000631 %." in words
    assert "Crosstalk -60.00 dB in channel 2." in words and "mind this." in words
    assert "Noise 177.8 µV -95.00 dBFS, with hum 1.135 mV -78.90 dBFS, 20.0 Hz to 20.0 kHz." in words
    assert "Other lines, counted as noise: 19.00 kHz 316.2 µV -90.00 dBFS." in words


def test_without_a_tone_words_name_what_each_line_of_hum_points_to() -> None:
    words = "\n".join(told(captured(levels(row for row in ROWS if row[0].startswith(("mains", "hum", "total"))))))
    assert words.startswith(
        "50.02 Hz 1.000 mV -80.00 dBFS, heaters, a field, or an earth loop; 100.04 Hz 501.2 µV -86.00"
    )
    assert "Hum 1.122 mV -79.00 dBFS: 50.02 Hz 1.000 mV -80.00 dBFS, 100.04 Hz 501.2 µV -86.00 dBFS." in words
    assert "50 Hz points to heater wiring" in words and "100 Hz points to ripple of the rectifier" in words


def test_the_record_has_a_line_for_it_with_its_hash() -> None:
    said = line(*encode(captured(levels(ROWS))), {"signal distortion": "Distortion at half power"})
    assert said.startswith("Distortion at half power: capture a.wav; 0.1000 % by it; Tone 1000.000 Hz, 5.012 V -6.00")
    assert "Converter's floor -146.00 dBFS" in said and said.endswith("48000 Hz, 5.0 s, SHA-256 abababababab")


def test_a_capture_of_nothing_is_still_told() -> None:
    empty = captured(levels(()), floor_dbfs=None, bits=0, full_scale_v=None)
    assert kept(empty).tone is None and kept(empty).harmonics == ()
    assert told(empty) == ("mind this.", "a.wav: channel 1, 48000 Hz, floating point, 5.0 s.")
    noise = levels([("noise", nan, None, "")])
    assert "floor is not known" in brief(captured(noise, floor_dbfs=None, bits=0))
