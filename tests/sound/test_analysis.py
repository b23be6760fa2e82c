"""Signals with known answers: each figure within 0.1 dB and 0.01 % (of the tone) of the exact one, down to -90 dB."""

from __future__ import annotations

from dataclasses import replace
from math import log10, sqrt

import numpy as np
import pytest

from benchtui.sound.analysis import analyse
from benchtui.sound.errors import SoundError
from benchtui.sound.figures import Analysis
from benchtui.sound.floor import Floor, quiet_floor
from tests.sound.signals import Made, percent, quantised

HARMONICS = {2: -60.0, 3: -75.0, 5: -90.0, 8: -80.0}
HUM = {1: -70.0, 2: -65.0, 3: -80.0, 6: -90.0}
#: The noise scatters a line of -90 dB by 0.02 dB then: in 5 s a lobe lets through 0.53 Hz of it.
AMPLIFIER = Made(harmonics=HARMONICS, hum=HUM, noise=-92.0, offset=0.01)

#: Of white noise, what is between 20 Hz and 20 kHz at 48,000 samples a second.
IN_BAND_DB = 10 * log10(19_980 / 24_000)


def check(told: Analysis, made: Made) -> None:
    """Every figure of `told` against what was put in."""
    assert told.tone is not None and told.thd is not None and told.thd_n is not None
    assert told.tone.hertz == pytest.approx(made.tone, rel=1e-6)
    assert told.tone.level.dbfs == pytest.approx(20 * log10(made.peak), abs=0.001)
    assert told.tone.offset == pytest.approx(made.offset, abs=1e-4)
    assert told.mains_hz == pytest.approx(made.mains, abs=0.005) and told.mains_found
    for lines, put_in in ((told.harmonics, made.harmonics), (told.hum, made.hum)):
        found = {line.order: line.level for line in lines}
        for order, db in put_in.items():
            assert found[order].bound == "", order
            assert found[order].dbc == pytest.approx(db, abs=0.1), order
            assert found[order].percent == pytest.approx(percent(db), abs=0.01), order
        for order in found.keys() - put_in.keys():
            assert found[order].bound in ("noise", "floor") and found[order].dbc < -105, order
    noise = [] if made.noise is None else [made.noise + IN_BAND_DB]
    for level, parts in (
        (told.thd, made.harmonics.values()),
        (told.thd_n, [*made.harmonics.values(), *made.hum.values(), *noise]),
        (told.hum_sum, made.hum.values()),
        (told.hum_and_noise, [*made.hum.values(), *noise]),
        (told.noise, noise),
    ):
        assert level.percent == pytest.approx(percent(*parts), abs=0.01)
        assert level.dbc == pytest.approx(20 * log10(percent(*parts) / 100), abs=0.1)
    assert told.sinad_db == pytest.approx(-told.thd_n.dbc)


@pytest.mark.parametrize(
    "made",
    [
        AMPLIFIER,
        replace(AMPLIFIER, tone=1000.0, mains=50.0, seed=2),
        replace(AMPLIFIER, tone=317.77, mains=60.04, seed=3),
        replace(AMPLIFIER, tone=1511.3, rate=96_000.0, mains=49.87, seed=4),
        replace(AMPLIFIER, tone=2003.41, rate=44_100.0, seconds=7.31, seed=5),
    ],
    ids=lambda made: f"{made.tone:g} Hz at {made.rate:g}",
)
def test_every_figure_is_within_a_tenth_of_a_decibel(made: Made) -> None:
    nominal = 60.0 if made.mains > 55 else 50.0
    # of the noise, the same part must be in the band: the test's own count is for 48,000 a second
    scaled = None if made.noise is None else made.noise + 10 * log10(48_000 / made.rate)
    told = analyse(made.samples(), made.rate, mains=nominal)
    check(told, replace(made, noise=scaled))
    assert told.warnings == ()


@pytest.mark.parametrize("bits", [16, 24])
def test_quantised_samples_have_the_same_figures(bits: int) -> None:
    made = replace(AMPLIFIER, seed=7)
    told = analyse(quantised(made.samples(), bits), made.rate, floor=Floor(bits))
    # rounding adds a step over the root of 12, rms
    rounding = 20 * log10(2.0 ** (1 - bits) / sqrt(12) * sqrt(2))
    against_tone = rounding - 20 * log10(made.peak)
    check(told, replace(made, noise=10 * log10(10**-9.2 + 10 ** (against_tone / 10))))
    assert told.floor_dbfs == pytest.approx(rounding + IN_BAND_DB, abs=1e-6) and told.floor_from == "bits"


