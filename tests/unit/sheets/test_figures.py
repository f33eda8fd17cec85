"""The figures of a moment belong, read from top to bottom, to its heads from top to bottom.

Common practice, and what a pupil's eye does: the nearest figure is a head's own. The upper of two
voices has its figures above, the lower one below, whatever their order in the file.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import Phase, given, settings
from lxml import etree

from tests.figures import figures_of, sides_in
from tests.strategies import INSTRUMENTS, line, scores
from tests.unit.sheets.pages import GUITAR_SAMPLES, SVG, fingered, note_groups
from variants.fingering import Settings
from variants.finish import finish
from variants.musicxml import Reading, read, to_bytes
from variants.prepare import Strings, prepare
from variants.score import Note, Score, Voice, events, map_events, map_notes, with_parts
from variants.sheets import Engraving, engrave
from variants.sheets.signs import CIRCLED

MARKS = "fingering,plucking"


def wrong(score: Score, staves: str, *, strict: bool = False) -> list[str]:
    """Return the moments whose figures are not those of their heads, on page and in file."""
    found = wrong_drawn(engrave(score, staves=staves), strict=strict)
    if staves != "tab":
        for tag in ("fingering", "pluck"):
            for where, sides in sides_in(to_bytes(score, staves=staves), tag):
                if sides != sorted(sides) or "none" in sides:
                    found.append(f"{tag} at {where}: {sides}")
    return found


def wrong_drawn(engraving: Engraving, *, strict: bool = False) -> list[str]:
    """Return the moments of a drawing whose figures are not those of their heads."""
    found = []
    for kind in ("finger", "pluck"):
        for one in figures_of(engraving, kind):
            if one.wanted != one.seen:
                found.append(f"{kind} at {one.where}: {one.wanted!r} is {one.seen!r}")
            if kind == "finger" and (one.astray or (strict and one.far)):
                found.append(f"at {one.where} {one.astray or one.far!r} is another head's")
    return found


def figured(score: Score) -> Score:
    """Return a score with figures on every note, neighbours' unlike: no hand is asked."""

    def one(note: Note) -> Note:
        if note.pitch is None or note.tie_stop:
            return note
        midi = int(note.pitch.semitones)
        return replace(note, finger="01234"[midi % 5], pluck="pima"[midi % 4])

    return with_parts(score, [map_notes(part, one) for part in score.parts])


def two(upper: str, lower: str, *, low_first: bool) -> Score:
    """Return a score of two voices, each measure of them parted by ``|``."""
    top, bottom = (line(*texts.split("|")).parts[0] for texts in (upper, lower))
    measures = []
    for a, b in zip(top.measures, bottom.measures, strict=True):
        voices = (Voice("1", a.voices[0].events), Voice("2", b.voices[0].events))
        measures.append(replace(a, voices=voices[::-1] if low_first else voices))
    return replace(line(upper.partition("|")[0]), parts=(replace(top, measures=tuple(measures)),))


def classes(engraving: Engraving) -> Iterator[str]:
    """Yield what every group of a drawing is."""
    for system in engraving.systems:
        for group in etree.fromstring(system.svg.encode()).iter(f"{SVG}g"):
            yield group.get("class", "")


CASES = {
    "apart": ("C4 E4 C5 A4", "A2:w"),
    "crossing": ("C4 E3 C5 E3", "A3 G3 A3 G3"),
    "meeting": ("E4 C4 E4 C4", "E4:h C4:h"),
    "chords": ("C4+E4+G4 C4+E4+G4 C4+E4+G4:h", "C3 A2+E3 A2+E3+A3:h"),
    "interleaved": ("C4+G4:h C4+G4:h", "E4+C5:h E3+D4:h"),
    "above in one measure, below in the next": ("C5:w | A2:w", "A2 E3 A2 E3 | C4 E4 C4 E4"),
}


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("low_first", [False, True])
@pytest.mark.parametrize("staves", ["notation", "both"])
def test_two_voices(case: str, staves: str, *, low_first: bool) -> None:
    """Two voices have their own figures, whichever comes first in the file."""
    assert not wrong(figured(two(*CASES[case], low_first=low_first)), staves, strict=True)


@pytest.mark.parametrize("low_first", [False, True])
def test_the_order_of_voices_changes_nothing(*, low_first: bool) -> None:
    """The upper voice's fingers stand above, its stems go up, its plucking is not the thumb's."""
    score = two(*CASES["apart"], low_first=low_first)
    data = to_bytes(finish(score, marks=MARKS).score, staves="notation")
    notes = etree.fromstring(data).findall(".//note")
    upper = [note for note in notes if note.findtext("pitch/octave") != "2"]
    lower = [note for note in notes if note.findtext("pitch/octave") == "2"]
    for group, side, stem in ((upper, "above", "up"), (lower, "below", "down")):
        assert {note.findtext("stem") for note in group} == {stem}
        fingers = [note.find("notations/technical/fingering") for note in group]
        assert {one.get("placement") for one in fingers if one is not None} == {side}
    assert {note.findtext(".//pluck") for note in lower} == {"p"}
    assert "p" not in {note.findtext(".//pluck") for note in upper}


