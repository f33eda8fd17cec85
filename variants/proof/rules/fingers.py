"""Fingers of the fretting hand, what it can span, and where it can get to in time."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations

from variants.cautions import STRETCH
from variants.guitar.hand import Hand
from variants.guitar.neck import SCALE_LENGTHS_MM, span_mm
from variants.music import NoteValue
from variants.proof.finding import Severity, at_head
from variants.proof.page import PageDirection, ScannedPage, pages, view
from variants.proof.registry import Flaws, rule
from variants.proof.scan_note import decimal
from variants.proof.views.doubling import partners
from variants.proof.views.grips import FINGERS, PageGrip, Stop, grips, stops
from variants.proof.views.strings import instrument_of

# From memory, unvalidated: a hand that goes the length of the neck in a fifth of a second moves
# about as fast as one can with aim. Slower changes may be hard; they are not impossible.
FASTEST_MM_S = 2000.0
# A hand in one place reaches frets this far apart without moving.
REACH_FRETS = 5
# Supposed where a score gives none, as in variants.score.
DEFAULT_QUARTERS_PER_MINUTE = 120.0


@rule("open-fingered", Severity.ERROR, stops)
def open_fingered(stop: Stop) -> Flaws:
    """An open string has a finger."""
    if stop.fret == 0 and stop.finger in FINGERS and not stop.head.is_harmonic:
        yield at_head(
            stop.head, f"string {stop.string} is open and has finger {stop.finger}",
            expected="finger 0 or none",
        )  # fmt: skip


@rule("stopped-open-finger", Severity.ERROR, pages)
def stopped_open_finger(page: ScannedPage) -> Flaws:
    """A stopped note is marked 0, which means open."""
    for stop in stops(page):
        if stop.fret > 0 and stop.finger == "0" and not stop.head.is_harmonic:
            yield at_head(
                stop.head, f"fret {stop.fret} on string {stop.string} is marked 0",
                expected="finger 1 to 4",
            )  # fmt: skip
    other = partners(page)
    for part in page.parts:
        for head in part.heads if part.is_guitar or part.strings else ():
            if head.finger != "0" or head.is_placed or head.is_harmonic or head in other:
                continue
            instrument = instrument_of(head)
            sounding = head.sounding
            if instrument is None or sounding is None:
                continue
            # The octave may be left open by the file, so pitch classes are compared.
            if sounding % 12 not in {midi % 12 for midi in instrument.open_midi}:
                yield at_head(
                    head, f"{head.pitch} is marked 0, and no open string sounds it",
                    expected="finger 1 to 4", severity=Severity.WARNING,
                )  # fmt: skip


def _fingered_pairs(grip: PageGrip) -> combinations[tuple[Stop, Stop]]:
    return combinations([one for one in grip.stops if one.finger in FINGERS and one.fret > 0], 2)


@rule("finger-two-frets", Severity.ERROR, grips)
def finger_two_frets(grip: PageGrip) -> Flaws:
    """One finger stands on two frets at once."""
    for one, other in _fingered_pairs(grip):
        if one.finger == other.finger and one.fret != other.fret:
            yield at_head(
                other.head,
                f"finger {one.finger} is on fret {one.fret} and on fret {other.fret} at once",
                expected="one fret a finger",
            )
            break


@rule("finger-crossing", Severity.WARNING, grips)
def finger_crossing(grip: PageGrip) -> Flaws:
    """A higher finger stands on a lower fret.

    Of 3,283 published chord shapes 9 do (trade.md, 2), so it is no error.
    """
    for pair in _fingered_pairs(grip):
        low, high = sorted(pair, key=lambda stop: stop.finger)
        if low.finger != high.finger and low.fret > high.fret:
            yield at_head(
                high.head,
                f"finger {high.finger} is on fret {high.fret} and finger {low.finger} above "
                f"it on fret {low.fret}",
                expected="fingers in the order of the frets",
            )
            break


@rule("hand-span", Severity.WARNING, pages)
def hand_span(page: ScannedPage) -> Flaws:
    """Frets held at once are too far apart for a hand.

    For the hand of `ScannedPage.hand`, between fingers 1 and 4.
    """
    limit = Hand.of(page.hand).limit_mm(1, 4)
    full = SCALE_LENGTHS_MM["full"]
    for grip in grips(page):
        if len(grip.stops) < 2:
            continue
        capo = grip.instrument.capo if grip.instrument else 0
        frets = [stop.fret + capo for stop in grip.stops if stop.fret > 0]
        if len(frets) < 2 or max(frets) - min(frets) < 4:
            continue
        wide = span_mm(min(frets), max(frets), scale_length_mm=full)
        if wide > limit:
            yield at_head(
                grip.stops[0].head,
                f"frets {min(frets)} and {max(frets)} at once are {wide:.0f} mm apart on a full-"
                f"size neck, the hand spans {limit:.0f} mm; {STRETCH}",
                expected="the same notes closer together",
            )


@rule("unreachable-change", Severity.WARNING, pages)
def unreachable_change(page: ScannedPage) -> Flaws:
    """The hand cannot get from one place to the next in time."""
    before: PageGrip | None = None
    for grip in grips(page):
        if not grip.frets or all(stop.head.is_grace for stop in grip.stops):
            continue
        same = before is not None and before.bar.part is grip.bar.part
        if before is not None and same and before.stops[0].head.staff == grip.stops[0].head.staff:
            yield from _flight(page, before, grip)
        before = grip


def _flight(page: ScannedPage, before: PageGrip, grip: PageGrip) -> Flaws:
    was, now = before.frets, grip.frets
    if max(*was, *now) - min(*was, *now) <= REACH_FRETS or grip.moment <= before.moment:
        return
    start, end = (max(was), min(now)) if min(now) > max(was) else (min(was), max(now))
    distance = span_mm(start, end, scale_length_mm=SCALE_LENGTHS_MM["full"])
    quarters = Fraction(grip.moment - before.moment, page.ticks)
    seconds = float(quarters) * 60.0 / tempi(page).at(before)
    if distance > FASTEST_MM_S * seconds:
        yield at_head(
            grip.stops[0].head,
            f"the hand must go from fret {start} to fret {end}, {distance:.0f} mm, in "
            f"{seconds:.2f} s",
            expected="the same notes nearer to each other, or a slower tempo",
        )


@dataclass(frozen=True, slots=True)
class PageTempi:
    """The tempi of a page by measure and tick, from whichever part gives them."""

    moments: tuple[tuple[int, int], ...]
    rates: tuple[float, ...]

    def at(self, grip: PageGrip) -> float:
        """Return quarters a minute at a grip."""
        place = bisect_right(self.moments, (grip.bar.index, grip.onset))
        return self.rates[place - 1] if place else DEFAULT_QUARTERS_PER_MINUTE


@view
def tempi(page: ScannedPage) -> PageTempi:
    """Return the tempi of a page."""
    found = {
        (bar.index, direction.onset): rate
        for bar in page.bars()
        for direction in bar.directions
        if (rate := _quarters_per_minute(direction))
    }
    moments = tuple(sorted(found))
    return PageTempi(moments, tuple(found[moment] for moment in moments))


def _quarters_per_minute(direction: PageDirection) -> float:
    sound = direction.sound
    stated = decimal(sound.get("tempo")) if sound is not None else None
    if stated and stated > 0:
        return float(stated)
    metronome = direction.element.find("direction-type/metronome")
    if metronome is None:
        return 0.0
    unit = NoteValue(
        (metronome.findtext("beat-unit") or "").strip(), len(metronome.findall("beat-unit-dot"))
    ).quarters
    rate = decimal(metronome.findtext("per-minute"))
    return float(rate * unit) if rate and rate > 0 and unit else 0.0
