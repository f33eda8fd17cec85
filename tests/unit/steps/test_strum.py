"""Chord symbols strummed: grips, diagrams, rhythm, silence, refusals."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from tests.strategies import STANDARD, line, open_strings
from variants.contract import Promise, check
from variants.errors import ContractBroken, Refusal, UsageError
from variants.music import Metre, Pitch
from variants.pipeline import run
from variants.score import (
    Harmony,
    Instrument,
    Lyric,
    Measure,
    Score,
    map_events,
    map_notes,
    notes,
    with_parts,
)
from variants.steps import parse_step
from variants.steps.strum import Strum
from variants.steps.strumming.patterns import PATTERNS, strikes
from variants.steps.wording.words import symbol_text

C = Harmony(0, ("C", 0))
LETTERS = {"whole": "w", "half": "h", "quarter": "q", "eighth": "e", "16th": "s", "": "m"}


def song(*symbols: tuple[Harmony, ...], instrument: Instrument | None = STANDARD) -> Score:
    """Return measures of four quarters with the chord symbols given for each."""
    score = line(*(["E4 F4 G4 A4"] * len(symbols)), instrument=instrument)
    part = score.parts[0]
    measures = tuple(
        replace(measure, harmonies=here)
        for measure, here in zip(part.measures, symbols, strict=True)
    )
    return with_parts(score, [replace(part, measures=measures)])


def strummed(score: Score, text: str = "strum") -> Score:
    """Return the strummed score, its contract proven."""
    return run(score, [parse_step(text)]).score


def shown(measure: Measure) -> str:
    """Return values, ``r`` before those of rests and ``~`` after ties; ``m`` a measure's rest."""
    return " ".join(
        ("" if event.notes else "r")
        + LETTERS[event.value.type]
        + "." * event.value.dots
        + ("~" if event.notes and event.notes[0].tie_start else "")
        for event in measure.voices[0].events
    )


def grip(measure: Measure, index: int = 0) -> str:
    """Return frets and fingers of a stroke from string 6 to string 1, as grips are written."""
    frets, fingers = ["x"] * 6, ["0"] * 6
    for note in measure.voices[0].events[index].notes:
        assert note.place is not None
        frets[6 - note.place.string] = str(note.place.fret)
        fingers[6 - note.place.string] = note.finger or "0"
    return f"{''.join(frets)}/{''.join(fingers)}"


def test_an_open_chord() -> None:
    """C is held as everybody holds it, on every beat, and its notes are spelled as in C."""
    score = strummed(song((C,)))
    measure = score.parts[0].measures[0]
    assert shown(measure) == "q q q q"
    assert {grip(measure, index) for index in range(4)} == {"x32010/032010"}
    assert [str(n.pitch) for n in measure.voices[0].events[0].notes] == [
        *("C3", "E3", "G3", "C4", "E4"),
    ]


def test_diagram() -> None:
    """The first symbol of a chord has its diagram, later ones have none."""
    score = strummed(song((C, Harmony(24, ("G", 0))), (C,)))
    first, second = score.parts[0].measures
    frame = first.harmonies[0].frame
    assert frame.startswith("<frame><frame-strings>6</frame-strings><frame-frets>4</frame-frets>")
    assert "<string>5</string><fret>3</fret><fingering>3</fingering>" in frame
    assert "<string>3</string><fret>0</fret></frame-note>" in frame
    assert first.harmonies[1].frame
    assert not second.harmonies[0].frame


def test_barres() -> None:
    """Barres only when asked: F with three fingers, with two strings under one, and full."""
    f = (Harmony(0, ("F", 0)),)
    found = {
        barre: grip(strummed(song(f), f"strum:barre={barre}").parts[0].measures[0])
        for barre in ("never", "small", "full")
    }
    assert found == {
        "never": "xx321x/003210",
        "small": "xx3211/003211",
        "full": "133211/134211",
    }
    done = strummed(song((Harmony(0, ("B", -1), "minor"),)), "strum:barre=full").parts[0]
    assert grip(done.measures[0]) == "x13321/013421"
    frame = done.measures[0].harmonies[0].frame
    assert '<string>5</string><fret>1</fret><fingering>1</fingering><barre type="start"/>' in frame
    assert '<string>1</string><fret>1</fret><fingering>1</fingering><barre type="stop"/>' in frame


def test_high_forms_name_their_first_fret() -> None:
    """A diagram further up says at which fret it begins."""
    done = strummed(song((Harmony(0, ("B", 0), "power"),))).parts[0].measures[0]
    assert grip(done) == "x244xx/013400"
    high = strummed(song((Harmony(0, ("C", 1), "power"),))).parts[0].measures[0]
    assert grip(high) == "x466xx/013400"
    assert "<first-fret>4</first-fret>" in high.harmonies[0].frame


