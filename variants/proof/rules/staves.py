"""Staves: tab against the notation that it doubles, staves an octave off, and their numbers."""

from __future__ import annotations

from variants.proof.finding import Severity, at_bar, at_head, at_part
from variants.proof.page import Head, PagePart, ScannedPage, pages, parts
from variants.proof.registry import Flaws, rule
from variants.proof.views.doubling import Doubling, doublings
from variants.proof.views.strings import octave_slips
from variants.score import STANDARD_GUITAR

# A tab that leaves out more of its notation is a simplified one.
MOST_MISSING = 0.2
# Instruments whose lowest string is at least a G3 are read as they sound (mandolin, ukulele).
AS_WRITTEN_FROM = 55


@rule("staff-tab-pitch", Severity.ERROR, doublings)
def staff_tab_pitch(pair: Doubling) -> Flaws:
    """Notation and tab have different pitches at one moment."""
    for above, below in pair.clashes:
        if below.is_harmonic or above.is_harmonic or below.bend or above.bend:
            continue
        place = f" (string {below.string} fret {below.fret})" if below.is_placed else ""
        yield at_head(
            above, f"the notation has {above.pitch} and the tab {below.pitch}{place}",
            expected="the same pitch on both staves",
            severity=None if pair.is_sure else Severity.WARNING,
        )  # fmt: skip


@rule("staff-tab-rhythm", Severity.ERROR, doublings)
def staff_tab_rhythm(pair: Doubling) -> Flaws:
    """Notation and tab have different rhythms.

    Notes that one of the two lacks, and those of different length.
    """
    missing = len(pair.only_notation) + len(pair.only_tab)
    loose = missing > MOST_MISSING * max(len(pair.pairs) + missing, 5)
    severity = Severity.WARNING if loose or not pair.is_sure else None
    for staff, lacking in (("tab", pair.only_notation), ("notation", pair.only_tab)):
        for head in lacking:
            yield at_head(
                head, f"the {staff} lacks the {head.pitch} that begins here",
                expected="the same notes on both staves", severity=severity,
            )  # fmt: skip
    for above, below in pair.pairs:
        if above.duration != below.duration and not above.is_chord:
            longer = "notation" if above.duration > below.duration else "tab"
            yield at_head(
                above, f"{above.pitch} lasts longer on the {longer} staff",
                expected="the same length on both staves", severity=Severity.WARNING,
            )  # fmt: skip


@rule("octave-slip", Severity.ERROR, pages)
def octave_slip(page: ScannedPage) -> Flaws:
    """A whole staff stands an octave off its frets or its tab."""
    for part in page.parts:
        for one in octave_slips(part).values():
            tuning = "standard tuning, which is assumed" if one.assumed else "its tuning"
            yield at_head(
                one.first,
                f"staff {one.staff} as a whole is written {_octaves_off(-one.semitones)} than its "
                f"frets sound in {tuning} ({one.notes} notes)",
                expected="transposition or pitches moved by "
                f"{abs(one.semitones) // 12} octave{'s' if abs(one.semitones) > 12 else ''}",
                severity=Severity.WARNING if one.assumed else None,
            )
    for pair in doublings(page):
        # Where the tab's own pitches are off by as much, the notation is right.
        (part, staff), (tab_part, tab_staff) = pair.notation, pair.tab
        tab = octave_slips(tab_part).get(tab_staff)
        own_is_off = staff in octave_slips(part) or (tab and tab.semitones == pair.shift)
        if pair.shift and not own_is_off and pair.pairs:
            yield at_head(
                pair.pairs[0][0],
                f"staff {staff} as a whole sounds {_octaves_off(pair.shift)} than "
                "the tab that doubles it",
                expected="the transposition of a guitar, an octave lower than written",
            )


def _octaves_off(semitones: int) -> str:
    count = abs(semitones) // 12
    word = "an octave" if count == 1 else f"{count} octaves"
    return f"{word} {'lower' if semitones < 0 else 'higher'}"


@rule("clef-octave", Severity.WARNING, pages)
def clef_octave(page: ScannedPage) -> Flaws:
    """A guitar staff does not say that it sounds an octave lower.

    A staff that is told to be an octave off as a whole has that finding already.
    """
    shifted = {one.notation for one in doublings(page) if one.shift}
    for part in page.parts:
        tuned = (one.instrument for one in part.strings if one.instrument)
        lowest = min(next(tuned, STANDARD_GUITAR).open_midi)
        if not part.is_fretted or part.transposes or lowest >= AS_WRITTEN_FROM:
            continue
        for staff in sorted(part.used_staves - part.tab_staves):
            clefs = [clef for clef in part.clefs if clef.staff == staff]
            if staff in octave_slips(part) or (part, staff) in shifted or not clefs:
                continue
            if all(clef.sign == "G" and not clef.octave_change for clef in clefs):
                yield at_bar(
                    clefs[0].bar, f"staff {staff} has a plain treble clef and no transposition: "
                    "programs will sound it an octave too high or print it an octave too low",
                    expected="a clef with an 8 below, or <transpose>", element=clefs[0].element,
                )  # fmt: skip


@rule("staff-number", Severity.ERROR, parts)
def staff_number(part: PagePart) -> Flaws:
    """A staff that the part does not have: staff 5 of 2."""
    most = max((count for _, count in part.staves), default=1)
    count = "1 staff" if most == 1 else f"{most} staves"
    first: dict[tuple[int, int], Head] = {}
    for head in part.heads:
        if not 1 <= head.staff <= most:
            first.setdefault((head.bar.index, head.staff), head)
    for head in first.values():
        yield at_head(
            head, f"a note stands on staff {head.staff}, and the part has {count}",
            expected="staff 1" if most == 1 else f"staff 1 to {most}",
        )  # fmt: skip
    for clef in part.clefs:
        if not 1 <= clef.staff <= most:
            message = f"a clef is for staff {clef.staff} of {most}"
            yield at_bar(clef.bar, message, element=clef.element)
    for strings in part.strings:
        if not 1 <= strings.staff <= most:
            message = f"a tuning is for staff {strings.staff} of {most}"
            yield at_part(part, message, element=strings.element)