def test_stems_of_the_source_stay() -> None:
    """Where a measure has stems, nothing is added to them."""
    score = two(*CASES["apart"], low_first=True)
    one = map_events(score.parts[0], lambda event: replace(event, stem="up"))
    done = finish(with_parts(score, [one])).score
    assert {event.stem for _, event in events(done.parts[0])} == {"up"}


@pytest.mark.parametrize("below", [False, True])
def test_plucking_of_a_chord(*, below: bool) -> None:
    """On either side of the staff the letters of a chord stand as its strings do: thumb lowest."""
    chord = "C3+G3+C4+E4:w"
    score = two("G4:w", chord, low_first=True) if below else line(chord)
    done = finish(score, marks="plucking").score
    (column,) = figures_of(engrave(done, staves="notation"), "pluck")
    assert column.seen.endswith("amip" if not below else column.wanted)
    assert not wrong(done, "notation")


@pytest.mark.parametrize("path", GUITAR_SAMPLES, ids=lambda path: path.stem)
@pytest.mark.parametrize("staves", ["notation", "both", "tab"])
def test_samples(path: Path, staves: str) -> None:
    """Every figure of our samples stands at its own head."""
    score = finish(fingered(path), marks=MARKS).score
    score = with_parts(score, score.parts[:1])
    assert not wrong(score, staves)


@given(
    score=scores(
        parts=1, measures=2, instruments=INSTRUMENTS, unpitched=False, cues=False, microtones=False
    )
)
@settings(max_examples=25, phases=[Phase.explicit, Phase.reuse, Phase.generate])
def test_any_score(score: Score) -> None:
    """So does every figure of any score: voices cross, meet, and come in any order."""
    assert not wrong(figured(score), "notation")


@pytest.mark.parametrize("staves", ["notation", "tab"])
def test_a_part_without_beams_has_them_on_the_page(staves: str) -> None:
    """The arpeggio is in eighths from end to end: no flag is left, no finger is inside one."""
    score = fingered(next(path for path in GUITAR_SAMPLES if path.stem == "lantern-arpeggio"))
    bare = [map_events(part, lambda event: replace(event, beams=())) for part in score.parts]
    engravings = [engrave(one, staves=staves) for one in (score, with_parts(score, bare))]
    groups = [Counter(classes(one)) for one in engravings]
    assert groups[0]["beam"] == groups[1]["beam"] > 0
    assert groups[0]["flag"] == groups[1]["flag"] == 0


@pytest.mark.parametrize("strings", [{"tuning": "drop-d"}, {"capo": 2}, {"tuning": "G4-C4-E4-A4"}])
def test_notation_is_notation_on_any_strings(strings: dict[str, Any]) -> None:
    """However the strings are tuned, a staff of notes has note heads and no fret numbers."""
    path = next(path for path in GUITAR_SAMPLES if path.stem == "low-tide-study")
    score = prepare(read(path), Reading.AUTO, Strings(**strings))
    for system in engrave(score, staves="notation").systems:
        assert not [letter for letter in system.letters if letter.kind == "fret"]
        for group in note_groups(system.svg).values():
            assert group.find(f"{SVG}g[@class='notehead']/{SVG}use") is not None


@pytest.mark.parametrize("low_first", [False, True])
def test_two_voices_on_a_tab_alone(*, low_first: bool) -> None:
    """The fingers of two voices stand over and under the tab, none of them in it."""
    done = finish(two(*CASES["apart"], low_first=low_first), marks=MARKS).score
    assert not wrong(done, "tab")
    for system in engrave(done, staves="tab").systems:
        lines = [height for staff in system.staves for height in staff.lines]
        for letter in system.letters:
            if letter.kind in ("fing", "pluck"):
                _, top, _, foot = letter.box
                assert foot <= min(lines) or top >= max(lines)


@pytest.mark.parametrize("low_first", [False, True])
def test_a_circled_string_stands_with_its_note(*, low_first: bool) -> None:
    """The string of the upper voice stands above, that of the lower below, off the tail of a p."""
    score = two("E4:e G4:e C5:e B4:e G4:h", "C3:h D3:h", low_first=low_first)
    done = finish(score, Settings(position=7), marks=f"{MARKS},strings").score
    (system,) = engrave(done, staves="notation").systems
    rings = [letter for letter in system.letters if letter.text in CIRCLED]
    lines = system.staves[0].lines
    assert {letter.box[1] < lines[0] for letter in rings} == {True, False}
    for ring in rings:
        left, _, right, foot = ring.box
        assert (foot < lines[0]) == (ring.text in CIRCLED[:3])
        size = (ring.box[3] - ring.box[1]) / 0.97
        for other in system.letters:
            if other.text == "p" and left < (other.box[0] + other.box[2]) / 2 < right:
                # A circle reaches 0.845 em over the line that its figure stands on, which is 0.22
                # em over the box's foot; the tail of a p ends with its box.
                assert foot - 1.065 * size >= other.box[3] or foot < other.box[3]