@pytest.mark.parametrize(
    ("pattern", "values"),
    [
        ("whole", "w"),
        ("halves", "h h"),
        ("quarters", "q q q q"),
        ("eighths", "e e e e e e e e"),
        ("down-up", "q e e e e e e"),
        ("syncopated", "q e e~ e e e e"),
        ("bass-chord", "q q q q"),
    ],
)
def test_patterns(pattern: str, values: str) -> None:
    """Each pattern in common time; a stroke that rings over the middle is tied there."""
    measure = strummed(song((C,)), f"strum:pattern={pattern}").parts[0].measures[0]
    assert shown(measure) == values


def test_bass_and_chord() -> None:
    """Bass alone on beats 1 and 3, and another one the second time."""
    measure = strummed(song((C,)), "strum:pattern=bass-chord").parts[0].measures[0]
    assert [len(event.notes) for event in measure.voices[0].events] == [1, 5, 1, 5]


@pytest.mark.parametrize(
    ("metre", "pattern", "moments"),
    [
        (Metre(("3",), (4,)), "down-up", "0 1 3/2 2 5/2"),
        (Metre(("6",), (8,)), "quarters", "0 3/2"),
        (Metre(("6",), (8,)), "eighths", "0 1/2 1 3/2 2 5/2"),
        (Metre(("6",), (8,)), "down-up", "0 1 3/2 5/2"),
        (Metre(("3",), (4,)), "bass-chord", "0 1 2"),
        (Metre(("2",), (2,), "cut"), "eighths", "0 1/2 1 3/2 2 5/2 3 7/2"),
        (Metre(("3+2",), (8,)), "quarters", "0 3/2"),
        (Metre((), ()), "quarters", "0"),
    ],
)
def test_patterns_in_other_metres(metre: Metre, pattern: str, moments: str) -> None:
    """Beats are those of the metre; compound ones divide in three."""
    end = metre.quarters or Fraction(4)
    found = strikes(pattern, metre, begin=Fraction(0), end=end)
    assert " ".join(map(str, found)) == moments


@pytest.mark.parametrize("pattern", PATTERNS)
def test_every_pattern_begins_the_measure(pattern: str) -> None:
    """No pattern leaves the downbeat out, so nothing is tied over a barline."""
    for metre in (Metre(), Metre(("3",), (4,)), Metre(("6",), (8,)), Metre(("5",), (8,))):
        found = strikes(pattern, metre, begin=Fraction(0), end=metre.quarters)
        assert next(iter(found)) == 0
        assert list(found) == sorted(found)


def test_changes_between_strokes() -> None:
    """A chord is struck where it changes, even between two strokes."""
    score = song((C, Harmony(36, ("G", 0), "dominant")))
    measure = strummed(score, "strum:pattern=whole").parts[0].measures[0]
    assert shown(measure) == "h. q"
    assert [grip(measure, index)[:6] for index in (0, 1)] == ["x32010", "320001"]


def test_silence() -> None:
    """Before the first symbol and under N.C. nothing sounds; a chord goes on without a symbol."""
    nothing = Harmony(24, None, "none")
    score = strummed(song((), (Harmony(24, ("C", 0)),), (), (nothing,)))
    assert [shown(measure) for measure in score.parts[0].measures] == [
        *("rm", "rh q q", "q q q q", "q q rh"),
    ]


def test_a_pick_up_is_silent() -> None:
    """A pick-up before the first symbol has no stroke at all: rests fill it."""
    score = song((), (C,))
    part = score.parts[0]
    first = part.measures[0]
    short = replace(
        first,
        number="0",
        length=6,
        is_implicit=True,
        voices=(
            replace(first.voices[0], events=line("E4:e").parts[0].measures[0].voices[0].events),
        ),
    )
    done = strummed(with_parts(score, [replace(part, measures=(short, part.measures[1]))]))
    assert [shown(measure) for measure in done.parts[0].measures] == ["re", "q q q q"]


def test_a_capo_gives_other_shapes() -> None:
    """With a capo at fret 2 a D is held as a C, and sounds as a D."""
    score = strummed(song((Harmony(0, ("D", 0)),), instrument=replace(STANDARD, capo=2)))
    measure = score.parts[0].measures[0]
    assert grip(measure) == "x32010/032010"
    assert str(measure.voices[0].events[0].notes[0].pitch) == "D3"


def test_all_strings_lower() -> None:
    """Half a step down, E flat is held as E and spelled with flats."""
    low = Instrument(open_strings("Eb2 Ab2 Db3 Gb3 Bb3 Eb4"))
    measure = strummed(song((Harmony(0, ("E", -1)),), instrument=low)).parts[0].measures[0]
    assert grip(measure) == "022100/023100"
    names = {note.pitch.name for note in measure.voices[0].events[0].notes if note.pitch}
    assert names == {"Eb", "G", "Bb"}


