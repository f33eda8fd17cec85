"""Rules of signs, rhythm, spans, repeats, texts and impossible XML."""

from __future__ import annotations

import pytest

from tests.unit.proof.pages import (
    TEMPO,
    attributes,
    found,
    note,
    page,
    part,
    score,
    told,
)

WHOLE = note("E3", 8)


def _quarters(*pitches: str) -> str:
    return "".join(note(pitch) for pitch in pitches)


# -- signs -----------------------------------------------------------------------------------


def test_sign_holds_for_its_octave_to_the_end_of_the_measure() -> None:
    """The second F sharp needs no sign, the one in the next measure does."""
    bar = note("F#3", 4, sign="sharp") + note("F#3", 4)
    assert found(page(bar, bar)) == []
    (one,) = found(page(bar, bar, bar, note("F#3", 8)), "accidental-missing")
    assert (one.measure, one.expected, one.fix) == ("4", "a sharp", "write a sharp")
    assert one.message == "F#3 has no sign and would be read as F natural"


def test_sign_of_another_octave_does_not_hold() -> None:
    """F sharp 4 needs its own sign when only F sharp 3 has one."""
    bar = note("F#3", 4, sign="sharp") + note("F#4", 4, sign="sharp")
    bad = note("F#3", 4, sign="sharp") + note("F#4", 4)
    assert told(page(bar, bar, bad), "accidental-missing") == [("3", "3", "error")]


def test_tied_note_needs_no_sign() -> None:
    """A note tied over the barline bears none; the next one in the measure does (a warning)."""
    first = note("F#3", 8, sign="sharp", tie="start")
    assert found(page(first, note("F#3", 8, tie="stop"))) == []
    after = note("F#3", 4, tie="stop") + note("F#3", 4)
    assert told(page(first, after), "accidental-missing") == [("2", "3", "warning")]


def test_key_does_not_need_signs() -> None:
    """In D major F sharp needs none and F natural one; a sharp on F is too many."""
    head = attributes(fifths=2)
    assert found(page(note("F#3", 4) + note("F3", 4, sign="natural"), head=head)) == []
    assert told(page(note("F#3", 8, sign="sharp"), head=head), "accidental-redundant") == [
        ("1", "1", "hint")
    ]


def test_wrong_sign() -> None:
    """A flat on a note that sounds sharp contradicts itself."""
    assert told(page(note("F#3", 8, sign="flat")), "accidental-wrong") == [("1", "1", "error")]


def test_file_without_signs_is_one_hint() -> None:
    """A program that writes no accidentals leaves them to the next one."""
    data = page(*(note("F#3", 8) for _ in range(5)))
    assert told(data, "accidental-missing") == [("", "", "hint")]


def test_letter_altered_in_another_octave() -> None:
    """A natural beside a sharp in another octave is easily misread."""
    data = page(note("F#3", 4, sign="sharp") + note("F4", 4))
    assert told(data, "accidental-octave") == [("1", "3", "hint")]


def test_odd_spelling() -> None:
    """E sharp in C major is spelled in a way that no one expects."""
    (one,) = found(page(note("E#3", 8, sign="sharp")), "enharmonic")
    assert one.expected == "F3"


# -- rhythm ----------------------------------------------------------------------------------


def test_measure_sums() -> None:
    """Too long and too short are told at the beat where it goes wrong."""
    assert told(page(WHOLE, WHOLE + note("E3"), WHOLE), "measure-sum") == [("2", "5", "error")]
    short = page(WHOLE, _quarters("E3", "F3", "G3"), WHOLE)
    (one,) = found(short, "measure-sum")
    assert one.message == "the measure lasts 3 quarters and is shorter than its metre, 4/4"


