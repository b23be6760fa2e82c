"""From the typed words to a command and its options."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from importlib import import_module
from types import ModuleType
from typing import NoReturn

from benchtui.cli.answer import Answer, Exit, Refusal
from benchtui.cli.commands import unbuilt
from benchtui.cli.program import program
from benchtui.quantities.clean import clean

Run = Callable[[argparse.Namespace], Answer]

COMMANDS = (
    "check", "diagnose", "drill", "expect", "form", "identify", "plot", "records", "rehearse", "report", "sound",
    "wires",
)  # fmt: skip


class Parser(argparse.ArgumentParser):
    """A parser that answers instead of printing and exiting."""

    def error(self, message: str) -> NoReturn:
        words = f"{self.prog}: {clean(message)} ({self.prog} --help says what it takes)"
        raise Refusal(Exit.INPUT_WRONG, words)


class _Told(Exception):
    """Text that was asked for by --help or --version."""


class _Tell(argparse.Action):
    """An option that ends the command with a text."""

    def __init__(self, text: Callable[[argparse.ArgumentParser], str], **settings: object) -> None:
        super().__init__(nargs=0, default=argparse.SUPPRESS, **settings)  # type: ignore[arg-type]
        self._text = text

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        raise _Told(self._text(parser))


def chosen(arguments: Sequence[str]) -> tuple[Run, argparse.Namespace]:
    """The command that `arguments` ask for, as a function, and its options.

    The first word names a command or else is the build file that the app opens. Raises Refusal.
    """
    first = arguments[0] if arguments else "--help"
    if first in unbuilt.PURPOSES:
        return unbuilt.run, argparse.Namespace(command=first)
    module = _command(first if first in COMMANDS else "bench")
    parser = _parser(f"benchtui {first}" if first in COMMANDS else "benchtui", module)
    try:
        return module.run, parser.parse_args((arguments or [first])[1 if first in COMMANDS else 0 :])
    except _Told as told:
        text = str(told)
        return lambda _: Answer(out=text), argparse.Namespace()


def _command(name: str) -> ModuleType:
    """The module of one command: only the one that runs is loaded, since the first paint waits for it."""
    return import_module(f"benchtui.cli.commands.{name}")


def _parser(prog: str, module: ModuleType) -> Parser:
    parser = Parser(
        prog=prog,
        description=module.__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        add_help=False,
        allow_abbrev=False,
    )
    module.add_arguments(parser)
    parser.add_argument("--help", "-h", action=_Tell, text=_help, help="show this and leave")
    parser.add_argument("--version", action=_Tell, text=lambda _: program(), help="show the version and leave")
    if module.__name__.endswith(".bench"):
        parser.epilog = _other_commands()
    return parser


def _help(parser: argparse.ArgumentParser) -> str:
    return parser.format_help().rstrip()


def _other_commands() -> str:
    built = {name: (module.__doc__ or "").partition("\n")[0] for name in COMMANDS for module in [_command(name)]}
    planned = {name: f"{purpose.capitalize()} (not built yet)" for name, purpose in unbuilt.PURPOSES.items()}
    lines = [f"  {name:<10}{text}" for name, text in {**built, **planned}.items()]
    return "\n".join(["other commands (benchtui COMMAND --help):", *lines])
