"""What the terminal can do, told from the environment alone; imports nothing heavy, so it may be asked first."""

from __future__ import annotations

import os
import select
import sys
from collections.abc import Mapping

# Terminals that have no cursor addressing worth the name, or none at all.
_TOO_PLAIN = ("", "dumb", "unknown")

# Terminals without colour (terminfo: no `colors`), by the beginning of their names.
_MONO = ("vt52", "vt100", "vt102", "vt220", "vt320", "xterm-mono", "screen.mono")

# Terminals whose character set cannot be trusted beyond ASCII; the Linux console has 256 or 512 glyphs.
_NO_UTF8 = ("vt", "ansi", "cons25", "linux", "sun", "wyse", "xterm-mono")


def refusal() -> str | None:
    """Why the app cannot run in this terminal, as one sentence with what to do instead, or None if it can."""
    term = os.environ.get("TERM", "")
    if term in _TOO_PLAIN:
        said = f"TERM is {term!r}" if term else "TERM is not set"
        return f"The app needs a terminal it can draw on, and {said}: {_INSTEAD}"
    for stream, name in ((sys.stdin, "keyboard (stdin)"), (sys.stdout, "screen (stdout)"), (sys.stderr, "stderr")):
        if not _is_terminal(stream):
            return f"The app needs a terminal, and {name} is none here: {_INSTEAD}"
    return None


_INSTEAD = (
    "run it in a terminal window without pipes or redirection, "
    "or use `benchtui check BUILD` or `benchtui expect BUILD`, which print plain text."
)


def _is_terminal(stream: object) -> bool:
    try:
        return bool(stream is not None and stream.isatty())  # type: ignore[attr-defined]
    except (ValueError, OSError):
        return False


def hung_up() -> bool:
    """Whether the terminal is gone, which a process without a controlling terminal is not told by a signal."""
    gone = select.POLLHUP | select.POLLERR | select.POLLNVAL
    try:
        watch = select.poll()
        watch.register(sys.stdin.fileno(), 0)
        return any(event & gone for _, event in watch.poll(0))
    except (ValueError, OSError):
        return True


def takes_utf8(environ: Mapping[str, str]) -> bool:
    """Whether locale and terminal both take signs beyond ASCII."""
    if environ.get("TERM", "").startswith(_NO_UTF8):
        return False
    # Python itself sets LC_CTYPE=C.UTF-8 under a plain C locale, and under one that is not installed (PEP 538),
    # which says nothing of the terminal: the locale that was asked for does.
    ctype = environ.get("LC_CTYPE", "")
    ctype = "" if ctype in ("C.UTF-8", "C.utf8") else ctype
    locale = environ.get("LC_ALL") or ctype or environ.get("LANG", "")
    return locale.lower().replace("-", "").endswith("utf8")


def takes_colour(environ: Mapping[str, str]) -> bool:
    """Whether colour may be used: NO_COLOR is not set, and the terminal is not known to be without."""
    return "NO_COLOR" not in environ and not environ.get("TERM", "").startswith(_MONO)
