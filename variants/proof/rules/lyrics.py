"""Lyrics: syllables under rests, words broken off, and counts that do not fit their beat."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from lxml import etree

from variants.marks.lines import COUNTING
from variants.marks.syllables import SYSTEMS, Syllables
from variants.music.metre import Pulse, counted_pulses, pulse_at
from variants.proof.finding import Fix, Severity, at_head
from variants.proof.page import Head, PageBar, PagePart, ScannedPage, heads, parts
from variants.proof.registry import Flaws, rule
from variants.proof.views.ties import ends


@dataclass(frozen=True, slots=True)
class Counted:
    """A note with the first syllable under it and the one that belongs there."""

    head: Head
    lyric: etree._Element
    text: str
    expected: str


def counted_lines(page: ScannedPage) -> Iterator[Counted]:
    """Yield every counted note, by the system of syllables that its part mostly follows."""
    for part in page.parts:
        counted = [
            (head, lyric, text)
            for head in part.heads
            if head.lyrics
            for lyric in head.lyrics
            if lyric.get("name") == COUNTING and (text := _first_syllable(lyric))
        ]
        if counted:
            best = max(
                (_counted_by(part, counted, system, each=each)
                 for system in SYSTEMS.values() for each in (False, True)),
                key=lambda read: sum(one.text == one.expected for one in read),
            )  # fmt: skip
            yield from best


def _first_syllable(lyric: etree._Element) -> str:
    words = "".join(one.text or "" for one in lyric.iter("text")).split()
    return words[0].strip("[]()") if words else ""


def _counted_by(
    part: PagePart,
    counted: list[tuple[Head, etree._Element, str]],
    system: Syllables,
    *,
    each: bool,
) -> list[Counted]:
    found = []
    for head, lyric, text in counted:
        place = _counted_place(head.bar, head.onset, each=each)
        if place is None:
            continue
        pulse, fraction = place
        among = _counted_among(part, head.bar, pulse, each=each)
        found.append(Counted(head, lyric, text, system.syllable(pulse, fraction, among)))
    return found


def _counted_place(bar: PageBar, onset: int, *, each: bool) -> tuple[Pulse, Fraction] | None:
    if bar.metre is None or not bar.full:
        return None
    ticks = bar.full / bar.metre.quarters
    quarters = Fraction(onset + bar.lead) / ticks
    return pulse_at(counted_pulses(bar.metre, each=each), quarters)


def _counted_among(part: PagePart, bar: PageBar, pulse: Pulse, *, each: bool) -> set[Fraction]:
    places, staves = set(), _sung_staves(part)
    for head in bar.heads:
        found = _counted_place(bar, head.onset, each=each)
        if found is not None and found[0].number == pulse.number and head.staff in staves:
            places.add(found[1])
    return places


def _sung_staves(part: PagePart) -> frozenset[int]:
    return part.used_staves - part.tab_staves or part.used_staves


@rule("counting", Severity.ERROR, counted_lines)
def counting(one: Counted) -> Flaws:
    """A counting syllable does not fit the beat of its note.

    It differs from what the other counts of its line follow.
    """

    def write() -> None:
        texts: list[etree._Element] = one.lyric.findall("text")
        texts[0].text = (texts[0].text or "").replace(one.text, one.expected, 1)

    if one.text != one.expected:
        yield at_head(
            one.head, f"the note is counted {one.text!r}", expected=repr(one.expected),
            fix=Fix(f"count it {one.expected!r}", write),
        )  # fmt: skip


@rule("lyric-rest", Severity.WARNING, heads)
def lyric_rest(head: Head) -> Flaws:
    """A syllable stands where nothing is sung anew.

    Under a rest; under a tied-over note it is a hint.
    """
    text = _sung_text(head) if head.lyrics and (head.is_rest or ends(head)) else ""
    if text:
        what = "a rest" if head.is_rest else "a note that is held over"
        yield at_head(
            head, f"the syllable {text!r} stands under {what}",
            expected="the syllable under a note that begins",
            severity=None if head.is_rest else Severity.HINT,
        )  # fmt: skip


def _sung_text(head: Head) -> str:
    for lyric in head.lyrics:
        # Counts and names of notes may stand anywhere; they are told by their name.
        if lyric.get("name", "") in {"", "verse", "chorus"}:
            text = "".join(one.text or "" for one in lyric.iter("text")).strip()
            if text and not text.isdigit() and text[0] not in "([&":
                return text
    return ""


@rule("lyric-hyphen", Severity.WARNING, parts)
def lyric_hyphen(part: PagePart) -> Flaws:
    """A word is broken off between its syllables.

    Its hyphen leads to no other syllable, or a syllable continues nothing.
    """
    for line in _syllable_lines(part):
        opened: Head | None = None
        for head, kind in [*line, (None, "single")]:
            if kind in {"begin", "single"} and opened is not None:
                yield at_head(opened, "the hyphen of the syllable leads to no other",
                              expected="the rest of the word")  # fmt: skip
            elif head is not None and kind in {"middle", "end"} and opened is None:
                yield at_head(head, "the syllable ends a word that nothing begins",
                              expected="a word from its first syllable")  # fmt: skip
            opened = head if kind in {"begin", "middle"} else None


def _syllable_lines(part: PagePart) -> list[list[tuple[Head, str]]]:
    lines: dict[tuple[str, str, str, int], list[tuple[Head, str]]] = {}
    for head in part.heads:
        for lyric in head.lyrics:
            kind = (lyric.findtext("syllabic") or "").strip()
            if kind and any((one.text or "").strip() for one in lyric.iter("text")):
                key = (lyric.get("number", "1"), lyric.get("name", ""), head.voice, head.staff)
                lines.setdefault(key, []).append((head, kind))
    for line in lines.values():
        line.sort(key=lambda one: one[0].moment)
    return list(lines.values())
