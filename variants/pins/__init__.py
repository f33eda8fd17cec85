"""Pins: what somebody has settled of a fingering, kept in a small file and found again."""

from __future__ import annotations

from variants.pins.edits import taken_over
from variants.pins.files import pins_toml, read_pins
from variants.pins.finding import found_again
from variants.pins.model import Pin, PinFile

__all__ = ["Pin", "PinFile", "found_again", "pins_toml", "read_pins", "taken_over"]