def test_pick_ups_and_split_measures_are_exempt() -> None:
    """A marked pick-up, its complement at the end, and halves around a repeat add up."""
    pickup = (
        f'<measure number="0" implicit="yes">{attributes()}{TEMPO}{note("E3")}</measure>'
        f'<measure number="1">{WHOLE}</measure>'
        f'<measure number="2">{_quarters("E3", "F3", "G3")}</measure>'
    )
    assert found(score(part(pickup))) == []
    repeat = '<barline location="right"><repeat direction="backward"/></barline>'
    split = (
        f'<measure number="1">{attributes()}{TEMPO}{WHOLE}</measure>'
        f'<measure number="2">{note("E3", 4)}{repeat}</measure>'
        f'<measure number="3" implicit="yes">{note("E3", 4)}</measure>'
        f'<measure number="4">{WHOLE}</measure>'
    )
    assert found(score(part(split)), "measure-sum") == []


def test_beats_of_a_pick_up_count_from_its_metre() -> None:
    """One quarter before the first measure of 4/4 is beat 4."""
    bars = (
        f'<measure number="0" implicit="yes">{attributes()}{TEMPO}'
        f'{note("F#3", sign="flat")}</measure><measure number="1">{WHOLE}</measure>'
    )
    assert told(score(part(bars)), "accidental-wrong") == [("0", "4", "error")]


def test_senza_misura_is_exempt() -> None:
    """Without a metre there is no sum."""
    head = attributes().replace("<beats>4</beats><beat-type>4</beat-type>", "<senza-misura/>")
    assert found(page(WHOLE + WHOLE, WHOLE, head=head)) == []


def test_no_time_signature_is_exempt() -> None:
    """Without a time signature nothing says how long a measure should be."""
    head = attributes().replace("<time><beats>4</beats><beat-type>4</beat-type></time>", "")
    assert found(page(WHOLE, note("E3"), WHOLE + WHOLE, head=head)) == []


def test_metre_missing_in_every_part_is_a_warning() -> None:
    """Where all parts agree on an odd length it is the metre that lacks."""
    bars = (
        f'<measure number="1">{attributes()}{TEMPO}{WHOLE}</measure>'
        f'<measure number="2">{WHOLE}{note("E3")}</measure><measure number="3">{WHOLE}</measure>'
    )
    data = score(part(bars), part(bars, "P2"), names=("Guitar", "Guitar 2"))
    assert {one[2] for one in told(data, "measure-sum")} == {"warning"}


def test_value_against_duration() -> None:
    """A quarter that lasts a half is printed wrongly; a whole rest stands for any measure."""
    data = page(note("E3", 4, kind="quarter") + note("E3", 4))
    assert told(data, "note-value") == [("1", "1", "error")]
    head = attributes(time="3/4")
    assert found(page(note("rest", 6, kind="whole"), head=head)) == []


def _triplet(*ends: str, notes: int = 3) -> str:
    # Three divisions of a triplet eighth want six in a quarter.
    ratio = (
        "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes>"
        "</time-modification>"
    )
    return "".join(
        "<note><pitch><step>E</step><octave>3</octave></pitch><duration>2</duration>"
        f"<voice>1</voice><type>eighth</type>{ratio}"
        + (f'<notations><tuplet type="{end}"/></notations>' if end else "")
        + "</note>"
        for end in ends[:notes]
    )


SIX = attributes(time="1/4").replace("<divisions>2", "<divisions>6")


def test_tuplets() -> None:
    """A triplet has three notes and both ends of its bracket; the missing end can be written."""
    assert found(page(_triplet("start", "", "stop"), head=SIX)) == []
    (one,) = found(page(_triplet("start", "", ""), head=SIX), "tuplet-open")
    assert one.fix == "write the stop of the tuplet"
    full = _triplet("start", "", "stop")
    short = page(full, _triplet("start", "stop", notes=2), full, head=SIX)
    assert told(short, "tuplet-fill") == [("2", "1", "error")]


