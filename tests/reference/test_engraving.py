"""What is engraved, read back from the drawing and compared with the score.

Sources: the five lines and the G clef of common practice (the clef's line is G above middle C,
one line up from the bottom; a guitar sounds an octave lower than written); tab lines as in
MusicXML, where string 1 is the top line; orchestra librarians' staff sizes (MOLA 2017, quoted in
the trade notes: 7.5 mm best, under 7 unacceptable, over 8.5 avoid).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree

from tests.unit.sheets.pages import (
    GUITAR_SAMPLES,
    fingered,
    head_at,
    head_at_use,
    note_groups,
    text_in,
)
from variants.marks import apply_marks
from variants.musicxml import read
from variants.pipeline import parse_pipeline, run
from variants.score import Event, Note, Score, map_notes, with_parts
from variants.sheets import Engraving, engrave
from variants.sheets.style import PAPERS, PRINTS, paper_named, print_named

WIDTHS = {"normal": 182.0, "large": 271.0}
# Half of the room between two lines of a five-line staff, in the drawing's units.
STEP = 90.0
LETTERS = "CDEFGAB"
# Left, top, right, bottom.
Box = tuple[float, float, float, float]


def _named(path: Path) -> str:
    return path.stem


def _expected(score: Score) -> dict[str, tuple[int, int, Event, Note]]:
    """Return part, measure, event and note by the id that its head should have."""
    return {
        f"{part}.{index}.{v}.{e}.{n}": (part, index, event, note)
        for part, one in enumerate(score.parts)
        for index, measure in enumerate(one.measures)
        for v, voice in enumerate(measure.voices)
        for e, event in enumerate(voice.events)
        for n, note in enumerate(event.notes)
    }


def _groups(engraving: Engraving) -> dict[str, tuple[int, etree._Element]]:
    """Return (system, group) by id; an id twice fails."""
    found: dict[str, tuple[int, etree._Element]] = {}
    for number, system in enumerate(engraving.systems):
        for name, group in note_groups(system.svg).items():
            assert name not in found
            found[name] = (number, group)
    return found


def _layouts() -> list[tuple[str, str, str]]:
    """Return every layout as it is printed: size, paper, staves."""
    staves = ("notation", "tab", "both")
    return [(size, paper, one) for size in PRINTS for paper in PAPERS for one in staves]


@pytest.mark.parametrize(("size", "paper", "staves"), _layouts())
@pytest.mark.parametrize("path", GUITAR_SAMPLES, ids=_named)
def test_every_note_and_fret_is_there(path: Path, size: str, paper: str, staves: str) -> None:
    """Each note of the score has one head, one fret number with its own figure, and no more."""
    score = fingered(path)
    width_mm = print_named(size).content_mm(paper_named(paper))
    engraving = engrave(score, staves=staves, width_mm=width_mm, size=size)
    groups = _groups(engraving)
    expected = _expected(score)
    kinds = "nt" if staves == "both" else "n"
    assert set(groups) == {f"{kind}{name}" for kind in kinds for name in expected}
    for name, (_, _, _, note) in expected.items():
        assert note.place is not None
        figure = str(note.place.fret)
        shown = f"({figure})" if note.tie_stop else figure
        if staves != "notation":
            assert text_in(groups[kinds[-1] + name][1]) == shown
    _check_fingers(score, engraving)


@pytest.mark.parametrize("path", GUITAR_SAMPLES, ids=_named)
def test_heads_stand_at_their_pitch(path: Path) -> None:
    """The line or space of each head is that of its written pitch in the G clef."""
    score = fingered(path)
    engraving = engrave(score, staves="both")
    groups = _groups(engraving)
    for name, (part, measure, _, note) in _expected(score).items():
        number, group = groups[f"n{name}"]
        system = engraving.systems[number]
        staves = [s for s in system.staves if s.measure == measure - system.first]
        bottom = staves[2 * part].lines[-1]
        assert note.pitch is not None
        written = (note.pitch.octave + 1) * 7 + LETTERS.index(note.pitch.letter)
        above = written - (4 * 7 + LETTERS.index("E"))
        assert head_at(group)[1] == pytest.approx(bottom - above * STEP, abs=STEP / 4)


@pytest.mark.parametrize("path", GUITAR_SAMPLES, ids=_named)
def test_frets_stand_on_their_string(path: Path) -> None:
    """Each fret number stands on the line of its string, which leaves a gap for it."""
    score = fingered(path)
    engraving = engrave(score, staves="both")
    letters = {
        letter.id: (system, letter)
        for system in engraving.systems
        for letter in system.letters
        if letter.id
    }
    for name, (part, measure, _, note) in _expected(score).items():
        system, letter = letters[f"t{name}"]
        staves = [s for s in system.staves if s.measure == measure - system.first]
        lines = staves[2 * part + 1].lines
        assert note.place is not None
        middle = (letter.box[1] + letter.box[3]) / 2
        nearest = min(range(len(lines)), key=lambda i: abs(lines[i] - middle))
        assert nearest + 1 == note.place.string


@pytest.mark.parametrize("path", GUITAR_SAMPLES, ids=_named)
def test_staves_are_aligned_and_in_order(path: Path) -> None:
    """What begins together stands together on both staves; what begins later, further right."""
    score = fingered(path)
    engraving = engrave(score, staves="both")
    groups = _groups(engraving)
    frets = {letter.id: letter.box for system in engraving.systems for letter in system.letters}
    middles: dict[tuple[int, int, int], list[float]] = {}
    for name, (_, measure, event, _) in _expected(score).items():
        if event.grace is not None:
            continue
        number, group = groups[f"n{name}"]
        left, _, right, _ = frets[f"t{name}"]
        x = head_at(group)[0] + 113
        # Heads of a second lie to the right of the stem, one head aside.
        assert (left + right) / 2 == pytest.approx(x, abs=260)
        middles.setdefault((number, measure, event.onset), []).append((left + right) / 2)
    for xs in middles.values():
        assert max(xs) - min(xs) < 40
    ordered = [min(middles[key]) for key in sorted(middles)]
    starts = [key[0] for key in sorted(middles)]
    for before, after, a, b in zip(ordered, ordered[1:], starts, starts[1:], strict=False):
        assert a != b or before < after


def _check_fingers(score: Score, engraving: Engraving) -> None:
    """Check that each system prints the fingers of its measures, all of them and no others."""
    for system in engraving.systems:
        wanted = Counter(
            finger
            for part in score.parts
            for measure in part.measures[system.first : system.last + 1]
            for voice in measure.voices
            for event in voice.events
            for note in event.notes
            for finger in (note.finger, note.pluck)
            if finger
        )
        shown = Counter(x.text for x in system.letters if x.kind in ("fing", "pluck"))
        assert shown == wanted


@pytest.mark.parametrize("size", PRINTS)
def test_staff_size(size: str) -> None:
    """The printed staff is 7 to 8.5 mm in normal print, and more in large print."""
    engraving = engrave(fingered(GUITAR_SAMPLES[0]), staves="both", size=size, width_mm=180)
    for system in engraving.systems:
        notation = [staff for staff in system.staves if len(staff.lines) == 5]
        height = (notation[0].lines[-1] - notation[0].lines[0]) / system.units_per_mm
        assert height == pytest.approx(PRINTS[size].staff_mm, rel=0.01)
        assert 7.0 <= height <= 8.5 if size == "normal" else height >= 10.0


def test_large_print_is_no_enlargement() -> None:
    """Large print: fingers grow more than heads, lines are thicker, height grows over width.

    Source: modified stave notation as the trade notes quote it from rnib.org.uk.
    """
    score = fingered(GUITAR_SAMPLES[-1])
    normal, large = PRINTS["normal"], PRINTS["large"]
    heads = large.staff_mm / normal.staff_mm
    assert large.size_pt("fing") / normal.size_pt("fing") > heads
    lines = dict(large.engraver)["staffLineWidth"] / dict(normal.engraver)["staffLineWidth"]
    assert lines > 1
    # The same measures on one endless line: how they grow in width, against in height.
    systems = [
        engrave(score, staves="both", size=name, width_mm=600, most_measures=16).systems[0]
        for name in ("normal", "large")
    ]
    heights = [s.staves[1].lines[0] - s.staves[0].lines[-1] for s in systems]
    assert heights[1] * large.staff_mm / (heights[0] * normal.staff_mm) > heads


@pytest.mark.parametrize("staves", ["notation", "tab", "both"])
@pytest.mark.parametrize("size", PRINTS)
@pytest.mark.parametrize("path", GUITAR_SAMPLES, ids=_named)
def test_nothing_leaves_the_drawing(path: Path, size: str, staves: str) -> None:
    """No letter and no measure reaches beyond the edge of its system; no letter is too small."""
    engraving = engrave(fingered(path), staves=staves, size=size, width_mm=WIDTHS[size])
    for system in engraving.systems:
        root = etree.fromstring(system.svg.encode())
        inner = root.find("{http://www.w3.org/2000/svg}svg")
        assert inner is not None
        _, top, width, height = (float(one) for one in str(inner.get("viewBox")).split())
        # The engraver's page has margins of 20 and 40 units, within which all is measured.
        for letter in system.letters:
            left, high, right, low = letter.box
            assert left >= -20
            assert high >= top - 40
            assert right <= width
            assert low <= top + height
            assert letter.points >= PRINTS[size].small_pt
        for staff in system.staves:
            assert staff.left >= 0
            assert staff.right <= width - 20


@pytest.mark.parametrize("path", GUITAR_SAMPLES, ids=_named)
def test_four_measures_a_line(path: Path) -> None:
    """No line has more than four counted measures, none is split, and all are there in order."""
    score = fingered(path)
    measures = score.parts[0].measures
    systems = engrave(score, staves="both").systems
    assert [s.first for s in systems] == [0, *[s.last + 1 for s in systems[:-1]]]
    assert systems[-1].last == len(measures) - 1
    for system in systems:
        counted = [m for m in measures[system.first : system.last + 1] if not m.is_implicit]
        assert len(counted) <= 4


@pytest.mark.parametrize("staves", ["notation", "tab", "both"])
def test_same_bytes(staves: str) -> None:
    """Two runs draw the same bytes."""
    score = fingered(GUITAR_SAMPLES[0])
    first, second = (engrave(score, staves=staves) for _ in range(2))
    assert [s.svg for s in first.systems] == [s.svg for s in second.systems]


def _overlap(one: Box, two: Box) -> bool:
    """Whether two boxes overlap by more than the room that figures leave in them."""
    across = min(one[2], two[2]) - max(one[0], two[0])
    down = min(one[3], two[3]) - max(one[1], two[1])
    height = min(one[3] - one[1], two[3] - two[1])
    return across > 20 and down > 0.38 * height


def _tuplet_figures(svg: str) -> list[Box]:
    found = []
    for group in etree.fromstring(svg.encode()).iter("{http://www.w3.org/2000/svg}g"):
        if group.get("class") == "tupletNum":
            x, y = head_at_use(group)
            found.append((x - 20, y - 220, x + 210, y))
    return found


@pytest.mark.parametrize("staves", ["notation", "tab", "both"])
@pytest.mark.parametrize("size", PRINTS)
@pytest.mark.parametrize("path", GUITAR_SAMPLES, ids=_named)
def test_letters_stand_apart(path: Path, size: str, staves: str) -> None:
    """No two pieces of text overlap."""
    engraving = engrave(fingered(path), staves=staves, size=size, width_mm=WIDTHS[size])
    for system in engraving.systems:
        letters = system.letters
        for index, one in enumerate(letters):
            for two in letters[index + 1 :]:
                assert not _overlap(one.box, two.box), (one, two)


@pytest.mark.parametrize("path", GUITAR_SAMPLES, ids=_named)
def test_a_doubling_tab_is_plain(path: Path) -> None:
    """Tab under notation has no metre, no stems and no rests of its own (common practice)."""
    for system in engrave(fingered(path), staves="both").systems:
        for staff in etree.fromstring(system.svg.encode()).iter("{http://www.w3.org/2000/svg}g"):
            if staff.get("class") != "staff":
                continue
            kinds = Counter(one.get("class", "").split(" ")[0] for one in staff.iter())
            if kinds["tabGrp"]:
                shown = [
                    one
                    for one in staff.iter("{http://www.w3.org/2000/svg}g")
                    if one.get("class") == "meterSig" and len(one)
                ]
                assert shown == []
                assert not {"stem", "rest", "mRest", "beam", "tupletNum"} & set(kinds)


@pytest.mark.parametrize("size", PRINTS)
def test_fingers_stand_off_tuplets(size: str) -> None:
    """A finger never stands beside the figure of a tuplet, where both would read as one number."""
    path = next(path for path in GUITAR_SAMPLES if path.stem == "lantern-arpeggio")
    # With syllables under the notes and beams that slope as in F minor, the engraver by itself
    # puts fingers beside the figures.
    moved = run(read(path), parse_pipeline(["transpose:key=F minor"]).steps).score
    score = apply_marks(moved, {}, "counting")
    for finger in "1234":
        parts = [map_notes(part, _finger(finger)) for part in score.parts]
        engraving = engrave(
            with_parts(score, parts), staves="notation", size=size, width_mm=WIDTHS[size]
        )
        for system in engraving.systems:
            above = min(system.staves[0].lines)
            for figure in _tuplet_figures(system.svg):
                if figure[3] > above:
                    continue
                for one in system.letters:
                    assert one.kind != "fing" or not _overlap(one.box, figure)


def _finger(name: str) -> Callable[[Note], Note]:
    return lambda note: replace(note, finger=name)


def test_words_are_there() -> None:
    """Every syllable, chord name and tempo of the lead sheet is on paper, no more and no fewer.

    Chord names as lead sheets write them (common practice): Em, D7, G/B.
    """
    score = read(GUITAR_SAMPLES[0].with_name("amazing-grace.musicxml"))
    engraving = engrave(score)
    shown: dict[str, Counter[str]] = {}
    for system in engraving.systems:
        for letter in system.letters:
            shown.setdefault(letter.kind, Counter())[letter.text] += 1
    events = [e for m in score.parts[0].measures for v in m.voices for e in v.events]
    syllables = Counter(lyric.text for event in events for lyric in event.lyrics if lyric.text)
    hyphens = Counter({"-": shown["lyric"]["-"]})
    assert shown["lyric"] - hyphens == syllables
    assert sum(shown["harm"].values()) == sum(len(m.harmonies) for m in score.parts[0].measures)
    assert set(shown["harm"]) == {"G", "C", "Em", "D", "D7", "G/B"}
    assert [text[1:] for text in shown["tempo"]] == [" = 84"]
    numbers = [score.parts[0].measures[system.first].number for system in engraving.systems[1:]]
    assert sorted(shown["number"]) == sorted(numbers)