def test_slash_chords() -> None:
    """G/B has a grip of its own; Em/C# is held as Em, and the log says so."""
    over_b = Harmony(0, ("G", 0), bass=("B", 0))
    assert grip(strummed(song((over_b,))).parts[0].measures[0]) == "x20003/020003"
    odd = strummed(song((Harmony(0, ("E", 0), "minor", bass=("C", 1)),)))
    assert grip(odd.parts[0].measures[0])[:6] == "022000"
    assert "Em/C# is held as the plain chord" in " ".join(map(str, odd.changes))


def test_what_gave_way_is_told() -> None:
    """The notes of the tune and its syllables are counted in the log."""
    music = song((C,))
    sung = map_events(
        music.parts[0],
        lambda event: replace(event, lyrics=(Lyric("1", "single", "la", "<text>la</text>"),)),
    )
    done = strummed(with_parts(music, [sung]))
    assert [str(change) for change in done.changes][:2] == [
        "1 chord strummed: C",
        "4 notes or chords of the part gave way to the strummed ones, and 4 syllables with them",
    ]


@pytest.mark.parametrize(
    ("symbols", "match"),
    [
        ((), r"no chord symbols to strum; put harmonize-chords before it"),
        (
            (Harmony(0, ("D", 0)), Harmony(24, ("F", 1), "minor")),
            (
                r"measure 1, beat 3: no open-position grip without a barre is known for F#m; put"
                " capo:fret=2 before it, .*transpose:semitones=-2 before it.*barre=full"
            ),
        ),
        ((Harmony(0, ("C", 0), "Neapolitan"),), r"beat 1: no open-position .* simpler chord"),
        ((Harmony(0, None, "", xml="<function>V</function>"),), r"cannot be read; write it with"),
    ],
)
def test_refusals(symbols: tuple[Harmony, ...], match: str) -> None:
    """What cannot be strummed is refused with its place and the ways out that help."""
    with pytest.raises(Refusal, match=match):
        strummed(song(symbols))


def test_the_ways_out_work() -> None:
    """Each way out that a refusal names leads to a strummed score."""
    score = song((Harmony(0, ("A", -1)), Harmony(24, ("E", -1), "dominant")))
    with pytest.raises(Refusal) as caught:
        strummed(score)
    told = str(caught.value).replace(",", " ").replace("barre=", "strum:barre=").split()
    named = [word for word in told if ":" in word and not word.endswith(":")]
    assert len(named) == 3
    for text in named:
        steps = [text] if text.startswith("strum") else [text, "strum"]
        done = run(score, [parse_step(one) for one in steps]).score
        assert all(note.finger for note in notes(done.parts[0]))


def test_other_tunings_are_refused() -> None:
    """The grips are for a standard tuning; the way out is to go there."""
    drop = Instrument(open_strings("D2 A2 D3 G3 B3 E4"))
    with pytest.raises(Refusal, match=r"standard tuning.*retune:tuning=standard"):
        strummed(song((C,), instrument=drop))
    with pytest.raises(UsageError, match="never, small or full"):
        Strum(barre="yes")
    with pytest.raises(UsageError, match="down-up"):
        Strum(pattern="waltz")


def test_the_promise_can_be_broken() -> None:
    """A note outside the chord symbol, a lost root and another symbol each break it."""
    score = song((C,))
    done = strummed(score)
    part = done.parts[0]

    def lifted(text: str) -> Score:
        new = map_notes(part, lambda note: replace(note, pitch=Pitch.parse(text), place=None))
        return with_parts(done, [new])

    with pytest.raises(ContractBroken, match="D is not in the chord symbol"):
        check({Promise.CHORD_TONES}, score, lifted("D4"), step="wrong")
    rootless = map_notes(
        part,
        lambda note: replace(
            note,
            pitch=Pitch.parse("E4" if note.place and note.place.string > 3 else "G4"),
            place=None,
        ),
    )
    with pytest.raises(ContractBroken, match="neither root nor bass"):
        check({Promise.CHORD_TONES}, score, with_parts(done, [rootless]), step="wrong")
    other = replace(part.measures[0], harmonies=(Harmony(0, ("A", 0), "minor"),))
    with pytest.raises(ContractBroken, match="symbols are not those"):
        check(
            {Promise.CHORD_TONES},
            score,
            with_parts(done, [replace(part, measures=(other,))]),
            step="wrong",
        )


def test_names() -> None:
    """Chord symbols in letters, as refusals and logs write them."""
    assert symbol_text(Harmony(0, ("B", -1), "minor-seventh")) == "Bbm7"
    assert symbol_text(Harmony(0, ("C", 0), degrees=((9, 0, "add"),))) == "C(add9)"
    assert symbol_text(Harmony(0, None, "none")) == "N.C."