def test_voices() -> None:
    """Two notes of one voice overlap; a voice that fills all other measures leaves a gap."""
    back = "<backup><duration>4</duration></backup>"
    assert told(page(WHOLE + back + note("F3", 4)), "voice-overlap") == [("1", "3", "error")]
    low = "<backup><duration>8</duration></backup>" + note("E2", 8, voice=2)
    gap = "<backup><duration>8</duration></backup>" + note("E2", 4, voice=2)
    data = page(*(WHOLE + low for _ in range(4)), WHOLE + gap)
    assert told(data, "voice-gap") == [("5", "3", "warning")]


# -- ties and spans --------------------------------------------------------------------------


def test_ties() -> None:
    """A tie needs a note of the same pitch on its other side."""
    start, stop = note("E3", 8, tie="start"), note("E3", 8, tie="stop")
    assert found(page(start, stop)) == []
    assert told(page(start, WHOLE), "tie-open") == [("1", "1", "error")]
    assert told(page(WHOLE, stop), "tie-open") == [("2", "1", "error")]
    assert told(page(start, note("F3", 8, tie="stop")), "tie-pitch") == [("2", "1", "error")]
    ringing = page(note("E3", 4, tie="start") + note("rest", 4))
    assert told(ringing, "tie-open") == [("1", "1", "warning")]


def test_tie_whose_end_is_not_marked_is_one_finding() -> None:
    """The note that a tie leads to bears its sign, and only the missing mark is told."""
    data = page(note("F#3", 8, sign="sharp", tie="start"), note("F#3", 8))
    (one,) = found(data)
    assert (one.rule, one.measure, one.severity.value) == ("tie-open", "1", "error")
    assert one.message == (
        "the tie from F#3 has no end: the F#3 that follows does not say that it is tied"
    )
    # A tie to another pitch carries no sign.
    other = page(note("F#3", 8, sign="sharp", tie="start"), note("G#3", 8))
    assert [one.rule for one in found(other)] == ["tie-open", "accidental-missing"]


def test_ending_closed_without_a_number() -> None:
    """The message names what is not there."""
    first = '<barline location="left"><ending number="1" type="start"/></barline>'
    close = (
        '<barline location="right"><ending number="" type="stop"/>'
        '<repeat direction="backward"/></barline>'
    )
    (one,) = found(page(first + WHOLE + close, WHOLE), "ending-open")
    assert one.message == "ending 1 is closed without its number"


def test_tie_over_an_ending_is_a_hint() -> None:
    """Into a second ending a tie comes from before the first."""
    start = note("E3", 8, tie="start")
    first = '<barline location="left"><ending number="1" type="start"/></barline>'
    close = (
        '<barline location="right"><ending number="1" type="stop"/>'
        '<repeat direction="backward"/></barline>'
    )
    second = '<barline location="left"><ending number="2" type="start"/></barline>'
    end = '<barline location="right"><ending number="2" type="stop"/></barline>'
    stop = note("E3", 8, tie="stop")
    data = page(start, first + stop + close, second + stop + end)
    assert {(one.rule, one.severity.value) for one in found(data)} == {("tie-open", "hint")}


def test_slurs() -> None:
    """A slur needs both ends, whatever its number."""
    start, stop = (f'<slur number="1" type="{kind}"/>' for kind in ("start", "stop"))
    first, last = note("E3", 4, notations=start), note("F3", 4, notations=stop)
    assert found(page(first + last)) == []
    assert told(page(first + note("F3", 4), WHOLE), "slur-open") == [("1", "1", "error")]
    other = note("F3", 4, notations=stop.replace('"1"', '"2"'))
    assert found(page(first + other)) == []


# -- repeats, numbers, texts -----------------------------------------------------------------


FORWARD = '<barline location="left"><repeat direction="forward"/></barline>'
BACKWARD = '<barline location="right"><repeat direction="backward"/></barline>'


def test_repeats() -> None:
    """A forward sign needs its end; a first backward sign goes to the beginning."""
    assert found(page(WHOLE, WHOLE + BACKWARD)) == []
    assert found(page(WHOLE, FORWARD + WHOLE + BACKWARD)) == []
    assert told(page(WHOLE, FORWARD + WHOLE), "repeat-open") == [("2", "", "error")]


