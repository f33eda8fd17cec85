"""Words, slurs and tuplets of a tab that stands alone; tempo marks and sharps that can be read."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import pytest
from lxml import etree

from tests.strategies import line
from tests.unit.sheets.pages import ROOT, SVG, fingered
from variants.finish import finish
from variants.marks import apply_marks
from variants.musicxml import read
from variants.pipeline import parse_pipeline, run
from variants.prepare import Strings, prepare
from variants.score import Event, Harmony, Lyric, Score, map_events, with_parts
from variants.sheets import Engraving, engrave
from variants.sheets.lettering import Letter
from variants.sheets.style import print_named

GRACE = ROOT / "samples" / "amazing-grace.musicxml"


def _tab(score: Score) -> Engraving:
    return engrave(score, staves="tab")


def _letters(engraving: Engraving, kind: str) -> list[Letter]:
    return [one for system in engraving.systems for one in system.letters if one.kind == kind]


def _for_guitar() -> Score:
    return finish(prepare(read(GRACE), "auto", Strings(tuning="standard"))).score


def test_words_under_a_lone_tab() -> None:
    """Every syllable of the song stands under the tab, under its fret number, and none twice."""
    score = _for_guitar()
    events = [e for m in score.parts[0].measures for v in m.voices for e in v.events]
    wanted = [
        lyric.text + ("-" if lyric.syllabic in {"begin", "middle"} else "")
        for event in events
        for lyric in event.lyrics
    ]
    engraving = _tab(score)
    assert [one.text for one in _letters(engraving, "lyric")] == wanted
    for system in engraving.systems:
        floor = max(staff.lines[-1] for staff in system.staves)
        frets = [one for one in system.letters if one.kind == "fret"]
        for one in (letter for letter in system.letters if letter.kind == "lyric"):
            assert one.box[1] > floor
            assert one.box[3] < float(_view(system.svg)[3]) + float(_view(system.svg)[1])
            middle = (one.box[0] + one.box[2]) / 2
            assert min(abs((f.box[0] + f.box[2]) / 2 - middle) for f in frets) < 60


def _view(svg: str) -> list[str]:
    inner = etree.fromstring(svg.encode()).find(f"{SVG}svg")
    assert inner is not None
    return str(inner.get("viewBox")).split()


def test_counting_under_a_lone_tab() -> None:
    """Counted rests stand on the line of the other syllables, in their order."""
    score = apply_marks(fingered(ROOT / "samples" / "harbour-riff.musicxml"), {}, "counting")
    found = _letters(_tab(score), "lyric")
    assert " ".join(one.text for one in sorted(found, key=lambda one: one.box[0])) == (
        "1 (2) & [3] & (4) & [1] & (2) & [3] & 4"
    )
    assert len({round(one.box[1]) for one in found}) == 1


def test_words_with_no_room_are_told() -> None:
    """Under the tab of an upper part there is no room: the log says that words are missing."""
    score = fingered(ROOT / "samples" / "two-boats-duet.musicxml")
    word = Lyric("1", "single", "la", "<syllabic>single</syllabic><text>la</text>")

    def sing(event: Event) -> Event:
        return replace(event, lyrics=(word,)) if event.notes else event

    sung = with_parts(score, [map_events(part, sing) for part in score.parts])
    log = [str(change) for change in _tab(sung).log]
    assert any("the words under a tab with another part below it" in text for text in log)


def test_long_syllables_give_way() -> None:
    """Syllables that are wider than their notes do not run into one another."""
    word = Lyric("1", "single", "straightforward", "<text>straightforward</text>")
    plain = finish(line("E4:e F4:e G4:e A4:e B4:e A4:e G4:e F4:e")).score
    sung = with_parts(
        plain, [map_events(part, lambda e: replace(e, lyrics=(word,))) for part in plain.parts]
    )
    found = sorted(_letters(_tab(sung), "lyric"), key=lambda one: one.box[0])
    assert len(found) == 8
    assert all(one.box[2] < two.box[0] for one, two in pairwise(found))


def test_slurs_of_a_lone_tab_are_flat() -> None:
    """A slur in the tab stays between the staff's fret numbers, far from the fingers above."""
    engraving = _tab(_for_guitar())
    for system in engraving.systems:
        root = etree.fromstring(system.svg.encode())
        assert not [g for g in root.iter(f"{SVG}g") if g.get("class") == "slur"]
        arcs = [p.get("d", "") for p in root.iter(f"{SVG}path") if " Q" in p.get("d", "")]
        top = min(staff.lines[0] for staff in system.staves)
        for arc in arcs:
            assert min(float(y) for _, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", arc)) > top - 400
    slurs = sum(
        mark.name == "slur" and mark.role == "start"
        for measure in _for_guitar().parts[0].measures
        for voice in measure.voices
        for event in voice.events
        for mark in event.marks
    )
    drawn = "".join(system.svg for system in engraving.systems)
    assert len(re.findall(r'd="M[^"]* Q', drawn)) == slurs > 0


def test_tuplets_of_a_lone_tab_stand_in_a_row() -> None:
    """The figures of tuplets stand in one row under the tab, above the plucking fingers."""
    engraving = _tab(fingered(ROOT / "samples" / "lantern-arpeggio.musicxml"))
    for system in engraving.systems:
        root = etree.fromstring(system.svg.encode())
        feet = [
            float(str(use.get("transform")).split(",")[1].split(")")[0])
            for group in root.iter(f"{SVG}g")
            if group.get("class") == "tupletNum"
            for use in group.iter(f"{SVG}use")
        ]
        assert len(set(feet)) == 1
        plucks = [one for one in system.letters if one.kind == "pluck"]
        assert all(one.box[1] > feet[0] for one in plucks)
        assert feet[0] > max(staff.lines[-1] for staff in system.staves)


def test_fingers_are_above_the_figures_of_tuplets() -> None:
    """A finger is beside the figure of a tuplet only if it stands well above or below it."""
    engraving = engrave(fingered(ROOT / "samples" / "lantern-arpeggio.musicxml"), staves="both")
    for system in engraving.systems:
        root = etree.fromstring(system.svg.encode())
        for group in root.iter(f"{SVG}g"):
            use = group.find(f"{SVG}use")
            if group.get("class") != "tupletNum" or use is None:
                continue
            x, y = (float(n) for n in re.findall(r"-?[\d.]+", str(use.get("transform")))[:2])
            for one in (letter for letter in system.letters if letter.kind == "fing"):
                if abs((one.box[0] + one.box[2]) / 2 - x - 100) < 300:
                    assert one.box[3] < y - 200 or one.box[1] > y


@pytest.mark.parametrize("sample", ["auld-lang-syne", "two-boats-duet", "irish-washerwoman"])
def test_the_tempo_stands_off_the_metre(sample: str) -> None:
    """The tempo mark is above the metre, the key and the clef, wherever it stands over them."""
    score = fingered(ROOT / "samples" / f"{sample}.musicxml")
    system = engrave(score, staves="both").systems[0]
    top = min(staff.lines[0] for staff in system.staves)
    (tempo,) = (one for one in system.letters if one.kind == "tempo")
    # The upper figure of a metre begins at the top line.
    assert tempo.box[3] < top + 20


def test_sharps_of_chord_symbols() -> None:
    """The sharp of a chord symbol is the music font's own, as high as the letter at least."""
    score = run(_for_guitar(), parse_pipeline(["transpose:interval=M2"]).steps).score
    engraving = engrave(finish(score).score, staves="both")
    printed = print_named("normal")
    found = [
        path
        for system in engraving.systems
        for group in etree.fromstring(system.svg.encode()).iter(f"{SVG}g")
        if group.get("class") == "harm"
        for path in group.iter(f"{SVG}path")
    ]
    assert found
    for path in found:
        scale = float(str(path.get("transform")).split("scale(")[1].split(",")[0])
        # The sharp of the font is 0.694 em high; a capital 0.65 em of its own size.
        assert scale * 694 > 0.65 * printed.units(printed.size_pt("harm"))


def _ornamented() -> Score:
    """A measure whose half notes have grace notes, then a whole note under two chord symbols."""
    plain = finish(line("E4:h D4:h", "C4:w")).score
    (part,) = plain.parts
    first, second = part.measures
    main, last = first.voices[0].events
    grace = replace(main, duration=0, grace=(("slash", "yes"),))
    events = (grace, main, replace(grace, onset=last.onset), last)
    symbols = (Harmony(0, ("C", 0), kind="major"), Harmony(2 * plain.ticks, ("G", 0), kind="major"))
    measures = (
        replace(first, voices=(replace(first.voices[0], events=events),)),
        replace(second, harmonies=symbols),
    )
    return with_parts(plain, [replace(part, measures=measures)])


def test_grace_notes_in_the_tab() -> None:
    """On both staves heads and fret numbers of grace notes, and of the others, stand together."""
    (system,) = engrave(finish(_ornamented()).score, staves="both").systems
    heads = {}
    for group in etree.fromstring(system.svg.encode()).iter(f"{SVG}g"):
        use = group.find(f"{SVG}g[@class='notehead']/{SVG}use")
        if group.get("class") == "note" and use is not None:
            found = re.search(r"translate\((-?[\d.]+)", str(use.get("transform")))
            assert found is not None
            heads[str(group.get("id"))] = float(found.group(1))
    frets = {one.id: (one.box[0] + one.box[2]) / 2 for one in system.letters if one.kind == "fret"}
    assert len(heads) == len(frets) == 5
    for name, x in heads.items():
        assert abs(frets["t" + name[1:]] - x - 110) < 80
    order = sorted(frets.values())
    assert order == [
        frets[f"t{name}"]
        for name in ("0.0.0.0.0", "0.0.0.1.0", "0.0.0.2.0", "0.0.0.3.0", "0.1.0.0.0")
    ]


def test_grace_notes_in_a_lone_tab() -> None:
    """In a lone tab grace notes have no stem, so that only real beats have one."""
    (system,) = engrave(finish(_ornamented()).score, staves="tab").systems
    root = etree.fromstring(system.svg.encode())
    stems = [g for g in root.iter(f"{SVG}g") if g.get("class") == "stem"]
    assert len(stems) == 2
    assert len([one for one in system.letters if one.kind == "fret"]) == 5


@pytest.mark.parametrize("staves", ["notation", "tab", "both"])
def test_chord_symbols_stand_in_a_row(staves: str) -> None:
    """A chord symbol in the middle of a note stands beside that of its beginning, to its right."""
    (system,) = engrave(finish(_ornamented()).score, staves=staves).systems
    first, second = sorted(
        (one for one in system.letters if one.kind == "harm"), key=lambda one: one.box[0]
    )
    assert (first.text, second.text) == ("C", "G")
    assert first.box[3] == pytest.approx(second.box[3], abs=1)
    assert first.box[3] < min(staff.lines[0] for staff in system.staves)
    right = next(staff.right for staff in system.staves if staff.measure == 1)
    share = (second.box[0] - first.box[0]) / (right - first.box[0])
    assert 0.25 < share < 0.75


@pytest.mark.parametrize("staves", ["tab", "both"])
def test_two_dots_at_a_repeat(staves: str) -> None:
    """A repeat sign has two dots on each staff, on the tab as on the notation."""
    engraving = engrave(fingered(ROOT / "samples" / "auld-lang-syne.musicxml"), staves=staves)
    count = 2 if staves == "both" else 1
    for system in engraving.systems:
        for group in etree.fromstring(system.svg.encode()).iter(f"{SVG}g"):
            dots = [] if group.get("class") != "barLine" else group.findall(f"{SVG}use")
            if dots:
                assert len(dots) == 2 * count
                scales = {str(dot.get("transform")).split("scale")[1] for dot in dots}
                assert len(scales) == count
