"""Forks apps with made-up forecasts, each on the terminal it is told: the other side of `forks.py`.

Brings one session on as it is asked and forks from it; each fork writes to a copy of the record, so that the session
here may be gone on with. Runs until its input ends.
"""

from __future__ import annotations

import errno
import fcntl
import json
import os
import shutil
import sys
import time
import traceback
from collections.abc import Callable
from pathlib import Path

from benchtui.cli.main import main
from benchtui.procedure.state import Mode
from benchtui.record import Journal
from benchtui.record.pen import Pen
from benchtui.session.ending import ending
from benchtui.session.opening import open_session, record_of
from benchtui.session.session import Session
from benchtui.session.view import View
from benchtui.tui.app import run
from tests.session.made_up import BUILDS, Desk, MadeUp
from tests.walk.clock import START_WALL_S, StillClock

NAME = "pp-6v6"

#: A fault of the program comes so long after it is shown.
FAULT_S = 1.0

#: What a hasty clock passes beside the real time at each tick, four a second; the session takes 10 s for a standstill.
HASTE_S = 8.0

App = Callable[[], int]


class RunningClock(StillClock):
    """A clock moved by hand until `run`, from then on one that goes as well."""

    _since: float | None = None
    _moved_s = 0.0

    @property
    def passed_s(self) -> float:
        return self._moved_s + (time.monotonic() - self._since if self._since is not None else 0.0)

    @passed_s.setter
    def passed_s(self, seconds: float) -> None:
        self._moved_s += seconds - self.passed_s

    def run(self) -> None:
        self._since = time.monotonic()


class Walk:
    """A bring-up that is gone on with from fork to fork, and begun anew once it is finished."""

    def __init__(self) -> None:
        self._desk: Desk | None = None
        self._begun = 0

    def till(self, until: Callable[[View], bool], folder: Path) -> Desk:
        """The bring-up at the next prompt where `until` holds; its record is kept in `folder`."""
        for _ in range(2):
            if self._desk is not None:
                view = self._desk.till(until)
                if until(view):
                    return self._desk
                self._desk.drop()
            self._begun += 1
            place = folder / f"walk-{self._begun}"
            place.mkdir()
            shutil.copy(BUILDS / f"{NAME}.toml", place)
            self._desk = Desk(place / f"{NAME}.toml", place, RunningClock())
        raise AssertionError("no such prompt in a whole bring-up")

    def steps(self, number: int, folder: Path) -> Desk:
        """The bring-up `number` prompts further on."""
        seen: set[int] = set()

        def enough(view: View) -> bool:
            seen.add(view.prompt.number)
            return len(seen) > number

        return self.till(enough, folder)


WALK = Walk()


def own(desk: Desk, folder: Path) -> Session:
    """The session of `desk` in this fork, which writes to a copy of its record in `folder` from now on."""
    session = desk.session
    journal = session._journal
    pen = journal._pen
    assert pen is not None
    record, lock = folder / pen.path.name, folder / f"{pen.path.name}.lock"
    for path in (pen.path, pen.path.with_name(f"{pen.path.name}.head"), desk.path):
        shutil.copy(path, folder)
    taken = os.open(lock, os.O_RDWR | os.O_CREAT, 0o600)
    fcntl.flock(taken, fcntl.LOCK_EX)
    os.pwrite(taken, f"process {os.getpid()} since 0\n".encode(), 0)
    os.dup2(taken, pen._descriptors[1])
    os.dup2(os.open(record, os.O_RDWR | os.O_APPEND), pen._record)
    os.dup2(os.open(f"{record}.head", os.O_RDWR), pen._head)
    pen.path = journal.path = record
    desk.clock.run()
    return session


def app(session: Session, folder: Path) -> int:
    return run(lambda: session, lambda: ending(record_of(folder / f"{NAME}.toml")))


def ticking(session: Session, before: Callable[[], object]) -> None:
    """Let every tick of `session` begin with `before`."""
    tick = session.tick

    def ticked() -> bool:
        before()
        return tick()

    session.tick = ticked  # type: ignore[method-assign]


# -- what can be forked: each gives what is told before the fork, and the program after it


def walk(folder: str, steps: str) -> tuple[str, App]:
    """The app on a bring-up that has gone on by so many prompts; tells what its builder would type."""
    desk = WALK.steps(int(steps), Path(folder).parent)
    desk.compute()
    view = desk.session.view()
    said = "" if view.prompt.entry == "nothing" else desk._answer(view)
    return said, lambda: app(own(desk, Path(folder)), Path(folder))


