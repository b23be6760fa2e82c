"""Whatever a terminal delivers, the app lives and STOP comes through: in the sieve alone, and on a real terminal."""

from __future__ import annotations

import random
from collections.abc import Iterator
from itertools import pairwise

import pytest

from benchtui.tui.hands import FLOOD_KEYS, PAUSE_S
from tests.crash.forks import Forks
from tests.crash.terminal import Terminal
from tests.crash.test_signals import app
from tests.record.counts import count

sieving = pytest.importorskip("benchtui.tui.input", reason="a driver for Unix terminals")

F8 = b"\x1b[19~"

#: What is delivered just before F8, by its name.
NOISE = {
    "nothing": b"",
    "a byte of Latin-1": b"\xe9",
    "a cut UTF-8 sign": b"\xe2\x82",
    "a surrogate": b"\xed\xa0\x80",
    "NUL": b"\0",
    "a cut sequence": b"\x1b[1",
    "an open device string": b"\x1bPq",
    "10 kB of keys": b"9.1\r" * 2_560,
    "100 kB of keys": b"9.1\r" * 25_600,
    "arrows": b"\x1b[A" * 3_000,
    "keys as sequences": b"\x1b[97;1;97u" * 2_000,
    "a key without a character": b"\x1b[99999999;1;9999999999u",
    "an open paste": b"\x1b[200~9.1",
    "an open paste of 200 kB": b"\x1b[200~" + b"9" * 200_000,
    "200 kB pasted": b"\x1b[200~" + b"9.1\r" * 50_000 + b"\x1b[201~",
    "pastes": b"\x1b[200~9\x1b[201~" * 1_000,
    "focus": b"\x1b[I\x1b[O" * 500,
    "mouse": b"\x1b[<0;10;10M\x1b[<0;10;10m\x1b[M !!\x1b[35;10;10M" * 300,
    "a window of nothing": b"\x1b[48;0;0;0;0t",
    "a window too large": b"\x1b[48;99999;99999;0;0t",
    "a long sequence": b"\x1b[" + b"9" * 5_000 + b"m",
    "any bytes": random.Random(48).randbytes(20_000),
}


def sieved(*pieces: bytes, apart_s: float = 0.01) -> list[tuple[str, bytes]]:
    """What the sieve makes of `pieces`, keys that follow each other in one."""
    sieve, at, found = sieving.Sieve(), 100.0, []
    for piece in pieces:
        found += sieve.take(piece, at)
        at += apart_s
    found += sieve.rest(at + sieving._PASTE_LOST_S)
    joined: list[tuple[str, bytes]] = []
    for what, data in found:
        if joined and what == "keys" == joined[-1][0]:
            data = joined.pop()[1] + data
        joined.append((what, data))
    return joined


@pytest.mark.parametrize("form", [b"~", b";2~", b";5~", b";129~", b";1:1~", b"^", b"$", b"@"])
def test_f8_is_stop_with_any_key_held(form: bytes) -> None:
    assert sieved(b"ab\x1b[19" + form + b"c") == [("stop", b""), ("keys", b"c")]


@pytest.mark.parametrize("other", [b"\x1b[20~", b"\x1b[1;9~", b"\x1b[119~", b"19~", b"\x1bO19~"])
def test_another_key_is_not_stop(other: bytes) -> None:
    assert sieved(other) == [("keys", other)]


@pytest.mark.parametrize("noise", NOISE.values(), ids=NOISE)
def test_stop_comes_first_and_nothing_of_before_it_comes_after(noise: bytes) -> None:
    assert sieved(noise + F8 + b"7") == [("stop", b""), ("keys", b"7")]


@pytest.mark.parametrize("noise", [data for data in NOISE.values() if len(data) < 100])
def test_stop_is_found_however_it_is_cut(noise: bytes) -> None:
    for cut in range(len(F8) + 1):
        assert ("stop", b"") in sieved(noise, F8[:cut], F8[cut:])


def test_a_stream_cut_anywhere_says_the_same() -> None:
    stream = b"1\x1b[A\x1bOP\x1b[I2\x1b[M !!\x1b[200~p\xc3\xa9\x1b[201~\x1b[48;9;9;9;9t\x1b[97;1;97u\x1b[[B3"
    whole = sieved(stream)
    assert whole == [("keys", b"1\x1b[A\x1bOP2"), ("paste", b"p\xc3\xa9"), ("keys", b"\x1b[97;1;97u\x1b[[B3")]
    for cut in range(len(stream)):
        assert sieved(stream[:cut], stream[cut:]) == whole


@pytest.mark.parametrize("report", ["focus", "mouse", "a window of nothing", "a window too large", "a long sequence"])
def test_reports_go_no_further(report: str) -> None:
    assert sieved(NOISE[report]) == []


