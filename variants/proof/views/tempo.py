"""The tempo at a moment."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

from variants.music import NoteValue
from variants.proof.page import Direction, Page
from variants.proof.scan_note import decimal
from variants.proof.views.grips import Grip

# Supposed where a score gives none, as in variants.score.
DEFAULT_QUARTERS_PER_MINUTE = 120.0


@dataclass(frozen=True, slots=True)
class Tempi:
    """The tempi of a page by measure and tick, from whichever part gives them."""

    moments: tuple[tuple[int, int], ...]
    rates: tuple[float, ...]

    def at(self, grip: Grip) -> float:
        """Return quarters a minute at a grip."""
        place = bisect_right(self.moments, (grip.bar.index, grip.onset))
        return self.rates[place - 1] if place else DEFAULT_QUARTERS_PER_MINUTE


def tempi(page: Page) -> Tempi:
    """Return the tempi of a page."""
    known = page.views.get("tempi")
    if known is None:
        found = sorted(
            {
                (bar.index, direction.onset): rate
                for bar in page.bars()
                for direction in bar.directions
                if (rate := _rate(direction))
            }.items()
        )
        known = page.views["tempi"] = Tempi(
            tuple(moment for moment, _ in found), tuple(rate for _, rate in found)
        )
    return known  # type: ignore[return-value]


def _rate(direction: Direction) -> float:
    element = direction.element
    sound = element if element.tag == "sound" else element.find("sound")
    stated = decimal(sound.get("tempo")) if sound is not None else None
    if stated and stated > 0:
        return float(stated)
    metronome = element.find("direction-type/metronome")
    if metronome is None:
        return 0.0
    unit = NoteValue(
        (metronome.findtext("beat-unit") or "").strip(), len(metronome.findall("beat-unit-dot"))
    ).quarters
    rate = decimal(metronome.findtext("per-minute"))
    return float(rate * unit) if rate and rate > 0 and unit else 0.0
