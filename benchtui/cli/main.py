"""The command line: finds the command, runs it, prints its answer. Imports nothing heavy before that."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from benchtui.cli.answer import Answer, Exit, Refusal
from benchtui.cli.parsing import chosen
from benchtui.cli.printing import deliver
from benchtui.session.errors import fault


def main(arguments: Sequence[str] | None = None) -> int:
    """Run `benchtui` with `arguments` (by default those of the process) and return the exit code."""
    return deliver(_answer(sys.argv[1:] if arguments is None else arguments))


def _answer(arguments: Sequence[str]) -> Answer:
    try:
        run, options = chosen(arguments)
        return run(options)
    except Refusal as refusal:
        return Answer(refusal.code, words=refusal.words)
    except KeyboardInterrupt:
        return Answer(Exit.INTERRUPTED, words="benchtui: interrupted")
    except ModuleNotFoundError as error:
        return Answer(Exit.PLACE_WRONG, words=_missing(error))
    except Exception as error:
        return Answer(Exit.PLACE_WRONG, words=fault(error))


def _missing(error: ModuleNotFoundError) -> str:
    """One sentence for a package that the installation lacks; a missing module of ours is a fault."""
    if (error.name or "benchtui").partition(".")[0] == "benchtui":
        return fault(error)
    return f"benchtui: the package {error.name} is not installed, install benchtui again with pip"


if __name__ == "__main__":
    sys.exit(main())
