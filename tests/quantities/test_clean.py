"""Foreign text: nothing hidden gets out, and what is typed stays as typed."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchtui.quantities.clean import clean, is_hidden


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("a\x1b[31mb", "a<U+001B>[31mb"),
        ("a\nb\tc\rd\x00", "a<U+000A>b<U+0009>c<U+000D>d<U+0000>"),
        ("\x85\x9b", "<U+0085><U+009B>"),
        ("\u202egnp.exe", "<U+202E>gnp.exe"),
        ("\u2066a\u2069", "<U+2066>a<U+2069>"),
        ("a\u200bb\u200dc\ufeff", "a<U+200B>b<U+200D>c<U+FEFF>"),
        ("\U000e0041", "<U+E0041>"),
        ("a\u2028b\u2029", "a<U+2028>b<U+2029>"),
        ("\udc80", "<U+DC80>"),
        ("\u3164\u2800\ufe0f", "<U+3164><U+2800><U+FE0F>"),
        ("soft\xadhyphen", "soft<U+00AD>hyphen"),
        ("\x7f", "<U+007F>"),
    ],
)
def test_a_character_that_does_not_show_is_named(text: str, shown: str) -> None:
    assert clean(text) == shown


@pytest.mark.parametrize(
    "text", ["[/]", "[/nope]", "[@click=app.quit]x[/]", "{0.__class__}", "%s", "=1+1", "4.7 kΩ", "Röhre", "50 µF"]
)
def test_what_shows_stays_as_typed(text: str) -> None:
    assert clean(text) == text


def test_a_long_text_is_cut_with_a_mark() -> None:
    assert clean("x" * 81, 80) == "x" * 79 + "…"
    assert clean("x" * 80, 80) == "x" * 80


@given(st.text(alphabet=st.characters(), max_size=60))
def test_nothing_hidden_gets_out_and_cleaning_twice_changes_nothing(text: str) -> None:
    once = clean(text)
    assert not any(is_hidden(character) for character in once)
    assert all(unicodedata.category(character) != "Cc" for character in once)
    assert clean(once) == once