def test_what_16_bits_add_to_a_clean_sine_is_what_quantisation_explains() -> None:
    made = Made(tone=997.123, peak=0.5)
    told = analyse(quantised(made.samples(), 16), made.rate, floor=Floor(16))
    assert told.noise.dbfs == pytest.approx(told.floor_dbfs, abs=0.5)
    assert told.noise.bound == "floor" and told.thd_n is not None and told.thd_n.bound == "floor"
    assert told.thd is not None and told.thd.dbc < -110


def test_a_clean_sine_has_next_to_no_distortion() -> None:
    told = analyse(Made().samples(), 48_000.0)
    assert told.thd_n is not None and told.thd_n.dbc < -160
    assert told.others == () and not told.mains_found and told.mains_hz == 50.0


@pytest.mark.parametrize(("tone", "harmonics"), [(20.7, {2: -50.0, 3: -60.0, 4: -90.0}), (41.3, {2: -40.0, 3: -70.0})])
def test_low_tones_are_told_as_well(tone: float, harmonics: dict[int, float]) -> None:
    made = replace(AMPLIFIER, tone=tone, harmonics=harmonics, hum={1: -60.0, 2: -70.0}, seconds=10.0)
    check(analyse(made.samples(), made.rate), made)


def test_a_tone_of_15_khz_has_no_harmonic_in_the_band() -> None:
    made = replace(AMPLIFIER, tone=15_000.7, harmonics={})
    told = analyse(made.samples(), made.rate)
    assert told.tone is not None and told.tone.hertz == pytest.approx(15_000.7, rel=1e-6)
    assert told.harmonics == () and told.thd is None
    assert told.thd_n is not None
    exact = percent(*HUM.values(), -92.0 + IN_BAND_DB)
    assert told.thd_n.percent == pytest.approx(exact, abs=0.01)


def test_the_harmonics_of_15_khz_are_told_in_a_wider_band() -> None:
    made = Made(tone=15_000.7, harmonics={2: -60.0, 3: -90.0}, noise=-90.0, rate=192_000.0, seconds=2.0)
    told = analyse(made.samples(), made.rate, band=(20.0, 60_000.0))
    assert [line.order for line in told.harmonics] == [2, 3]
    assert [line.level.dbc for line in told.harmonics] == pytest.approx([-60.0, -90.0], abs=0.1)


def test_of_two_tones_the_other_one_counts_as_noise_and_is_named() -> None:
    made = Made(tone=7000.3, lines={60.5: -12.0, 6939.8: -45.0}, noise=-90.0)
    told = analyse(made.samples(), made.rate)
    assert [line.hertz for line in told.others[:2]] == pytest.approx([60.5, 6939.8], abs=0.01)
    assert [line.level.dbc for line in told.others[:2]] == pytest.approx([-12.0, -45.0], abs=0.01)
    assert told.noise.percent == pytest.approx(percent(-12.0, -45.0, -90.0 + IN_BAND_DB), abs=0.01)


def test_the_tone_is_looked_for_where_it_is_said_to_be() -> None:
    made = Made(tone=7000.3, lines={60.5: -12.0}, noise=-90.0)
    told = analyse(made.samples(), made.rate, tone=60.0)
    assert told.tone is not None
    assert told.tone.hertz == pytest.approx(60.5, rel=1e-5)
    assert told.tone.level.dbfs == pytest.approx(20 * log10(0.5) - 12, abs=0.001)
    with pytest.raises(SoundError, match="within 5 % of 3000 Hz"):
        analyse(made.samples(), made.rate, tone=3000.0)


def test_without_a_tone_hum_and_noise_are_told_in_dbfs() -> None:
    made = Made(tone=49.93, peak=0.5 * 10 ** (-70 / 20), lines={99.86: 5.0, 149.79: -10.0}, noise=-15.0)
    told = analyse(made.samples(), made.rate)
    assert told.tone is None and told.thd is None and told.harmonics == () and told.sinad_db is None
    assert "hum, no tone" in told.warnings[0]
    assert [line.level.dbfs for line in told.hum[:3]] == pytest.approx([-76.02, -71.02, -86.02], abs=0.1)
    assert told.hum[0].level.percent is None
    assert analyse(made.samples(), made.rate, fed=False).warnings == ()


def test_a_tone_at_twice_the_mains_is_one_where_it_is_said_to_be() -> None:
    made = Made(tone=100.0, harmonics={2: -60.0, 3: -70.0}, noise=-90.0)
    told = analyse(made.samples(), made.rate, tone=100.0)
    assert told.tone is not None and told.thd is not None
    assert told.thd.percent == pytest.approx(percent(-60.0, -70.0), abs=0.01)
    assert analyse(made.samples(), made.rate).tone is None


