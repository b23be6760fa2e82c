"""The whole program with made-up forecasts, so that it starts at once: `app_child.py ARGUMENTS...`."""

from __future__ import annotations

import sys

from benchtui.cli.main import main
from benchtui.session import opening
from tests.session.made_up import MadeUp

if __name__ == "__main__":
    opening.Apart = MadeUp  # type: ignore[assignment,misc]
    sys.exit(main(sys.argv[1:]))
