"""What comes to mind at a prompt besides the right answer: other words, other numbers, odd ones, and plain nonsense."""

from __future__ import annotations

from random import Random

from benchtui.session.view import Prompt

#: Words that mean something somewhere.
WORDS = (
    "in", "out", "off", "on", "clear", "cover on", "one hand", "plug out", "switched off", "bled", "bare", "fitted",
    "never", "met", "no lead", "lead on", "touched", "moved", "meter changed", "clip off", "clip on", "back to power",
    "slip", "in place", "not in place", "complete", "finished", "full", "dark", "dim", "bright", "keep", "again",
    "60 W lamp", "without: none here", "without:", "go on: known", "go on:", "yes", "ok", "safe", "dead", "new record",
    "stopped", "skip", "on 1-3", "loose 1", "loose heaters 2", "none", "not found yet", "C1, C2", "listed", "all",
)  # fmt: skip

#: Words that may be typed at any prompt of some mode.
ANYTIME = ("touched", "moved", "meter changed", "clip off", "clip on", "lead on", "off", "back to power", "slip")

#: Words that are useful at the gate: what a hasty hand would have ready.
READY = ("out", "9.21", "12.6", "0.02", "0.1", "in", "off", "clear", "cover on", "2200", "complete", "full")

ODD = (
    "38,5", "1,234", "1.234,5", "1e3", "12k", "-0", "-38", "\u221238", "\u0663\u0668", "\uff13\uff18", "1_000", "nan",
    "inf", "1e400", "0x10", "OL", "0L", "open", "38.5 mA", "250 mV", "0.25 kV", "38.5.1", "--5", "5-", "~38", "<1",
    "38?", "9" * 17, "0.3 V", "0.3 V DC", "0.3 V AC", " 0.3", "+0.3", ".3", "3.", "4k7", "2k2", "[/]", "[R12]",
    "\u202e0.3", "{0}", "%s", "=1+1", "0 .3", "1 000", "0.3\u200b", "1/0", "\u00bd", "1\u00b2",
)  # fmt: skip

_SIGNS = "0123456789.,-+ abcdefghijklmnopqrstuvwxyzABCXYZ:/[]{}<>~_#@!%&()\u03a9\u00b5\u00e4\u4e2d"


def other(rng: Random, prompt: Prompt, right: str) -> str:
    """Something else that could be meant at `prompt`, where `right` is the right answer."""
    if prompt.entry == "number" and rng.random() < 0.8:
        try:
            value = float(right)
        except ValueError:
            value = rng.choice((0.0, 5.0, 230.0))
        return rng.choice((
            f"{value * 10:.4g}", f"{value / 10:.3g}", f"{value * rng.uniform(0.8, 1.25):.4g}", f"{-value:.4g}",
            "0", "0.3", "9.9", "10", "11.2", "280", "412", f"{rng.uniform(0, 500):.1f}", "OL", f"{value:.1f} V",
        ))  # fmt: skip
    return rng.choice(rng.choice((prompt.words or WORDS, WORDS, ANYTIME)))


def nonsense(rng: Random) -> str:
    """Text without a meaning."""
    return "".join(rng.choice(_SIGNS) for _ in range(rng.choice((1, 2, 3, 5, 9, 30))))


def pasted(rng: Random, right: str, most: int) -> str:
    """What a clipboard may hold: the right answer, with line ends, or something of up to `most` characters."""
    line_end = rng.choice(("\n", "\r", "\r\n"))
    return rng.choice((
        right, right, right + line_end, line_end.join((right, *READY)) + line_end, f"{line_end}{right}",
        rng.choice("0123456789x"), nonsense(rng), rng.choice(ODD), (right + line_end) * rng.randrange(1, 400),
        "9" * rng.randrange(1, most), "".join(rng.choice(_SIGNS) for _ in range(500)) * (most // 500),
    ))  # fmt: skip
