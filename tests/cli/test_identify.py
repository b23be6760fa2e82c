"""`benchtui identify`: notes in, what is known, what is next and a section that the build file takes."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

import pytest

from benchtui.assemble.checked import load_text_checked
from benchtui.cli.main import main
from tests.identify.on_paper import HEAD, output_transformer, plain

BUILD = Path(__file__).parents[2] / "builds" / "pp-6v6.toml"


@pytest.fixture
def asked(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    def ask(text: str, *more: str) -> tuple[int, str, str]:
        path = tmp_path / "notes.toml"
        path.write_text(text, "utf-8")
        code = main(["identify", str(path), *more])
        out, err = capsys.readouterr()
        return code, out, err

    return ask


def part(out: str) -> dict[str, object]:
    return json.loads(out)["parts"][0]


@pytest.mark.parametrize(
    ("stage", "following"),
    [
        (1, "ratios by a few isolated volts"),
        (2, "say which is the primary"),
        (3, "insulation of the winding of 1"),
        (4, None),
    ],
)
def test_each_stage_of_the_notes_has_its_next_step(asked, stage: int, following: str | None) -> None:
    for seed in range(6):
        code, out, _ = asked(plain(seed, stage=stage), "--json")
        told = part(out)
        assert (code, [f for f in told["findings"] if f["severity"] != "note"]) == (0, [])
        assert (told["next"] and told["next"]["name"]) == following


def test_the_section_loads_in_the_place_of_the_demo_build_s_transformer(asked) -> None:
    written = BUILD.read_text("utf-8")
    start, end = written.index("[transformer.T1]"), written.index("# ---- Valves")
    for seed in range(6):
        _, out, _ = asked(plain(seed, stage=4), "--json")
        build = load_text_checked(written[:start] + part(out)["section"] + "\n" + written[end:], "pasted").build
        windings = build.transformer["T1"].windings
        for name, true in (("W_HT1", 268.0), ("W_HT2", 268.0), ("W_H6", 6.75), ("W_H5", 5.35)):
            assert abs(windings[name].emf / true - 1) <= windings[name].tolerance[1] + 1e-3, (seed, name)
        assert build.transformer["T1"].primary.resistance == pytest.approx(9.5, abs=0.4)
        assert windings["W_H6"].resistance == pytest.approx(0.11, rel=0.03)
        assert "a scrapped receiver" in build.salvaged["T1"].found and len(build.salvaged["T1"].measured) >= 5
        assert any("by its copper" in text for text in build.salvaged["T1"].estimated)


def test_the_section_of_an_output_transformer_loads_in_the_demo_build(asked) -> None:
    written = BUILD.read_text("utf-8")
    start, end = written.index("[output_transformer.T2]"), written.index("[load]\nLOAD")
    for seed in range(6):
        code, out, _ = asked(output_transformer(seed), "--json")
        told = part(out)
        assert (code, told["next"]) == (0, None)
        build = load_text_checked(written[:start] + told["section"] + "\n" + written[end:], "pasted").build
        found = build.output_transformer["T2"]
        assert found.impedance == pytest.approx(8000, rel=0.1) and found.load == 8.0
        assert found.resistance == pytest.approx((140, 155), rel=0.05)
        assert (found.anodes, found.ht, found.secondary) == (("v2_a", "v3_a"), "ht", ("spk", "spk_cold"))


def test_the_section_marks_what_is_estimated_and_what_was_not_measured(asked) -> None:
    section = part(asked(plain(1, stage=3), "--json")[1])["section"]
    assert "# NOT MEASURED: insulation, volts and current at mains, warmth after 30 minutes." in section
    assert "amps ESTIMATED" in section and "6000 counts" in section and "2026-11-28" in section


def test_the_slip_has_label_date_and_meter(asked) -> None:
    code, out, _ = asked(plain(2, stage=4))
    slip = out[out.index("SLIP TO GLUE INSIDE") :]
    assert code == 0 and "T1: none" in slip and "2026-11-28" in slip and "made-up meter" in slip and "ESTIMATED" in slip


def test_a_slip_of_the_pen_is_told_with_its_line_and_takes_the_section_back(asked) -> None:
    text = plain(3, stage=4)
    wrong = re.sub(r"(2-9 = \")(\d)(\d\d)\.\d( V)", r"\g<1>\g<2>\g<3>0\g<4>", text, count=1)
    line = next(n for n, (a, b) in enumerate(zip(text.split("\n"), wrong.split("\n"), strict=True), 1) if a != b)
    code, out, _ = asked(wrong)
    assert code == 1
    assert f"notes.toml:{line}: " in out and "ten times" in out
    assert "FOR THE BUILD FILE" not in out and "NEXT: clear up what does not fit" in out


def test_cautions_come_before_what_is_done_and_only_those_of_the_next_step(asked) -> None:
    out = asked(plain(1, stage=1))[1]
    assert out.index("! Only from an isolated low supply") < out.index("1. An isolated low supply")
    assert "MAINS KILLS" not in out


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        ('1-2 = "9,7 ohm"', "has a decimal comma"),
        ("1-2 = 9.7", 'write "9.7 ohm"'),
        ('1-2 = "9.7 V"', "is in volts"),
        ('1-9 = "9.7 ohm"', "names lead 9, which is not in `leads`"),
        ('1-1 = "9.7 ohm"', "is no pair of leads"),
        ('12 = "9.7 ohm"', "is no pair of leads"),
    ],
)
def test_wrong_notes_are_refused_with_line_and_what_would_be_right(asked, entry: str, told: str) -> None:
    text = HEAD + f'[transformer.T1]\nleads = ["1", "2"]\n[transformer.T1.ohms]\n{entry}\n'
    code, out, err = asked(text)
    line = text.split("\n").index(entry) + 1
    assert (code, out) == (2, "")
    assert f"notes.toml:{line}: " in err and told in err


def test_all_that_is_wrong_is_told_at_once(asked) -> None:
    text = (
        HEAD
        + '[transformer.T1]\nleads = ["1", "1"]\nfoo = 3\nohms = { 1-2 = "x" }\n[resistor]\nR1 = { value = "1k" }\n'
    )
    code, _, err = asked(text)
    assert code == 2
    assert "foo is not known here" in err and "ohms.1-2" in err and "R1.measured is missing" in err
    assert len(err.strip().split("\n")) == 3


def test_new_notes_load_as_they_are_printed(asked, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["identify", "--new"]) == 0
    example = capsys.readouterr().out
    code, out, _ = asked(example)
    assert code == 0 and "which leads belong together" in out
    whole = re.sub(r"^# (?=[a-zA-Z0-9_]+ = |\[)", "", example, flags=re.MULTILINE)
    code, out, err = asked(whole)
    assert (code, err) == (1, "")
    assert all(f"{part}, " in out for part in ("T1", "T2", "turning", "C2", "resistors"))


def test_resistors_are_judged_and_paired(asked) -> None:
    rows = {"R1": "100.4k", "R2": "98.9k", "R3": "100.6k", "R4": "99.2k", "R5": "108.0k", "R6": "104.6k"}
    match = {name: ', match = "anodes"' for name in ("R1", "R2", "R3", "R4")}
    text = (
        HEAD
        + "[resistor]\n"
        + "".join(
            f'{name} = {{ value = "100k", measured = "{read}"{match.get(name, "")} }}\n' for name, read in rows.items()
        )
    )
    code, out, _ = asked(text)
    out = " ".join(out.split())
    assert code == 1
    assert "R1 goes with R3" in out and "R2 goes with R4" in out
    assert "outside its tolerance" in out and "nearer than your meter tells" in out


def test_a_part_that_is_not_there_is_refused_with_those_that_are(asked) -> None:
    code, _, err = asked(plain(1, stage=1), "T9")
    assert code == 2 and "known are T1" in err


def test_a_reference_with_a_dot_and_a_label_with_quotes_are_written_so_that_they_load(asked) -> None:
    text = (
        plain(4, stage=4)
        .replace("[transformer.T1", '[transformer."T.1"')
        .replace('label = "none"', "label = 'say \"x\" \\\\ 3'")
    )
    text = text.replace("[[transformer.T1.volts]]", '[[transformer."T.1".volts]]')
    _, out, _ = asked(text, "--json")
    loaded = tomllib.loads(part(out)["section"])
    assert loaded["transformer"]["T.1"]["label"] == 'say "x" \\\\ 3'
    assert list(loaded["salvaged"]) == ["T.1"]
