"""What first power goes through, and what that and the readings behind it should show."""

from __future__ import annotations

from math import isfinite

from benchtui.session import figures
from benchtui.session.bench import Bench, lamp_name
from benchtui.session.tables import table


def limiters(bench: Bench) -> tuple[str, ...]:
    """The limiters on the bench, by the words that name them: lamps that a sound stage leaves dim come first, and one
    that it makes bright tells no short, so it is left out while there is another."""
    owned = [lamp_name(watts) for watts in bench.build.bench.lamps]
    told = [name for name in owned if bench.looks(name) != "bright"]
    owned = sorted(told or owned, key=lambda name: bench.looks(name) != "dim")
    return (*owned, *(["variable transformer"] if bench.build.bench.variable_transformer else []))


def limiter_words(bench: Bench) -> tuple[tuple[str, ...], str]:
    """What a limiter may show (the last word is a short), and what to look at."""
    if "lamp" in bench.state.limiter:
        line = "Watch the lamp for ten seconds. Type what it is then: dark, dim or bright."
        return ("dark", "dim", "bright"), line
    line = "Bring the volts up slowly. Type 'quiet', or 'loud' for hum, smell, smoke or a fuse that goes."
    return ("quiet", "loud"), line


def limiter_due(bench: Bench) -> str:
    """How a sound stage leaves the lamp, and what it means if it is dark all the same."""
    look, words = bench.looks(bench.state.limiter), table("words")["limiter_due"]
    if bench.state.asked == "limiter":
        return words["asked"]
    return words[look] if look else ""


def least(bench: Bench) -> str:
    """The least to be seen under the limiter at the point asked for; and again, once it was not."""
    words, by = table("words")["least"], bench.expectation()
    if bench.ask.kind != "limited point" or by is None:
        return ""
    bound = next((v for v in (by.low, by.high) if isfinite(v)), None)
    if bound is None:
        return words["unknown"]
    said = words["asked" if bench.state.asked == bench.ask.subject else "known"]
    return said.format(least=figures.shown(bound, by.unit), way=" negative" if bound < 0.0 else "")


def best(bench: Bench) -> str:
    """Which lamp is the one to take, and why."""
    lamp = next(iter(limiters(bench)), "")
    words = table("words")["best"].get(bench.looks(lamp))
    return words.format(lamp=lamp) if words else ""
