"""Which octave a part sounds in, and what frets say about it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from variants.errors import UsageError
from variants.musicxml import read_bytes, to_bytes
from variants.score import Score, notes

HEAD = '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>{}</part-name>'
TUNING = (
    "<staff-details><staff-lines>6</staff-lines>"
    + "".join(
        f'<staff-tuning line="{line}"><tuning-step>{name[0]}</tuning-step>'
        f"<tuning-octave>{name[1]}</tuning-octave></staff-tuning>"
        for line, name in enumerate(("E2", "A2", "D3", "G3", "B3", "E4"), 1)
    )
    + "</staff-details>"
)
G_CLEF = "<clef><sign>G</sign><line>2</line></clef>"
TAB_CLEF = "<clef><sign>TAB</sign><line>5</line></clef>"


def fretted(pitch: str, string: int, fret: int) -> str:
    """Return a whole note with its place on the neck; no pitch if it is empty."""
    step = f"<step>{pitch[0]}</step><octave>{pitch[1]}</octave>" if pitch else ""
    return (
        f"<note>{f'<pitch>{step}</pitch>' if pitch else ''}<duration>4</duration><type>whole</type>"
        f"<notations><technical><string>{string}</string><fret>{fret}</fret></technical>"
        "</notations></note>"
    )


def plain(pitch: str) -> str:
    """Return a whole note without a place."""
    return (
        f"<note><pitch><step>{pitch[0]}</step><octave>{pitch[1]}</octave></pitch>"
        "<duration>4</duration><type>whole</type></note>"
    )


def part(inside: str, attributes: str = G_CLEF, *, name: str = "Guitar", more: str = "") -> bytes:
    """Return a score of one measure; ``more`` is a second part."""
    return (
        HEAD.format(name)
        + f"</score-part></part-list><part id='P1'><measure number='1'><attributes><divisions>1"
        f"</divisions>{attributes}</attributes>{inside}</measure></part>{more}</score-partwise>"
    ).encode()


SECOND = (
    "<part id='P2'><measure number='1'><attributes><divisions>1</divisions></attributes>"
    + plain("C4")
    + "</measure></part>"
)

OCTAVE_DOWN = "</line><clef-octave-change>-1</clef-octave-change>"


def heard(score: Score) -> list[str]:
    """Return the sounding pitches of the first part."""
    return [str(note.pitch) for note in notes(score.parts[0])]


@pytest.mark.parametrize(
    ("name", "attributes", "more", "reading", "sounds", "logged"),
    [
        ("Guitar", G_CLEF, "", "auto", "E3", True),
        ("Guitar", G_CLEF, "", "concert", "E4", False),
        ("Guitar", "", "", "auto", "E3", True),
        ("Flute", G_CLEF, "", "auto", "E3", True),
        ("Flute", G_CLEF, SECOND, "auto", "E4", False),
        ("Flute", G_CLEF, SECOND, "guitar", "E3", True),
        ("Guitar", G_CLEF, SECOND, "auto", "E3", True),
        ("Guitar", G_CLEF.replace("</line>", "</line><clef-octave-change>-1</clef-octave-change>"),
         "", "auto", "E4", False),
        ("Guitar", G_CLEF + "<transpose><chromatic>0</chromatic><octave-change>-1</octave-change>"
         "</transpose>", "", "auto", "E3", False),
        ("Cello", "<clef><sign>F</sign><line>4</line></clef>", "", "auto", "E4", False),
    ],
)  # fmt: skip
def test_a_plain_treble_clef(
    name: str, attributes: str, more: str, reading: str, sounds: str, logged: bool
) -> None:
    """Design: the file says it, else a lone or a guitar part is read as guitarists read it."""
    score = read_bytes(part(plain("E4"), attributes, name=name, more=more), reading=reading)
    assert heard(score)[0] == sounds
    assert any("read as guitarists read it" in str(line) for line in score.changes) == logged


@pytest.mark.parametrize("octave", [2, 3, 4])
def test_frets_prove_the_octave(octave: int) -> None:
    """The third string open sounds G3 (common practice), whatever octave the pitches are in."""
    score = read_bytes(part(fretted(f"G{octave}", 3, 0), G_CLEF + TUNING))
    assert heard(score) == ["G3"]
    assert any("string and fret show" in str(line) for line in score.changes) == (octave != 3)
    written = read_bytes(to_bytes(score, staves="both"))
    assert heard(written) == ["G3"]


@pytest.mark.parametrize("wrong", [1, 2, 3])
@pytest.mark.parametrize("clef", [G_CLEF, G_CLEF.replace("</line>", OCTAVE_DOWN), TAB_CLEF])
def test_a_few_bad_pairs_move_no_other_note(clef: str, wrong: int) -> None:
    """Pairs an octave off are mended or dropped with a line each; the others keep their height."""
    good = fretted("E3", 4, 2) if clef != G_CLEF else plain("E4")
    bad = fretted("A3", 5, 0)  # the open fifth string sounds A2
    score = read_bytes(part(good * 12 + bad * wrong, clef + TUNING))
    assert heard(score)[:12] == ["E3"] * 12
    if clef != G_CLEF:
        told = [line for line in score.changes if "the tab says string 5 fret 0" in line.message]
        assert len(told) == wrong


def test_harmonics_are_no_witnesses() -> None:
    """A harmonic sounds an octave above its fret at the twelfth, and says nothing of the rest."""
    sign = "<harmonic><natural/></harmonic></technical>"
    harmonic = fretted("D4", 4, 0).replace("</technical>", sign)
    score = read_bytes(part(harmonic * 4 + plain("E4"), G_CLEF + TUNING))
    assert heard(score) == ["D3"] * 4 + ["E3"]  # by the clef, as guitarists read it


def test_the_notation_wins_over_a_fret_that_disagrees() -> None:
    """A place that does not sound the pitch is dropped, and the log says where and why."""
    inside = fretted("G3", 3, 0).replace("4<", "1<") * 3 + fretted("G3", 3, 2).replace("4<", "1<")
    score = read_bytes(part(inside, G_CLEF + TUNING))
    assert heard(score) == ["G3"] * 4
    assert [note.place is None for note in notes(score.parts[0])] == [False, False, False, True]
    (line,) = [line for line in score.changes if "the tab says" in line.message]
    assert (line.measure, line.beat) == ("1", "4")
    assert "string 3 fret 2 (A3)" in line.message


def test_on_a_tab_staff_alone_the_fret_wins() -> None:
    """Where no notation staff stands, what the player reads is the fret."""
    inside = fretted("G3", 3, 0).replace("4<", "1<") * 3 + fretted("G3", 3, 2).replace("4<", "1<")
    score = read_bytes(part(inside, TAB_CLEF + TUNING))
    assert heard(score) == ["G3"] * 3 + ["A3"]


def test_a_note_with_a_place_and_no_pitch_gets_its_pitch() -> None:
    """A tab that gives only strings and frets is read by the tuning of the staff."""
    score = read_bytes(part(fretted("", 4, 7), TAB_CLEF + TUNING))
    assert heard(score) == ["A3"]
    off = read_bytes(part(fretted("", 9, 7), TAB_CLEF + TUNING))
    assert [note.place for note in notes(off.parts[0])] == [None]


def test_a_harmonic_keeps_its_fret() -> None:
    """A natural harmonic sounds elsewhere than its fret; its place stays."""
    harmonic = fretted("D5", 4, 12).replace(
        "</technical>", "<harmonic><natural/></harmonic></technical>"
    )
    score = read_bytes(part(harmonic, TAB_CLEF + TUNING))
    assert [str(note.place) for note in notes(score.parts[0])] == ["string 4 fret 12"]


def test_an_unknown_reading_is_refused() -> None:
    """The three readings are named when another is asked for."""
    with pytest.raises(UsageError, match="use auto, guitar or concert"):
        read_bytes(part(plain("E4")), reading="viola")


@pytest.mark.parametrize("attributes", [G_CLEF, ""])
@pytest.mark.parametrize("reading", ["auto", "concert"])
def test_what_was_read_is_read_the_same_again(attributes: str, reading: str) -> None:
    """Our own files say their octave, so a second reading assumes nothing."""
    score = read_bytes(part(plain("E4"), attributes, name="Flute"), reading=reading)
    again = read_bytes(to_bytes(score))
    assert heard(again) == heard(score)
    assert again.changes == ()


def test_a_part_taken_out_of_a_score_keeps_its_octave() -> None:
    """A flute sounds as written beside other parts, and still does when it stands alone."""
    both = read_bytes(part(plain("E5"), name="Flute", more=SECOND))
    alone = replace(both, parts=both.parts[:1])
    assert heard(read_bytes(to_bytes(alone))) == ["E5"]