def test_endings() -> None:
    """A second ending follows a first one, and each is closed."""

    def ending(number: int, *, closed: bool = True) -> str:
        close = f'<ending number="{number}" type="stop"/>' if closed else ""
        repeat = '<repeat direction="backward"/>' if number == 1 else ""
        return (
            f'<barline location="left"><ending number="{number}" type="start"/></barline>{WHOLE}'
            f'<barline location="right">{close}{repeat}</barline>'
        )

    assert found(page(WHOLE, ending(1), ending(2))) == []
    assert told(page(WHOLE, ending(1, closed=False), ending(2)), "ending-open") == [
        ("2", "", "error")
    ]
    assert told(page(WHOLE, ending(3), WHOLE), "ending-open") == [("2", "", "error")]


def _words(text: str) -> str:
    return f"<direction><direction-type><words>{text}</words></direction-type></direction>"


@pytest.mark.parametrize(
    ("texts", "severities"),
    [
        (("D.S. al Fine", "Fine"), ["error"]),
        (("D.C. al Fine", ""), ["error"]),
        (("D.C. al Fine", "Fine"), []),
        (("D.C. al Coda", ""), ["error"]),
        (("D.C. al Coda", "Coda"), []),
        (("DS al Coda", "Coda"), ["error"]),
        (("a fine tone", ""), []),
        (("rit. al fine", ""), []),
        (("Da Capo al Fine", ""), ["error"]),
    ],
)
def test_jumps(texts: tuple[str, str], severities: list[str]) -> None:
    """A jump needs the sign that it leads to."""
    data = page(WHOLE, WHOLE + _words(texts[0]), WHOLE + _words(texts[1]))
    assert [one[2] for one in told(data, "segno-coda")] == severities


def test_measure_numbers() -> None:
    """A number that skips is told once, where it skips."""
    bars = (
        f'<measure number="1">{attributes()}{TEMPO}{WHOLE}</measure>'
        f'<measure number="3">{WHOLE}</measure><measure number="4">{WHOLE}</measure>'
    )
    (one,) = found(score(part(bars)), "measure-numbers")
    assert (one.measure, one.expected) == ("3", "measure 2")


def test_lyrics() -> None:
    """A syllable under a rest, a word without its end."""

    def lyric(text: str, kind: str = "single") -> str:
        return f"<lyric><syllabic>{kind}</syllabic><text>{text}</text></lyric>"

    data = page(note("E3", 4, lyric=lyric("sing")) + note("rest", 4, lyric=lyric("me")))
    assert told(data, "lyric-rest") == [("1", "3", "warning")]
    broken = page(note("E3", 4, lyric=lyric("A", "begin")) + note("F3", 4, lyric=lyric("grace")))
    assert told(broken, "lyric-hyphen") == [("1", "1", "warning")]


def test_counting() -> None:
    """A count that is not that of its beat is told, and the right one can be written."""

    def count(text: str) -> str:
        return f'<lyric name="counting" number="1"><text>{text}</text></lyric>'

    eighths = ("1", "&amp;", "2", "&amp;", "3", "&amp;", "4", "&amp;")
    right = "".join(note("E3", 1, lyric=count(text)) for text in eighths)
    assert found(page(right)) == []
    wrong = right.replace("<text>3<", "<text>4<")
    (one,) = found(page(wrong), "counting")
    assert (one.beat, one.expected, one.fix) == ("3", "'3'", "count it '3'")


def _harmony(step: str, kind: str, frame: str = "") -> str:
    return (
        f"<harmony><root><root-step>{step}</root-step></root><kind>{kind}</kind>{frame}</harmony>"
    )


def test_chord_symbols() -> None:
    """C major over C, E and G is right, over two foreign notes of three it is not."""
    chord = note("C4", 8) + note("E4", 8, chord=True) + note("G4", 8, chord=True)
    assert found(page(_harmony("C", "major") + chord)) == []
    assert found(page(_harmony("A", "minor") + chord), "chord-symbol") == []
    assert told(page(_harmony("D", "major") + chord), "chord-symbol") == [("1", "1", "warning")]


