"""What is known of a part that was used before: for the sign-off sheet, and for whoever salvages it again."""

from __future__ import annotations

from pydantic import Field

from benchtui.buildfile.entry import Entry
from benchtui.buildfile.values import Text


class Salvaged(Entry):
    """`benchtui identify` writes it; its reference is that of the part or transformer."""

    found: Text = Field("", description="where it came from")
    label: Text = Field("", description="what its label said")
    measured: tuple[Text, ...] = Field((), max_length=60, description="what was measured, each with the meter's error")
    estimated: tuple[Text, ...] = Field((), max_length=60, description="what was only estimated")
    when: Text = Field("", description="when it was measured")
    meter: Text = Field("", description="with which meter")