def test_a_harmonic_on_a_mains_line_says_so_and_is_counted_once() -> None:
    made = Made(tone=20.0, harmonics={2: -60.0}, hum={1: -65.0, 2: -70.0, 3: -75.0}, noise=-95.0, seconds=10.0)
    told = analyse(made.samples(), made.rate)
    assert {line.order: line.level.bound for line in told.harmonics}[5] == "hum"
    (hidden,) = [line.level for line in told.hum if line.order == 2]
    assert (hidden.bound, hidden.dbfs, hidden.percent) == ("hidden", None, None)
    assert told.thd_n is not None
    exact = percent(-60.0, -65.0, -70.0, -75.0, -95.0 + IN_BAND_DB)
    assert told.thd_n.percent == pytest.approx(exact, abs=0.01)


def test_large_hum_under_the_tone_is_warned_of_and_small_hum_is_not() -> None:
    for down, warned in ((-30.0, True), (-70.0, False)):
        made = Made(tone=100.0, hum={1: down, 3: down}, noise=-95.0)
        told = analyse(made.samples(), made.rate, tone=100.0)
        assert any("falls onto the tone" in text for text in told.warnings) is warned


def test_volts_are_those_of_the_calibration() -> None:
    made = replace(AMPLIFIER, seed=9)
    told = analyse(made.samples(), made.rate, volts_full_scale=17.0)
    assert told.tone is not None and told.tone.level.volts == pytest.approx(8.5, rel=1e-4)
    assert told.hum[1].level.volts == pytest.approx(8.5 * 10 ** (-65 / 20), rel=0.01)
    assert analyse(made.samples(), made.rate).hum[1].level.volts is None


def test_the_driven_channel_is_the_loudest_and_the_tone_in_the_other_one_is_crosstalk() -> None:
    made = replace(AMPLIFIER, seed=10)
    quiet = made.samples() * 10 ** (-57 / 20) + 1e-5 * np.random.default_rng(3).standard_normal(240_000)
    told = analyse(np.stack([quiet, made.samples()], axis=1), made.rate)
    assert told.channel == 2
    (other,) = told.crosstalk
    assert other.channel == 1 and other.level.dbc == pytest.approx(-57.0, abs=0.05) and other.level.bound == ""
    noise = 1e-3 * np.random.default_rng(3).standard_normal(240_000)
    (hidden,) = analyse(np.stack([made.samples(), noise], axis=1), made.rate).crosstalk
    assert hidden.level.bound == "noise" and hidden.level.dbc < -80


@pytest.mark.parametrize(("above", "bound"), [(1.0, "floor"), (5.0, "floor"), (7.0, "")])
def test_within_6_db_of_the_floor_a_figure_is_the_floors(above: float, bound: str) -> None:
    random = np.random.default_rng(11)
    quiet = 1e-4 * random.standard_normal((240_000, 1))
    made = Made(noise=None).samples() + 1e-4 * 10 ** (above / 20) * random.standard_normal(240_000)
    told = analyse(made, 48_000.0, floor=quiet_floor(quiet, 48_000.0, 24))
    assert told.floor_from == "capture"
    assert told.floor_dbfs == pytest.approx(20 * log10(1e-4 * sqrt(2)) + IN_BAND_DB, abs=0.1)
    assert told.noise.bound == bound


def test_hum_of_the_converter_itself_is_told_as_its_floor() -> None:
    hum = Made(tone=49.93, peak=1e-3).samples()
    told = analyse(Made(noise=-100.0).samples() + 1.5 * hum, 48_000.0, floor=quiet_floor(hum[:, None] + 1e-9, 48_000.0))
    assert told.hum[0].level.bound == "floor"
    assert told.hum[0].level.dbfs == pytest.approx(20 * log10(1.5e-3), abs=0.01)


@pytest.mark.parametrize("spur", [497.3, 504.5, 99.2])
def test_a_line_that_is_no_hum_does_not_shift_the_mains(spur: float) -> None:
    made = Made(hum={1: -75.0, 2: -70.0, 3: -85.0}, lines={spur: -40.0}, noise=-95.0)
    told = analyse(made.samples(), made.rate)
    assert told.mains_hz == pytest.approx(49.93, abs=0.01)
    assert told.hum[0].level.dbc == pytest.approx(-75.0, abs=0.1)


def test_the_other_mains_is_spoken_for_by_more_lines() -> None:
    """300 Hz is 5 times 60 as well as 6 times 50."""
    made = Made(hum={1: -70.0, 2: -65.0, 6: -75.0}, noise=-95.0)
    (warning,) = analyse(made.samples(), made.rate, mains=60.0).warnings
    assert "speak for mains of 49.93 Hz" in warning and "--mains 50" in warning
    assert analyse(made.samples(), made.rate, mains=50.0).warnings == ()