def test_chord_diagrams() -> None:
    """The open C chord is C major; with one fret off it is not; a dot outside is no dot."""

    def frame(*dots: tuple[int, int]) -> str:
        notes = "".join(
            f"<frame-note><string>{string}</string><fret>{fret}</fret></frame-note>"
            for string, fret in dots
        )
        return f"<frame><frame-strings>6</frame-strings><frame-frets>4</frame-frets>{notes}</frame>"

    good = frame((5, 3), (4, 2), (3, 0), (2, 1), (1, 0))
    assert found(page(_harmony("C", "major", good) + WHOLE)) == []
    off = frame((5, 3), (4, 2), (3, 1), (2, 1), (1, 0))
    assert told(page(_harmony("C", "major", off) + WHOLE), "frame-chord") == [("1", "1", "warning")]
    outside = frame((5, 9))
    assert told(page(_harmony("F", "major", outside) + WHOLE), "frame-shape") == [
        ("1", "1", "error")
    ]


def test_missing_lines() -> None:
    """Title, rights and tempo are hints for the file as a whole."""
    data = (
        page(WHOLE)
        .replace(b"<work><work-title>Test</work-title></work>", b"")
        .replace(b"<rights>CC0</rights>", b"")
        .replace(TEMPO.encode(), b"")
    )
    assert [(f.rule, f.severity.value, f.part) for f in found(data)] == [
        ("rights-missing", "hint", ""),
        ("tempo-missing", "hint", ""),
        ("title-missing", "hint", ""),
    ]


# -- valid, and impossible -------------------------------------------------------------------


def test_impossible_xml() -> None:
    """A staff, a part, an instrument, a chord, a backup, divisions that there are not."""
    assert told(page(note("E3", 8, staff=5)), "staff-number") == [("1", "1", "error")]
    unknown = page(WHOLE).replace(b'<part id="P1">', b'<part id="P9">')
    assert [f.rule for f in found(unknown)].count("part-id") == 2
    assert told(page(note("E3", 8, inside='<instrument id="x"/>')), "instrument-id") == [
        ("1", "1", "error")
    ]
    assert told(page(note("E3", 8, chord=True)), "chord-first")[0] == ("1", "1", "error")
    back = "<backup><duration>99</duration></backup>"
    assert told(page(WHOLE + back + note("E3", 8, voice=2)), "backup") == [("1", "", "error")]
    head = attributes().replace("<divisions>2</divisions>", "")
    assert told(page(WHOLE, head=head), "divisions") == [("1", "1", "error")]
    assert told(page(WHOLE).replace(b"<octave>3", b"<octave>x"), "xml-value") == [
        ("1", "1", "error")
    ]
    assert told(page(WHOLE, head=attributes(time="0/4")), "metre") == [("1", "1", "error")]


def test_parts_of_different_length() -> None:
    """A part with fewer measures than another is told at its last one."""
    one = f'<measure number="1">{attributes()}{TEMPO}{WHOLE}</measure>'
    two = one + f'<measure number="2">{WHOLE}</measure>'
    data = score(part(two), part(one, "P2"), names=("Guitar", "Guitar 2"))
    (finding,) = found(data, "measure-count")
    assert (finding.part, finding.measure) == ("P2", "1")


def test_beams_and_lines() -> None:
    """A beam and a wedge need both their ends."""
    beam = note("E3", 1).replace("</type>", '</type><beam number="1">begin</beam>')
    assert told(page(beam + note("E3", 1) + note("E3", 6)), "beam-open") == [("1", "1", "warning")]
    wedge = '<direction><direction-type><wedge type="crescendo"/></direction-type></direction>'
    assert told(page(wedge + WHOLE), "line-open") == [("1", "1", "warning")]