def reopened(folder: str) -> tuple[str, App]:
    """The app as it is started on the record in `folder`, soon after its last event."""
    path = Path(folder) / f"{NAME}.toml"

    def opened() -> Session:
        clock = RunningClock()
        with Journal.open(record_of(path), write=False) as journal:
            clock.pass_(journal.events[-1].t_wall - START_WALL_S)
        clock.run()
        return open_session(path, clock=clock, forecaster=MadeUp())

    return "", lambda: run(opened, lambda: ending(record_of(path)))


def new(folder: str) -> tuple[str, App]:
    """The app on a build that was never begun."""
    path = Path(folder) / f"{NAME}.toml"
    shutil.copy(BUILDS / path.name, path)
    return "", lambda: run(lambda: open_session(path, forecaster=MadeUp()), lambda: ending(record_of(path)))


def prompt(folder: str, title: str, stage: str, haste: str = "") -> tuple[str, App]:
    """The app at the prompt of that title in that stage; with `hasty` its waits are short."""
    desk = WALK.till(lambda view: (view.prompt.title, view.stage) == (title, stage), Path(folder).parent)

    def program() -> int:
        session = own(desk, Path(folder))
        if haste:
            ticking(session, lambda: desk.clock.pass_(HASTE_S))
        return app(session, Path(folder))

    return "", program


def state(folder: str, mode: str, fault: str = "") -> tuple[str, App]:
    """The app in a state: halted as by a full disk, locked out by a program with power on; soon after, a fault."""
    wanted = Mode.POWERED if mode in (Mode.HALT, Mode.READONLY) else Mode(mode)
    desk = WALK.till(lambda view: desk_mode() is wanted, Path(folder).parent)

    def program() -> int:
        session = own(desk, Path(folder))
        if mode == Mode.HALT:
            Pen.write = full  # type: ignore[method-assign]
            session.stop()
        if mode == Mode.READONLY:
            beside_another(session)
            session = open_session(Path(folder) / f"{NAME}.toml", clock=desk.clock, forecaster=desk.forecaster)
        assert session._ledger.state.mode == mode
        if fault:
            due = time.monotonic() + FAULT_S
            ticking(session, lambda: slip(due))
        return app(session, Path(folder))

    return "", program


def desk_mode() -> Mode:
    """The mode that the bring-up is in."""
    assert WALK._desk is not None
    return WALK._desk.session._ledger.state.mode


def full(self: Pen, line: bytes, head: object) -> None:
    raise OSError(errno.ENOSPC, "full")


def slip(due: float) -> None:
    if time.monotonic() > due:
        raise RuntimeError("a slip \x1b[31m[/] of ours")


def beside_another(session: Session) -> None:
    """From here on this process is another than the one that holds the record; that lives as long as this one."""
    alive, ours = os.pipe()
    if os.fork() == 0:
        pen = session._journal._pen
        assert pen is not None
        os.close(ours)
        os.pwrite(pen._descriptors[1], f"process {os.getpid()} since 0\n".encode(), 0)
        os.read(alive, 1)  # ends with the other end
        os._exit(0)
    os.set_inheritable(ours, False)
    session._journal.close()


def command(*arguments: str) -> tuple[str, App]:
    """The program with these arguments."""
    return "", lambda: main(arguments)


PROGRAMS = {made.__name__: made for made in (walk, reopened, new, prompt, state, command)}


# -- the process that forks


def fork(words: list[str], tty: str) -> tuple[str, int]:
    told, program = PROGRAMS[words[0]](*words[1:])
    pid = os.fork()
    if pid:
        return told, pid
    code = 70
    try:
        os.setsid()
        terminal = os.open(tty, os.O_RDWR | os.O_NOCTTY)
        for standard in (0, 1, 2):
            os.dup2(terminal, standard)
        code = program()
    except BaseException:  # the edge of this process: nothing may go on behind a fork
        traceback.print_exc()
    finally:
        sys.stderr.flush()
        os._exit(code)


def ended(pid: int) -> int | None:
    found, status = os.waitpid(pid, os.WNOHANG)
    return os.waitstatus_to_exitcode(status) if found else None


def serve() -> None:
    for line in sys.stdin:
        asked = json.loads(line)
        if "poll" in asked:
            answer: dict[str, object] = {"code": ended(asked["poll"])}
        else:
            told, pid = fork(asked["run"], asked["tty"])
            answer = {"told": told, "pid": pid}
        sys.stdout.write(json.dumps(answer) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    serve()
