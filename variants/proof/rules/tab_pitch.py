"""Frets that sound another pitch than the note beside them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from fractions import Fraction

from lxml import etree

from variants.music import Key, spelled
from variants.proof.finding import Fix, Flaw, Severity, at_head
from variants.proof.page import Head, Page, PagePart
from variants.proof.registry import rule
from variants.proof.views.octave import slip_of
from variants.proof.views.strings import Strung, fret_sound, instrument_of

# From so many notes on, one common distance of most of them is one cause and not many.
LEAST_NOTES = 4
Wrong = tuple[Head, Strung, int, int | Fraction]


@rule("tab-pitch", Severity.ERROR, "string and fret sound another pitch than the note has")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the places that do not sound their pitch; one flaw where all have one cause."""
    for part in page.parts:
        for staff in sorted({head.staff for head in part.placed}):
            wrong, right = _sorted(page, part, staff)
            if not wrong:
                continue
            common = _common(wrong, len(wrong) + len(right))
            known = {head.string for head in right}
            if common is not None:
                yield _as_one(wrong, common)
            else:
                yield from (_flaw(one, known) for one in wrong)


def _sorted(page: Page, part: PagePart, staff: int) -> tuple[list[Wrong], list[Head]]:
    found: list[Wrong] = []
    right: list[Head] = []
    for head in part.placed:
        sounding = head.sounding
        if head.staff != staff or sounding is None or head.is_harmonic:
            continue
        instrument = instrument_of(head)
        sound = fret_sound(instrument, head) if instrument else None
        if instrument is None or sound is None:
            continue
        wanted = sounding + slip_of(page, head)
        # A bent note may be written at the pitch that it is bent to, or at any on the way.
        if sound != wanted and not (head.bend and 0 <= wanted - sound <= head.bend):
            found.append((head, instrument, sound, wanted))
        else:
            right.append(head)
    return found, right


def _common(wrong: list[Wrong], total: int) -> int | Fraction | None:
    """Return the distance that most notes share; any number when a tuning is only assumed."""
    counts = Counter(sound - wanted for _, _, sound, wanted in wrong)
    distance, count = max(counts.items(), key=lambda item: (item[1], -abs(float(item[0]))))
    if count >= LEAST_NOTES and 2 * count > total:
        return distance
    if wrong[0][1].assumed and 2 * len(wrong) > total:
        return 0
    return None


def _as_one(wrong: list[Wrong], distance: int | Fraction) -> Flaw:
    head, instrument, _, _ = wrong[0]
    if instrument.assumed:
        return at_head(
            head, f"{len(wrong)} notes do not fit the frets in standard tuning, and the file "
            "gives no tuning", expected="a tuning, and a capo if there is one",
            severity=Severity.WARNING,
        )  # fmt: skip
    way = "higher" if distance > 0 else "lower"
    return at_head(
        head, f"the frets of {len(wrong)} notes sound {abs(distance)} semitones {way} than their "
        "pitches: tuning, capo or pitches are off as a whole",
        expected="another tuning or capo, or other pitches",
    )  # fmt: skip


def _flaw(one: Wrong, known: set[int]) -> Flaw:
    """Return the flaw of one note; certain only if its string is known to be tuned so."""
    head, instrument, sound, wanted = one
    fret = wanted - instrument.open_midi[head.string - 1]
    octaves = " (an octave off)" if abs(sound - wanted) == 12 else ""
    fix = None
    if fret.denominator == 1 and 0 <= fret <= instrument.top_fret:
        fix = Fix(f"write fret {fret}", _writer(head, int(fret)))
    return at_head(
        head,
        f"string {head.string} fret {head.fret} sounds {_name(sound)}, the note is "
        f"{_name(wanted)}{octaves}",
        expected=f"fret {fret}" if fix else f"{_name(wanted)} on another string",
        fix=fix,
        severity=Severity.WARNING if instrument.assumed and head.string not in known else None,
    )


def _name(midi: int | Fraction) -> str:
    name = str(spelled(int(midi // 1), Key(0)))
    return name if midi.denominator == 1 else f"{name} and a part of a semitone"


def _writer(head: Head, fret: int) -> Callable[[], None]:
    def write() -> None:
        element: etree._Element | None = head.element.find("notations/technical/fret")
        if element is not None:
            element.text = str(fret)

    return write
