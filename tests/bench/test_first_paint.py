"""From the start of the process to the first words in the terminal: benchtui beside a Textual app that has one word."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import statistics
import struct
import sys
import termios
import time
from pathlib import Path

ROUNDS = 9

EMPTY = """
from textual.app import App
from textual.widgets import Static
class Empty(App):
    def compose(self):
        yield Static("lethal")
Empty().run()
"""


def seconds_to(word: bytes, command: list[str]) -> float:
    """Seconds from starting `command` in a terminal of 80x24 until it has drawn `word`."""
    begin = time.perf_counter()
    pid, terminal = pty.fork()
    if pid == 0:
        os.environ.update(TERM="xterm-256color", LANG="C.UTF-8")
        os.execv(command[0], command)
    fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    seen = b""
    while word not in seen and time.perf_counter() - begin < 60.0:
        if select.select([terminal], [], [], 0.2)[0]:
            seen += os.read(terminal, 65536)
    taken = time.perf_counter() - begin
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    os.close(terminal)
    assert word in seen, f"{word!r} was never drawn: {seen[-500:]!r}"
    return taken


def test_first_paint_beside_an_empty_app(tmp_path: Path) -> None:
    empty = tmp_path / "empty.py"
    empty.write_text(EMPTY, "utf-8")
    build = str(Path(__file__).parents[2] / "builds" / "pp-6v6.toml")
    ours = [sys.executable, "-m", "benchtui.cli.main", "--records", str(tmp_path), build]
    times: dict[str, list[float]] = {"empty": [], "benchtui": []}
    for _ in range(ROUNDS):
        times["empty"].append(seconds_to(b"lethal", [sys.executable, str(empty)]))
        times["benchtui"].append(seconds_to(b"lethal", ours))
    medians = {name: statistics.median(each) for name, each in times.items()}
    ratio = statistics.median(b / a for a, b in zip(*times.values(), strict=True))
    print(f"\nfirst words: empty app {medians['empty']:.2f} s, benchtui {medians['benchtui']:.2f} s, ratio {ratio:.2f}")
