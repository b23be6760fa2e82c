"""The screens without colour, and in ASCII alone."""

from __future__ import annotations

import pytest
from rich.color import Color as Ink
from rich.style import Style
from textual.color import Color

from benchtui.tui.app import BenchApp
from benchtui.tui.look import ASCII_SIGNS, Inks, Signs
from benchtui.tui.terminal import takes_colour, takes_utf8
from tests.screens.fake import FakeSession
from tests.screens.keys import opened
from tests.screens.scenes import ALL

PAGES = ["", "f1", "f2", "f3", "f4", "f5", "f6", "f7", "f9", "ctrl+q"]


def styles(app: BenchApp) -> list[tuple[str, Style]]:
    """Text and style of every run of cells as sent to the terminal, filters applied."""
    found = []
    for strip in app.screen._compositor.render_strips():
        segments = list(strip)
        for line_filter in app.get_line_filters():
            segments = line_filter.apply(segments, Color.parse("#11161a"))
        found += [(segment.text, segment.style or Style()) for segment in segments]
    return found


def _luminance(ink: Ink) -> float:
    def linear(part: int) -> float:
        share = part / 255
        return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4

    red, green, blue = ink.get_truecolor()
    return 0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue)


def contrast(style: Style) -> float:
    """Contrast of ink and paper, WCAG 2.1 section 1.4.3."""
    assert style.color is not None and style.bgcolor is not None
    light, dark = sorted((_luminance(style.color), _luminance(style.bgcolor)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("scene", ALL)
async def test_every_word_has_a_contrast_of_at_least_four_and_a_half(scene: str) -> None:
    signs = set(Signs.ring + Signs.bar + Signs.beyond + " ")  # lines of pictures, no words
    async with opened(FakeSession(ALL[scene]), (120, 40)) as hands:
        assert hands.app is not None
        for text, style in styles(hands.app):
            if set(text) - signs:
                assert contrast(style) >= 4.5, (text, style)


@pytest.mark.parametrize("environ", [{"NO_COLOR": "1"}, {"NO_COLOR": ""}, {"TERM": "vt220"}])
@pytest.mark.parametrize("page", PAGES)
async def test_without_colour_no_colour_is_sent_and_no_ink_is_its_paper(
    environ: dict[str, str], page: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, value in environ.items():
        monkeypatch.setenv(name, value)
    async with opened(FakeSession(ALL["read"])) as hands:
        if page:
            await hands.key(page)
        assert hands.app is not None
        for text, style in styles(hands.app):
            for ink in (style.color, style.bgcolor):
                assert ink is None or ink.is_default, (text, style)


@pytest.mark.parametrize(
    ("scene", "word"), [("read", "PASS"), ("warn", "WARN"), ("driver", "PASS"), ("unproved", "NOT MEASURED")]
)
@pytest.mark.parametrize("size", [(80, 24), (120, 40), (60, 20)])
async def test_the_verdict_is_a_word_without_colour(
    scene: str, word: str, size: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with opened(FakeSession(ALL[scene]), size) as hands:
        assert word in hands.text()


@pytest.mark.parametrize("scene", ["read", "gate", "settle", "warn", "unproved", "driver", "wire", "hole"])
@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_in_a_plain_locale_every_cell_is_ascii(
    scene: str, size: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LANG", "C")
    async with opened(FakeSession(ALL[scene]), size) as hands:
        for page in PAGES if scene == "read" else ("",):  # the other pages are the same at each of them
            before = hands.text()
            if page:
                await hands.key(page)
            text = hands.text()
            assert text.isascii(), [c for c in text if not c.isascii()]
            assert page in ("", "ctrl+q") or text != before, page
            if page:
                await hands.key("escape")


def test_every_sign_has_an_ascii_stand_in() -> None:
    assert all(len(sign) == 1 and sign.isascii() for sign in vars(ASCII_SIGNS).values())
    assert vars(ASCII_SIGNS).keys() == vars(Signs()).keys()


def test_verdict_inks_differ() -> None:
    inks = Inks()
    assert len({inks.pass_pill, inks.unproved_pill, inks.warn_pill, inks.stop_pill}) == 4


def _green(style: Style) -> bool:
    """Is ink or paper greener than it is red and blue, by a fifth?"""
    inks = [ink.get_truecolor() for ink in (style.color, style.bgcolor) if ink is not None]
    return any(green > 1.2 * max(red, blue) and green > 60 for red, green, blue in inks)


async def test_what_was_not_measured_is_told_by_word_and_sign_and_is_nowhere_green() -> None:
    async with opened(FakeSession(ALL["unproved"])) as hands:
        assert hands.app is not None
        assert f"NOT MEASURED {Signs.unproved}" in hands.text() and "PASS" not in hands.text()
        found = styles(hands.app)
        told = [style for text, style in found if {Signs.unproved, Signs.window} & set(text)]
        assert len(told) >= 3 and not any(_green(style) for style in told)
        await hands.key("f4")
        assert "no insulation tester: Live to chassis" in hands.text() and "not all measured" in hands.text()
        told = [style for text, style in styles(hands.app) if Signs.unproved in text]
        assert told and not any(_green(style) for style in told)
    async with opened(FakeSession(ALL["driver"])) as hands:
        assert hands.app is not None and any(_green(style) for text, style in styles(hands.app) if "PASS" in text)


@pytest.mark.parametrize(
    ("environ", "expected"),
    [
        ({"LANG": "en_GB.UTF-8", "TERM": "xterm"}, True),
        ({"LANG": "de_DE.utf8", "TERM": "screen"}, True),
        ({"LANG": "C", "TERM": "xterm"}, False),
        ({"TERM": "xterm"}, False),
        ({"LANG": "C", "LC_CTYPE": "C.UTF-8", "TERM": "xterm"}, False),  # set by Python itself, PEP 538
        ({"LANG": "C", "LC_CTYPE": "en_GB.UTF-8", "TERM": "xterm"}, True),
        ({"LANG": "en_GB.UTF-8", "LC_ALL": "C", "TERM": "xterm"}, False),
        ({"LANG": "en_GB.ISO-8859-1", "TERM": "xterm"}, False),
        ({"LANG": "en_GB.UTF-8", "TERM": "linux"}, False),
        ({"LANG": "en_GB.UTF-8", "TERM": "vt100"}, False),
    ],
)
def test_signs_beyond_ascii_need_locale_and_terminal(environ: dict[str, str], expected: bool) -> None:
    assert takes_utf8(environ) is expected


def test_colour_is_for_terminals_that_have_it() -> None:
    assert takes_colour({"TERM": "xterm"}) and takes_colour({"TERM": "linux"})
    assert not takes_colour({"TERM": "vt100"})
    assert not takes_colour({"TERM": "xterm", "NO_COLOR": ""})
