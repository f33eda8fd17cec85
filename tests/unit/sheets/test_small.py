"""The small parts of the sheets: breaks, order, changes, facts, letters, legend, neck, grips."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from lxml import etree

from tests.strategies import line
from tests.unit.sheets.pages import GUITAR_SAMPLES, ROOT, fingered
from variants.errors import InputError, Refusal, UsageError
from variants.marks import apply_marks
from variants.musicxml import read
from variants.score import (
    STANDARD_GUITAR,
    Barline,
    Harmony,
    Part,
    Place,
    Score,
    map_notes,
    with_parts,
)
from variants.score.playing import playing
from variants.sheets import (
    EXERCISES,
    Look,
    Version,
    draw_grip,
    engrave,
    exercise,
    exercises,
    grips_of,
    legend,
    neck_map,
    places_used,
    print_sheets,
    read_report,
    ready,
    sounds,
)
from variants.sheets.breaks import system_starts
from variants.sheets.changes import MOST_LINES, merged, shortened
from variants.sheets.facts import facts, rights, tuning_text
from variants.sheets.fonts import Letters
from variants.sheets.grips import Grip, read_grip
from variants.sheets.handout import page_data
from variants.sheets.lengths import BLANK_THICK
from variants.sheets.neckmap import caption
from variants.sheets.style import PRINTS, print_named
from variants.sheets.svgtext import Picture

FRAME = (
    "<frame><frame-strings>6</frame-strings><frame-frets>4</frame-frets>{}"
    "<frame-note><string>6</string><fret>{}</fret><barre type='start'/></frame-note>"
    "<frame-note><string>5</string><fret>{}</fret><fingering>3</fingering></frame-note>"
    "<frame-note><string>1</string><fret>{}</fret><barre type='stop'/></frame-note></frame>"
)


# -- breaks ---------------------------------------------------------------------------------------


def test_four_to_a_line() -> None:
    """Measures that fit stand four to a line, and a pick-up does not count."""
    assert system_starts([10.0] * 9, head=5, line=60, most=4, uncounted=[True] + [False] * 8) == [
        0,
        5,
    ]


def test_wide_measures_stand_alone() -> None:
    """A measure that fills a line has it for itself, and no line is overfull if it need not be."""
    widths = [90.0, 30.0, 30.0, 90.0, 30.0]
    starts = system_starts(widths, head=5, line=100, most=4)
    assert starts == [0, 1, 3, 4]


def test_four_are_preferred() -> None:
    """Where five fit, lines of four are still what readers of regular phrases expect."""
    assert system_starts([18.0] * 8, head=5, line=100, most=8) == [0, 4]


def test_a_measure_wider_than_the_line() -> None:
    """A measure that is wider than any line still has one."""
    assert system_starts([500.0, 10.0], head=5, line=100, most=4) == [0, 1]


# -- the order of playing -------------------------------------------------------------------------


def _with_barlines(*barlines: tuple[Barline, ...]) -> Part:
    part = line(*["C4:w"] * len(barlines)).parts[0]
    measures = tuple(
        replace(measure, barlines=bars)
        for measure, bars in zip(part.measures, barlines, strict=True)
    )
    return replace(part, measures=measures)


FORWARD = Barline("left", 0, repeat="forward")
BACK = Barline("right", 48, repeat="backward")


def _ending(number: str, kind: str, *, back: bool = False) -> Barline:
    side = "left" if kind == "start" else "right"
    return Barline(side, 0, repeat="backward" if back else "", ending=(number, kind, ""))


@pytest.mark.parametrize(
    ("barlines", "order"),
    [
        ([(), (BACK,), ()], [0, 1, 0, 1, 2]),
        ([(), (FORWARD,), (BACK,), ()], [0, 1, 2, 1, 2, 3]),
        ([(replace(BACK, times=3),), ()], [0, 0, 0, 1]),
        (
            [
                (FORWARD,),
                (_ending("1", "start"), _ending("1", "stop", back=True)),
                (_ending("2", "start"), _ending("2", "stop")),
                (),
            ],
            [0, 1, 0, 2, 3],
        ),
        (
            [
                (),
                (_ending("1,2", "start"), _ending("1,2", "stop", back=True)),
                (_ending("3", "start"), _ending("3", "discontinue")),
            ],
            [0, 1, 0, 1, 0, 2],
        ),
        ([(FORWARD,), (BACK,), (FORWARD,), (BACK,)], [0, 1, 0, 1, 2, 3, 2, 3]),
    ],
    ids=[
        "to the start",
        "to the sign",
        "three times",
        "two endings",
        "three passes",
        "two repeats",
    ],
)
def test_play_order(barlines: list[tuple[Barline, ...]], order: list[int]) -> None:
    """Repeats and endings are played as players play them (common practice)."""
    score = Score(4, (_with_barlines(*barlines),))
    assert list(playing(score).order) == order


# -- sound ----------------------------------------------------------------------------------------


def test_ties_are_one_sound() -> None:
    """A note held by ties sounds once, as long as all of it."""
    score = line("E4:h E4:h~", "E4:h E4:h")
    found = sounds(score, score.parts[0])
    assert [(int(one.start), int(one.length)) for one in found] == [(0, 2), (2, 4), (6, 2)]


def test_the_head_of_a_sound() -> None:
    """Each sound names the head that begins it, so that a page can follow it."""
    score = line("E4 F4", "G4")
    heads = [one.head for one in sounds(score, score.parts[0])]
    assert heads == [(0, 0, 0, 0), (0, 0, 1, 0), (1, 0, 0, 0)]


def test_one_pitch_struck_twice_at_once() -> None:
    """Two voices that meet on one pitch strike it once."""
    score = line("E4+E4:h")
    assert [one.length for one in sounds(score, score.parts[0])] == [Fraction(2)]


# -- reports --------------------------------------------------------------------------------------


def _change(message: str, measure: str, step: str = "transpose") -> dict[str, str]:
    return {"message": message, "measure": measure, "beat": "1", "step": step}


def test_changes_are_put_together() -> None:
    """One change in several measures is one line; what reading said is left out."""
    changes = [
        _change("the fifth became a fourth", "1"),
        _change("the fifth became a fourth", "2"),
        _change("moved up", ""),
        _change("no octave given", "1", "read"),
    ]
    assert merged(changes) == ["Measures 1, 2: the fifth became a fourth", "Moved up"]


def test_many_changes_are_cut() -> None:
    """A long list ends with the number of those that are left out."""
    lines = tuple(f"change {number}" for number in range(20))
    shown = shortened(lines)
    assert len(shown) == MOST_LINES
    assert shown[-1] == f"and {20 - MOST_LINES + 1} more changes: see the report"


def test_read_report(tmp_path: Path) -> None:
    """A report gives steps, changes and level."""
    path = tmp_path / "v.json"
    path.write_text(
        json.dumps(
            {
                "steps": ["capo:fret=2"],
                "changes": [_change("x", "1")],
                "level": "level-1",
                "practises": ["ties", {"text": "a barre", "measures": ["2"]}, 3],
            }
        )
    )
    report = read_report(path)
    assert report.practises == ("ties", "a barre")
    assert (report.steps, report.changes, report.level) == (
        ("capo:fret=2",),
        ("Measure 1: x",),
        "level-1",
    )


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("{", "is no JSON; write it with neckwise vary --json"),
        ("[]", "is no report of a version"),
        ('{"changes": 3}', "is no report of a version"),
        ("[" * 200_000, "is no JSON"),
    ],
)
def test_bad_reports(tmp_path: Path, text: str, words: str) -> None:
    """A file that is no report is told with its name."""
    path = tmp_path / "v.json"
    path.write_text(text)
    with pytest.raises(InputError, match=words):
        read_report(path)


# -- facts and letters ----------------------------------------------------------------------------


def test_facts_of_a_capo() -> None:
    """A capo is told; a tuning without a name is told by its strings."""
    instrument = replace(STANDARD_GUITAR, capo=3)
    score = line("E4", instrument=instrument)
    assert ("Capo", "fret 3") in facts(score)
    odd = replace(instrument, open_strings=tuple(reversed(instrument.open_strings)))
    assert tuning_text(odd) == "E B G D A E"


def test_rights_are_never_made_up() -> None:
    """A file without a rights line is not called free."""
    assert rights(line("E4")) == ""


def test_missing_letters() -> None:
    """Letters beyond the fonts are found, once each; marks of direction are no letters."""
    letters = Letters()
    assert letters.missing("Ça va ♯♭ – „gut“ אב 漢字漢\u200f") == "漢字"


# -- legend ---------------------------------------------------------------------------------------


def test_circled_strings() -> None:
    """A circled string is a number in a drawn circle, and the legend explains it."""
    score = _placed(line("E5 A5"), 12, 17)
    marked = apply_marks(score, {}, "strings=all")
    for staves in ("notation", "both"):
        (system,) = engrave(marked, staves=staves).systems
        assert [x.text for x in system.letters if x.text == "①"] == ["①", "①"]
        assert system.svg.count("<circle") == 2
    assert "string to play it on" in [e.meaning for e in legend(marked, tab=True, fingers=True)]


def test_legend_has_what_is_used() -> None:
    """The legend explains the fingers, the tie in tab and the plucking letters that are there."""
    riff = fingered(ROOT / "samples" / "harbour-riff.musicxml")
    signs = [entry.sign for entry in legend(riff, tab=True, fingers=True)]
    assert {"0", "(2)"} <= set(signs)
    assert "(2)" not in [entry.sign for entry in legend(riff, tab=False, fingers=True)]
    lantern = fingered(ROOT / "samples" / "lantern-arpeggio.musicxml")
    assert "p i m a" in [entry.sign for entry in legend(lantern, tab=True, fingers=True)]
    assert legend(line("E4"), tab=True, fingers=True) == []


# -- the neck -------------------------------------------------------------------------------------


def _circles(drawing: Picture) -> list[tuple[float, float, float, str]]:
    root = etree.fromstring(drawing.svg.encode())
    return [
        (float(c.get("cx", 0)), float(c.get("cy", 0)), float(c.get("r", 0)), c.get("fill", ""))
        for c in root.iter("{http://www.w3.org/2000/svg}circle")
    ]


def test_neck_map_shows_each_place_once() -> None:
    """Each place that is used has one ring; the home note is black, so grey print shows it."""
    score = fingered(ROOT / "samples" / "auld-lang-syne.musicxml")
    used = places_used(score.parts[0])
    rings = [one for one in _circles(neck_map(score)) if one[3] != "#bbb"]
    assert len(rings) == len(used) == len({(one.place.string, one.place.fret) for one in used})
    assert sorted(one.order for one in used) == list(range(1, len(used) + 1))
    black = [one for one in rings if one[3] == "#000"]
    assert len(black) == len([one for one in used if one.is_home]) > 0


def test_order_of_first_use() -> None:
    """Places are counted as they are first met; one that comes back is not counted again."""
    score = _placed(line("E4 F4 E4 G4"), 0, 1, 0, 3)
    names = [one.name for one in places_used(score.parts[0])]
    assert names == ["E4", "F4", "G4"]


def test_neck_map_says_what_it_shows() -> None:
    """The drawing has a title and a description in words, with string, fret and finger."""
    drawing = neck_map(_placed(line("F4 E4"), 1, 0))
    assert "<title>Neck map: 2 places, frets 0 to 4</title>" in drawing.svg
    assert drawing.alt == "1: F4, string 1 fret 1; 2: E4, string 1 open."
    assert f"<desc>{drawing.alt}</desc>" in drawing.svg


def test_the_caption_fits_the_map() -> None:
    """Without fingers the line under the map does not speak of them."""
    score = fingered(GUITAR_SAMPLES[0])
    assert caption(places_used(score.parts[0])).startswith("Figure in the ring: finger")
    bare = map_notes(score.parts[0], lambda note: replace(note, finger=""))
    assert caption(places_used(bare)).startswith("Ring: a place that is used")


def test_left_handed_is_the_mirror() -> None:
    """A left-handed map is the same map from right to left."""
    score = fingered(GUITAR_SAMPLES[0])
    right, left = (neck_map(score, left_handed=hand) for hand in (False, True))
    assert left.width_mm == right.width_mm
    mirrored = sorted((y, right.width_mm - x) for x, y, _, _ in _circles(right))
    there = sorted((y, x) for x, y, _, _ in _circles(left))
    for one, two in zip(there, mirrored, strict=True):
        assert one == pytest.approx(two, abs=0.02)


def _placed(score: Score, *frets: int) -> Score:
    """Return a score of one voice with its notes at frets of string 1."""
    waiting = iter(frets)
    parts = [
        map_notes(part, lambda note: replace(note, place=Place(1, next(waiting))))
        for part in score.parts
    ]
    return with_parts(score, parts)


def test_landmarks_count_from_the_nut_under_a_capo() -> None:
    """With a capo at 2 the dot of fret 3 is at fret 1 of the tab (common practice)."""
    plain = _placed(line("F4 G4"), 1, 3)
    capoed = _placed(line("G4 A4", instrument=replace(STANDARD_GUITAR, capo=2)), 1, 3)
    dots = [[c for c in _circles(neck_map(s)) if c[3] == "#bbb"] for s in (plain, capoed)]
    # Frets 1 to 4 hold the third fret's dot; frets 3 to 6 of the neck those of 3 and 5.
    assert [len(one) for one in dots] == [1, 2]
    assert "capo 2" in neck_map(capoed).svg


def test_no_places_no_map() -> None:
    """A piece without places is refused with the way out."""
    with pytest.raises(Refusal, match="nothing to show on the neck; finger the piece first"):
        neck_map(line("E4"))


# -- grips ----------------------------------------------------------------------------------------


def test_grips_are_read_and_drawn() -> None:
    """A frame gives strings, frets, fingers and the barre; the drawing says them in words."""
    harmony = Harmony(0, ("F", 0), frame=FRAME.format("", 1, 3, 1))
    grip = read_grip(harmony)
    assert grip == Grip("F", 6, 1, ((6, 1, ""), (5, 3, "3"), (1, 1, "")), ((1, 6, 1),))
    drawing = draw_grip(grip, PRINTS["normal"])
    assert drawing.alt == "F: string 6 fret 1, string 5 fret 3 finger 3, string 1 fret 1"
    # Strings 4, 3 and 2 are left out.
    assert drawing.svg.count("×") == 3


def test_each_grip_once() -> None:
    """The same chord twice is one grip; a frame that cannot be read is none."""
    score = line("C4:w", "C4:w")
    chord = Harmony(0, ("F", 0), frame=FRAME.format("", 1, 3, 1))
    broken = Harmony(0, ("G", 0), frame="<frame><frame-strings>x</frame-strings></frame>")
    part = score.parts[0]
    measures = tuple(replace(m, harmonies=(chord, broken)) for m in part.measures)
    assert len(grips_of(replace(part, measures=measures))) == 1


# -- exercises ------------------------------------------------------------------------------------


def _letters(score: Score) -> list[str]:
    return [
        lyric.text
        for part in score.parts
        for measure in part.measures
        for voice in measure.voices
        for event in voice.events
        for lyric in event.lyrics
    ]


def test_name_notes_asks_and_answers() -> None:
    """The exercise has an empty line for each name, the answer has the names."""
    asked, answer = exercise(Version(score=fingered(GUITAR_SAMPLES[0])), "name-notes")
    assert len(_letters(asked.score)) == len(_letters(answer.score)) > 10
    assert len(set(_letters(asked.score))) == 1
    assert {text[0] for text in _letters(answer.score)} <= set("ABCDEFG")


def test_exercise_gives_nothing_away() -> None:
    """No finger, no pluck and no fret number stands where it would give the answer away."""
    version = Version(score=fingered(ROOT / "samples" / "lantern-arpeggio.musicxml"))
    fill, _ = exercise(version, "fill-tab")
    assert fill.wants.empty_tab
    assert not fill.wants.fingers
    notes, answer = exercise(version, "fill-notes")
    assert not any(measure.voices for measure in notes.score.parts[1].measures)
    assert any(measure.voices for measure in answer.score.parts[1].measures)


def test_exercises_that_cannot_be() -> None:
    """An unknown exercise, a missing tab, answers to nothing: each is told."""
    version = Version(score=line("E4"))
    with pytest.raises(UsageError, match="no exercise 'sing'; use fill-tab, fill-notes"):
        exercise(version, "sing")
    with pytest.raises(Refusal, match="there is no tab to write; finger the piece first"):
        exercise(version, "fill-tab")
    with pytest.raises(UsageError, match="nothing to answer; name an exercise"):
        exercises(version, [], answers=True)


AULD = fingered(ROOT / "samples" / "auld-lang-syne.musicxml")


def test_exercises_can_be_written_on() -> None:
    """Two measures a line, staves of 9 mm and more, a line of 12 mm and more for each name."""
    for kind in ("fill-tab", "name-notes", "counts"):
        made = print_sheets(exercises(Version(score=AULD), [kind]), Look())
        for system in made.engravings[0].systems:
            assert system.last - system.first <= 2
            tall = [staff.lines[-1] - staff.lines[0] for staff in system.staves]
            assert min(tall) / system.units_per_mm >= 9.0 - 0.01
            root = etree.fromstring(system.svg.encode())
            for path in root.iter("{http://www.w3.org/2000/svg}path"):
                thin = path.get("stroke-width") == f"{BLANK_THICK['normal']:.0f}"
                found = re.fullmatch(r"M([-\d.]+) ([-\d.]+) L([-\d.]+) \2", path.get("d", ""))
                if thin and found and kind != "fill-tab":
                    wide = float(found.group(3)) - float(found.group(1))
                    assert wide / system.units_per_mm >= 12.0 - 0.05


@pytest.mark.parametrize("kind", EXERCISES)
@pytest.mark.parametrize("stem", ["auld-lang-syne", "irish-washerwoman", "low-tide-study"])
def test_an_exercise_is_one_page(stem: str, kind: str) -> None:
    """Each kind fits one page, whatever the piece, and shows no plucking finger beside tab."""
    version = Version(score=fingered(ROOT / "samples" / f"{stem}.musicxml"))
    try:
        asked, answer = exercise(version, kind)
    except Refusal:
        assert kind in ("draw-tab", "match", "complete")
        return
    data, _, _ = page_data([asked], Look())
    assert len(data["pages"]) == 1
    assert answer.subtitle == asked.subtitle
    for sheet in (asked, answer):
        if sheet.pictures is None and kind != "complete":
            notes = [
                n
                for p in sheet.score.parts
                for m in p.measures
                for v in m.voices
                for e in v.events
                for n in e.notes
            ]
            assert not any(note.pluck for note in notes)


def test_clap_answers_count_every_beat() -> None:
    """Held beats stand in brackets and silent ones in parentheses, in 4/4 all four (counting)."""
    score = line("E4:h r E4", "E4:w", "r E4 E4 E4")
    _, answer = exercise(Version(score=score), "clap")
    assert [" ".join(one.split()) for one in _letters(answer.score)] == [
        "1 [2]",
        "(3)",
        "4",
        "1 [2 3 4]",
        "(1)",
        "2",
        "3",
        "4",
    ]


def test_one_string_is_that_string() -> None:
    """Every answer is on the string of the title, at the fret of its pitch, within the octave."""
    asked, answer = exercise(Version(score=AULD), "draw-tab")
    string = int(asked.subtitle.split("string ")[1].split(",")[0])
    part = answer.score.parts[0]
    assert part.instrument is not None
    lowest = part.instrument.open_strings[string - 1]
    notes = [n for m in part.measures for v in m.voices for e in v.events for n in e.notes]
    assert notes
    for note in notes:
        assert note.place is not None
        assert note.pitch is not None
        assert note.place.string == string
        assert lowest.midi + note.place.fret == note.pitch.midi
        assert 0 <= note.place.fret <= 12


def test_complete_leaves_out_one_note_a_measure() -> None:
    """What is hidden is a note of the answer, at most one a measure."""
    asked, answer = exercise(Version(score=AULD), "complete")
    hidden = asked.wants.hidden
    assert len({index for index, _ in hidden}) == len(hidden) > 0
    for index, tick in hidden:
        events = answer.score.parts[0].measures[index].voices[0].events
        assert any(event.onset == tick and event.notes for event in events)


def test_match_tells_versions_or_passages_apart() -> None:
    """Each neck has one music and each music one neck; too little to match is refused."""
    asked, answer = exercise(Version(score=AULD), "match")
    assert asked.pictures is not None
    assert answer.pictures is not None
    told = [one.alt for one in answer.pictures(Look(), print_named("normal"), 182.0)]
    letters = [text[-1] for text in told]
    assert sorted(letters) == list("ABCD"[: len(letters)])
    with pytest.raises(Refusal, match="no two passages with other places"):
        exercise(Version(score=ready(line("E4"), staves="both")), "match")


def test_ready_fingers_only_what_needs_it() -> None:
    """A score for notation is left as it is; one for tab gets its places."""
    score = with_parts(line("E4 G3"), line("E4 G3").parts)
    assert ready(score, staves="notation") is score
    placed = ready(score, staves="both")
    assert all(note.place for m in placed.parts[0].measures for note in m.voices[0].events[0].notes)
    assert ready(placed, staves="both") is placed


def test_a_lead_sheet_has_no_tab() -> None:
    """A part that is not for a fretted instrument is printed as it is."""
    score = read(ROOT / "samples" / "amazing-grace.musicxml")
    assert ready(score, staves="both") is score
