"""What a capture can be refused for."""

from __future__ import annotations


class SoundError(Exception):
    """A capture, calibration file or setting that no figure can be taken from; its text is one sentence."""


class CardError(Exception):
    """The sound card, or the library for it, does not do what is asked; its text is one sentence."""