def test_what_lies_below_the_floor_is_at_most_the_floor() -> None:
    """A coherent tone has bins without any noise at all; what the amplifier has there nobody knows."""
    told = analyse(quantised(Made(tone=1000.0).samples(), 16), 48_000.0, floor=Floor(16))
    assert told.floor_dbfs is not None
    lobe = told.floor_dbfs + 10 * log10(15 * 0.2 / 19_980)
    below = [line.level.dbfs for line in (*told.harmonics, *told.hum) if line.level.bound == "floor"]
    assert len(below) > 10 and min(below) > lobe - 0.5
    assert told.noise.bound == "floor" and told.noise.dbfs >= told.floor_dbfs


@pytest.mark.parametrize("rate", [90.0, 250.0, 1000.0])
def test_a_rate_too_low_for_any_hum_is_no_fault(rate: float) -> None:
    told = analyse(Made(tone=31.7, rate=rate, seconds=20.0, noise=-80.0).samples(), rate)
    assert told.tone is not None and told.tone.hertz == pytest.approx(31.7, rel=1e-5)
    assert [line.order for line in told.hum] == [m for m in range(1, 11) if m * 50 < rate / 2]


def test_a_lot_of_distortion_moves_neither_frequency_nor_level() -> None:
    made = Made(peak=0.3, harmonics={3: -10.0, 5: -14.0}, seconds=1.0, noise=-90.0)
    told = analyse(made.samples(), made.rate)
    assert told.tone is not None and told.thd is not None
    assert told.tone.hertz == pytest.approx(made.tone, rel=1e-6)
    assert told.tone.level.dbfs == pytest.approx(20 * log10(0.3), abs=0.001)
    assert told.thd.percent == pytest.approx(percent(-10.0, -14.0), abs=0.01)


@pytest.mark.parametrize("seed", range(4))
def test_noise_alone_has_no_tone_and_no_hum(seed: int) -> None:
    told = analyse(1e-3 * np.random.default_rng(seed).standard_normal(240_000), 48_000.0)
    assert told.tone is None and not told.mains_found
    assert {line.level.bound for line in told.hum} == {"noise"}
    assert told.noise.dbfs == pytest.approx(20 * log10(1e-3 * sqrt(2)) + IN_BAND_DB, abs=0.1)


def clipped() -> np.ndarray:
    return np.clip(Made(peak=1.2).samples(), -1, 1)


def broken() -> np.ndarray:
    made = Made().samples()
    made[100] = np.nan
    return made


@pytest.mark.parametrize(
    ("samples", "options", "said"),
    [
        (clipped(), {}, "clipped by the converter"),
        (broken(), {}, "no numbers"),
        (np.zeros(0), {}, "not one sample"),
        (np.full(48_000, 0.2), {}, "silent"),
        (Made(seconds=0.3).samples(), {}, "0.3 s are too short to tell hum: at least 0.4 s are wanted"),
        (Made(tone=22.0, seconds=0.6).samples(), {}, "0.6 s are too short for 2"),
        (Made().samples(), {"channel": 2}, "no channel 2, it has 1"),
        (1e-3 * np.random.default_rng(1).standard_normal(48_000), {"fed": True}, "no tone stands out"),
    ],
)
def test_samples_that_tell_nothing_are_refused_with_the_reason(
    samples: np.ndarray, options: dict[str, object], said: str
) -> None:
    with pytest.raises(SoundError, match=said):
        analyse(samples, 48_000.0, **options)


def test_a_tone_clipped_by_the_converter_at_any_frequency_is_refused() -> None:
    for tone in (20.7, 997.0, 15_000.7):
        held = quantised(np.clip(Made(tone=tone, peak=1.05).samples(), -1, 1 - 2**-15), 16)
        with pytest.raises(SoundError, match="clipped"):
            analyse(held, 48_000.0, floor=Floor(16))


@pytest.mark.parametrize(
    ("samples", "said"),
    [
        (Made(peak=0.95).samples(), "near full scale"),
        (Made(peak=0.003).samples(), "so low the converter's own hum"),
        (Made().samples() * np.linspace(0.5, 1, 240_000), "level changes"),
        (0.5 * np.cos(2 * np.pi * (997 + np.arange(240_000) / 240_000) * np.arange(240_000) / 48_000), "wanders"),
    ],
)
def test_what_makes_figures_doubtful_is_warned_of(samples: np.ndarray, said: str) -> None:
    assert any(said in text for text in analyse(samples, 48_000.0).warnings)