def test_as_many_keys_as_hands_can_strike_pass_and_more_are_dropped_until_a_pause() -> None:
    assert sieved(b"7" * FLOOD_KEYS) == [("keys", b"7" * FLOOD_KEYS)]
    assert sieved(b"7" * (FLOOD_KEYS + 1), b"7", b"7") == [("flood", b"")]
    assert sieved(b"7" * 10_000, b"8", apart_s=1.1 * PAUSE_S) == [("flood", b""), ("keys", b"8")]
    assert sieved(*[b"7"] * 500, apart_s=1.1 * sieving._CUT_S) == [("keys", b"7" * 500)]


def test_a_paste_is_one_piece_kept_to_a_fair_size() -> None:
    assert sieved(b"\x1b[200~9.1\r9.2\x1b[201~\r") == [("paste", b"9.1\r9.2"), ("keys", b"\r")]
    [(what, text)] = sieved(b"\x1b[200~", *[b"9" * 4_000] * 50, b"\x1b[201~")
    assert (what, len(text)) == ("paste", sieving._LONGEST_PASTE)


def test_a_paste_that_lost_its_end_is_over_after_a_while_and_a_late_end_is_no_key() -> None:
    sieve = sieving.Sieve()
    assert sieve.take(b"\x1b[200~9.1", 100.0) == sieve.rest(100.9) == []
    assert sieve.rest(101.1) == [("paste", b"9.1")]
    assert sieve.take(b"\x1b[201~5", 102.0) == [("keys", b"5")]


def test_escape_alone_is_a_key() -> None:
    sieve = sieving.Sieve()
    assert sieve.take(b"\x1b", 100.0) == sieve.rest(100.01) == []
    assert sieve.rest(100.06) == [("keys", b"\x1b")]
    assert not sieve.waiting


def test_any_bytes_in_any_pieces_are_borne_and_stop_is_found_among_them() -> None:
    rng = random.Random(88)
    alphabet = [b"\x1b", b"[", b"1", b"9", b"~", b";", b"M", b"O", b"200~", b"201~", b"\xe9", b"7", b"\r"]
    for _ in range(count(short=300, full=20_000)):
        stream = b"".join(rng.choices(alphabet, k=rng.randint(0, 60)))
        cuts = sorted([0, len(stream), *(rng.randint(0, len(stream)) for _ in range(5))])
        pieces = [stream[begin:end] for begin, end in pairwise(cuts)]
        assert sieved(*pieces, F8)[-1] == ("stop", b""), pieces


def test_a_window_is_laid_out_up_to_a_size(monkeypatch: pytest.MonkeyPatch) -> None:
    driver = object.__new__(sieving.BenchDriver)  # its beginning takes over the signals of the process
    for given, used in ((("65535", "65535"), sieving._LARGEST), (("80", "24"), (80, 24))):
        monkeypatch.setenv("COLUMNS", given[0])
        monkeypatch.setenv("LINES", given[1])
        assert driver._get_terminal_size() == used


# -- on a terminal


@pytest.fixture(scope="module")
def terminal(forks: Forks, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Terminal]:
    """The app with the power-off text on it; every test leaves it so."""
    made = app(forks, tmp_path_factory.mktemp("input"))
    made.send(F8)
    made.wait_for("Hand off. Mains off. Pull the plug.")
    yield made
    made.close()


def test_focus_and_sizes_among_the_keys_are_never_asked_for(terminal: Terminal) -> None:
    asked = terminal.drawn()
    assert b"\x1b[?2004h" in asked, "the beginning is there still"
    assert b"\x1b[?1004h" not in asked and b"\x1b[?2048" not in asked


@pytest.mark.parametrize("noise", NOISE.values(), ids=NOISE)
def test_f8_comes_through_on_a_terminal(noise: bytes, terminal: Terminal) -> None:
    terminal.listen(0.2)
    before = terminal.saved()
    terminal.send(noise + F8)
    terminal.wait_for(f"saved #{before + 1} ", "Hand off. Mains off. Pull the plug.")
    assert terminal.process.poll() is None
    assert "Traceback" not in terminal.text()


def test_hands_type_on_after_all_that(terminal: Terminal) -> None:
    for noise in ("an open paste", "a byte of Latin-1", "10 kB of keys", "focus", "a window too large"):
        terminal.send(NOISE[noise])
    terminal.listen(1.6)
    terminal.send(F8)
    terminal.type("q\u00e9")
    terminal.wait_for("answer \u25b8 q\u00e9")


def test_a_paste_of_fair_size_gets_into_the_field(terminal: Terminal) -> None:
    terminal.send(F8)
    terminal.listen(1.0)
    terminal.send(b"\x1b[200~bar\x1b[201~")
    terminal.wait_for("answer \u25b8 bar")


def test_a_flood_is_told_of_and_leaves_nothing_in_the_field(terminal: Terminal) -> None:
    terminal.send(F8)
    terminal.listen(1.0)
    terminal.type("q")
    terminal.wait_for("answer \u25b8 q")
    terminal.send(b"bare\r" * 2_000)
    terminal.wait_for("keys came faster than hands: all dropped")
    assert "answer \u25b8 q" not in terminal.text() and "bare" not in terminal.text()
