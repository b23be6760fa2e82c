"""What a record says of the power at its end, for where it cannot be gone on with."""

from __future__ import annotations

from pathlib import Path

from benchtui.assemble.checked import load_text_checked
from benchtui.procedure.state import Mode
from benchtui.record import Damaged, Journal, held_elsewhere
from benchtui.session.filed import filed_text
from benchtui.session.overview import folded
from benchtui.session.planning import plan
from benchtui.session.rehearsed import is_rehearsal
from benchtui.session.shutting import with_touchable
from benchtui.session.tables import table

#: What may follow the last sound event of a damaged record is lost, so these prove nothing there.
_CALM = (Mode.BARE, Mode.CLOSING, Mode.DONE)


def ending(path: Path) -> str:
    """The sentence about the power with which the record at `path` ends, read without taking part in it.

    While another program writes it, the sentence speaks of that one.

    "" where there is no record, or where it ends with a bare chassis or a finished build. A record that cannot be
    read or understood may end with power on, and is told so; nothing is raised.
    """
    if not path.is_file():
        return ""
    try:
        with Journal.open(path, write=False) as journal:
            if is_rehearsal(journal):
                return str(table("rehearsal")["of_record"])
            mode = _mode(journal)
    except Exception:  # the last line of a program that ends: there is nobody left to raise to
        mode = Mode.HALT
    return str(table("endings")["held" if held_elsewhere(path) else "ended"][mode.value])


def _mode(journal: Journal) -> Mode:
    """The state that the record ends in; HALT where that is not known."""
    of = plan(with_touchable(load_text_checked(filed_text(journal), journal.path.name).build), {})
    mode = folded(of, journal)[0].mode
    return Mode.HALT if isinstance(journal.trouble, Damaged) and mode in _CALM else mode
