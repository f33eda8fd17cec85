"""Which tab doubles which notation, and which of their notes belong together.

The same evidence as in `variants.musicxml`: two staves of one part, or two parts of which the tab
has most of its notes in the notation.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from fractions import Fraction

from variants.proof.page import Head, PagePart, ScannedPage, view

# Index of the measure, tick in it, and for grace notes their place before the main note.
Moment = tuple[int, int, int]


def by_moment(part: PagePart, staff: int) -> dict[Moment, list[Head]]:
    """Return the notes of one staff by moment; rests, cues and hidden notes are left out."""
    return _moments_of_staves(part).get(staff, {})


@view
def _moments_of_staves(part: PagePart) -> dict[int, dict[Moment, list[Head]]]:
    tables: dict[int, dict[Moment, list[Head]]] = {}
    for bar in part.bars:
        graces: dict[str, int] = {}
        for head in bar.heads:
            voice = head.voice
            if head.is_grace:
                if not head.is_chord:
                    graces[voice] = graces.get(voice, 0) + 1
            elif graces and not head.is_chord:
                graces[voice] = 0
            if head.pitch is None or head.is_cue:
                continue
            table = tables.setdefault(head.staff, {})
            rank = graces.get(voice, 0) if graces else 0
            table.setdefault((bar.index, head.onset, rank), []).append(head)
    return tables


# So much of a tab stands in the notation that it doubles: in one part, in another one, and in
# another one beyond doubt.
SAME_PART = 0.5
OTHER_PART = 0.6
SURE = 0.8
OCTAVE = 12


@dataclass(slots=True)
class Doubling:
    """A tab and the notation that it doubles.

    Args:
        notation: Part and staff.
        tab: Part and staff.
        is_sure: Whether they double each other beyond doubt, as two staves of one part do.
        shift: Whole octaves, in semitones, by which most of the notation stands above the tab.
        pairs: Notes that belong together: (notation, tab).
        clashes: Notes at the same moment that should belong together and differ in pitch.
        only_notation: Struck notes of moments at which the tab has fewer.
        only_tab: The other way about.
    """

    notation: tuple[PagePart, int]
    tab: tuple[PagePart, int]
    is_sure: bool = True
    shift: int = 0
    pairs: list[tuple[Head, Head]] = field(default_factory=list)
    clashes: list[tuple[Head, Head]] = field(default_factory=list)
    only_notation: list[Head] = field(default_factory=list)
    only_tab: list[Head] = field(default_factory=list)


@view
def doublings(page: ScannedPage) -> list[Doubling]:
    """Return the doublings of a page."""
    return [_pair_notes(one) for one in _doubling_candidates(page)]


@view
def partners(page: ScannedPage) -> dict[Head, Head]:
    """Return for each note of a doubling the other one."""
    table: dict[Head, Head] = {}
    for one in doublings(page):
        for above, below in (*one.pairs, *one.clashes):
            table[above] = below
            table[below] = above
    return table


def _doubling_candidates(page: ScannedPage) -> list[Doubling]:
    found: list[Doubling] = []
    for part in page.parts:
        for tab in sorted(part.tab_staves):
            others = sorted(part.used_staves - part.tab_staves)
            above = [staff for staff in others if staff < tab] or others
            if above and tab in part.used_staves:
                one = Doubling((part, above[-1]), (part, tab))
                if _shared_notes(one) >= SAME_PART:
                    found.append(one)
            elif not others:
                found += _doubled_elsewhere(page, part, tab)
    return found


def _doubled_elsewhere(page: ScannedPage, tab_part: PagePart, tab: int) -> list[Doubling]:
    best: Doubling | None = None
    best_share = 0.0
    for part in page.parts:
        if part is tab_part or part.tab_staves or len(part.bars) != len(tab_part.bars):
            continue
        for staff in sorted(part.used_staves):
            one = Doubling((part, staff), (tab_part, tab))
            share = _shared_notes(one)
            if share >= OTHER_PART and share > best_share:
                best, best_share = one, share
                one.is_sure = share >= SURE
    return [best] if best else []


def _shared_notes(one: Doubling) -> float:
    above = by_moment(*one.notation)
    matched = total = 0
    for moment, heads in by_moment(*one.tab).items():
        classes = {sound_of(head) % OCTAVE for head in above.get(moment, ())}
        total += len(heads)
        matched += sum(1 for head in heads if sound_of(head) % OCTAVE in classes)
    return matched / total if total else 0.0


def sound_of(head: Head) -> int | Fraction:
    """Return the sounding height of a note, 0 for one without pitch."""
    return 0 if head.sounding is None else head.sounding


def _pair_notes(one: Doubling) -> Doubling:
    above, below = by_moment(*one.notation), by_moment(*one.tab)
    one.shift = _usual_shift(above, below)
    for moment in sorted(above.keys() | below.keys()):
        _match_moment(one, list(above.get(moment, ())), list(below.get(moment, ())))
    return one


def _usual_shift(above: dict[Moment, list[Head]], below: dict[Moment, list[Head]]) -> int:
    counts: Counter[int | Fraction] = Counter()
    for moment, heads in below.items():
        others = above.get(moment)
        if others and len(others) == len(heads):
            counts[max(map(sound_of, others)) - max(map(sound_of, heads))] += 1
    if not counts:
        return 0
    best, count = counts.most_common(1)[0]
    return int(best) if best % OCTAVE == 0 and 2 * count > sum(counts.values()) else 0


def _match_moment(one: Doubling, above: list[Head], below: list[Head]) -> None:
    for octave_matters in (True, False):
        for head in list(above):
            wanted = sound_of(head) - one.shift
            for tab in below:
                other = sound_of(tab)
                if wanted == other or (not octave_matters and (wanted - other) % OCTAVE == 0):
                    (one.pairs if octave_matters else one.clashes).append((head, tab))
                    above.remove(head)
                    below.remove(tab)
                    break
    # A chord of as many notes in both differs note by note from the lowest up.
    above.sort(key=sound_of)
    below.sort(key=sound_of)
    while above and below:
        one.clashes.append((above.pop(0), below.pop(0)))
    one.only_notation += [head for head in above if head.is_struck]
    one.only_tab += [head for head in below if head.is_struck]
