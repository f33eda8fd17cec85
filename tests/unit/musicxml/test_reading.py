"""What the reader makes of a file: forms, times, voices, values, signs."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.unit.musicxml.test_bad_input import ATTRIBUTES, NOTE, score
from variants.musicxml import read_bytes, to_bytes
from variants.score import Event, Score, events, notes
from variants.score.strung import tunings

QUARTER = NOTE.replace("<duration>4", "<duration>1").replace("whole", "quarter")


def made(inside: str, attributes: str = ATTRIBUTES) -> Score:
    """Return a score of one measure in the bass clef, which says its octave."""
    clef = "<clef><sign>F</sign><line>4</line></clef></attributes>"
    return read_bytes(score(inside, attributes=attributes.replace("</attributes>", clef)))


def all_events(found: Score) -> list[Event]:
    """Return the events of the first part."""
    return [event for _, event in events(found.parts[0])]


def quarters(found: Score, ticks: int) -> Fraction:
    """Return ticks as quarters."""
    return Fraction(ticks, found.ticks)


def test_timewise_is_turned_round() -> None:
    """A score ordered by measures is the same score as one ordered by parts."""
    names = "".join(
        f'<score-part id="{i}"><part-name>{i}</part-name></score-part>' for i in ("P1", "P2")
    )

    def inside(letter: str, first: bool) -> str:
        return (ATTRIBUTES if first else "") + NOTE.replace("<step>E", f"<step>{letter}")

    measures = [
        [("P1", inside("C", True)), ("P2", inside("D", True))],
        [("P1", inside("E", False)), ("P2", inside("F", False))],
    ]
    timewise = "".join(
        f'<measure number="{n}" implicit="no">'
        + "".join(f'<part id="{name}">{text}</part>' for name, text in row)
        + "</measure>"
        for n, row in enumerate(measures, 1)
    )
    partwise = "".join(
        f'<part id="{name}">'
        + "".join(
            f'<measure number="{n}">{row[i][1]}</measure>' for n, row in enumerate(measures, 1)
        )
        + "</part>"
        for i, name in enumerate(("P1", "P2"))
    )
    head = f"<part-list>{names}</part-list>"
    one = read_bytes(f"<score-timewise>{head}{timewise}</score-timewise>".encode())
    other = read_bytes(f"<score-partwise>{head}{partwise}</score-partwise>".encode())
    assert one == other
    assert [str(n.pitch) for p in one.parts for n in notes(p)] == ["C4", "E4", "D4", "F4"]


def test_voices_backups_and_forwards() -> None:
    """Each voice keeps its own time; a gap that is skipped stays a gap."""
    second = QUARTER.replace("<type>", "<voice>2</voice><type>")
    found = made(
        f"{NOTE}<backup><duration>4</duration></backup><forward><duration>1</duration></forward>"
        f"{second}<forward><duration>1</duration></forward>{second}"
    )
    onsets = {
        voice.id: [quarters(found, event.onset) for event in voice.events]
        for voice in found.parts[0].measures[0].voices
    }
    assert onsets == {"1": [0], "2": [1, 3]}
    assert made_again(found) == found.parts


def made_again(found: Score) -> object:
    """Return the parts after writing and reading."""
    return read_bytes(to_bytes(found)).parts


def test_overlapping_notes_of_one_voice_are_parted() -> None:
    """Two staves that both call their voice 1 become two voices; no note is lost."""
    found = made(f"{NOTE}<backup><duration>4</duration></backup>{NOTE}")
    voices = found.parts[0].measures[0].voices
    assert [len(voice.events) for voice in voices] == [1, 1]
    assert len({voice.id for voice in voices}) == 2


@pytest.mark.parametrize("divisions", [1, 3, 7, 10080])
def test_divisions_of_every_size(divisions: int) -> None:
    """Whatever the divisions, a quarter lasts a quarter, and halves and thirds stay whole."""
    attributes = ATTRIBUTES.replace("<divisions>1<", f"<divisions>{divisions}<")
    found = made(QUARTER.replace("<duration>1<", f"<duration>{divisions}<") * 4, attributes)
    assert [quarters(found, event.onset) for event in all_events(found)] == [0, 1, 2, 3]
    assert found.ticks % 48 == 0


@pytest.mark.parametrize("divisions", [1, 2, 8])
def test_divisions_that_are_missing(divisions: int) -> None:
    """Without divisions the first printed value says how long a duration lasts, and the log too."""
    attributes = ATTRIBUTES.replace("<divisions>1</divisions>", "")
    found = made(QUARTER.replace("<duration>1<", f"<duration>{divisions}<") * 4, attributes)
    assert [quarters(found, event.onset) for event in all_events(found)] == [0, 1, 2, 3]
    assert any("no <divisions> are given" in str(line) for line in found.changes)


def _tuned(lowest: str, capo: int = 0) -> str:
    names = [("E", 4), ("B", 3), ("G", 3), ("D", 3), ("A", 2), (lowest, 2)]
    lines = "".join(
        f'<staff-tuning line="{line}"><tuning-step>{step}</tuning-step>'
        f"<tuning-octave>{octave}</tuning-octave></staff-tuning>"
        for line, (step, octave) in enumerate(reversed(names), 1)
    )
    fret = f"<capo>{capo}</capo>" if capo else ""
    return f"<attributes><staff-details>{lines}{fret}</staff-details></attributes>"


_ONE_STRING = (
    '<attributes><staff-details><staff-tuning line="1"><tuning-step>D</tuning-step>'
    "<tuning-octave>2</tuning-octave></staff-tuning></staff-details></attributes>"
)
_CAPO = "<attributes><staff-details><capo>2</capo></staff-details></attributes>"


@pytest.mark.parametrize(
    ("changes", "lowest", "capos"),
    [
        ((_tuned("E"), _tuned("E")), ["E2"], [0]),
        ((_tuned("E"), _tuned("D")), ["E2", "D2"], [0, 0]),
        ((_tuned("E"), _tuned("E", 2)), ["E2", "E2"], [0, 2]),
        ((_tuned("E"), _ONE_STRING), ["E2", "D2"], [0, 0]),
        ((_tuned("E"), _CAPO), ["E2", "E2"], [0, 2]),
        ((_tuned("E", 2), _ONE_STRING), ["E2", "D2"], [2, 2]),
    ],
)
def test_tuning_and_capo_are_followed(
    changes: tuple[str, str], lowest: list[str], capos: list[int]
) -> None:
    """Each note has the strings in force at it; one string or the capo may change alone."""
    found = made(f"{changes[0]}{QUARTER}{changes[1]}{QUARTER}")
    under = [strung for _, _, strung in tunings(found.parts[0])]
    assert [str(strung.open_strings[-1]) for strung in under] == lowest
    assert [strung.capo for strung in under] == capos
    again = read_bytes(to_bytes(found, staves="source"))
    assert [strung for _, _, strung in tunings(again.parts[0])] == under


def test_a_capo_of_no_known_strings_is_told() -> None:
    """A capo alone says nothing of an instrument that the file does not name."""
    (line,) = [str(line) for line in made(f"{_CAPO}{QUARTER}").changes if "capo" in str(line)]
    assert "a capo without the tuning" in line


def test_decimal_durations() -> None:
    """The standard allows decimals: a third of a note in two digits ends where it says."""
    found = made(QUARTER.replace("<duration>1<", "<duration>0.5<") * 8)
    assert [quarters(found, event.onset) for event in all_events(found)][-1] == Fraction(7, 2)


def test_tuplets_grace_notes_and_cues() -> None:
    """Ratios, slashed grace notes and cue notes keep what they are."""
    third = (
        QUARTER.replace("<duration>1<", "<duration>2<").replace("quarter", "eighth").replace(
            "</note>",
            "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes>"
            "</time-modification></note>",
        )
    )  # fmt: skip
    grace = QUARTER.replace("<duration>1</duration>", "").replace(
        "<note>", '<note><grace slash="yes"/>'
    )
    cue = QUARTER.replace("<duration>1<", "<duration>6<").replace("<note>", "<note><cue/>")
    attributes = ATTRIBUTES.replace("<divisions>1<", "<divisions>6<")
    found = made(third * 3 + grace + cue, attributes)
    assert [str(event.value) for event in all_events(found)[:3]] == ["eighth (3:2)"] * 3
    assert [quarters(found, event.onset) for event in all_events(found)] == [
        0, Fraction(1, 3), Fraction(2, 3), 1, 1,
    ]  # fmt: skip
    assert all_events(found)[3].grace == (("slash", "yes"),)
    assert all_events(found)[4].is_cue
    assert made_again(found) == found.parts


def test_a_tie_that_is_only_drawn_is_a_tie() -> None:
    """``tied`` without ``tie`` counts; a tie that is let ring stays a sign."""
    drawn = QUARTER.replace("</note>", '<notations><tied type="start"/></notations></note>')
    ring = QUARTER.replace("</note>", '<notations><tied type="let-ring"/></notations></note>')
    first, second = all_events(made(drawn + ring))
    assert (first.notes[0].tie_start, first.notes[0].marks) == (True, ())
    assert (second.notes[0].tie_start, len(second.notes[0].marks)) == (False, 1)


def test_a_note_without_a_duration_takes_its_value() -> None:
    """The printed value is taken, and the log says so."""
    found = made(QUARTER.replace("<duration>1</duration>", ""))
    assert quarters(found, all_events(found)[0].duration) == 1
    assert any("its printed value (quarter) was taken" in str(line) for line in found.changes)


def test_a_chord_without_a_first_note_is_told() -> None:
    """A note that joins a chord of nothing is one of its own, and the log names its measure."""
    joined = QUARTER.replace("<note>", "<note><chord/>", 1)
    found = made(joined + QUARTER)
    assert len(all_events(found)) == 2
    (line,) = [one for one in found.changes if "no note before it" in one.message]
    assert line.measure == "1"
    assert "it was read as a note of its own" in line.message


@pytest.mark.parametrize(
    ("child", "logged"),
    [
        ("<wobble/>", "<wobble> is no child of a note"),
        ("<stem>&lt;up&gt;</stem>", "a stem is '<up>'"),
        ('<beam number="1">&amp;</beam>', "a beam is '&'"),
    ],
)
def test_what_the_standard_does_not_have_is_logged(child: str, logged: str) -> None:
    """An unknown child of a note, stem or beam is left out by name."""
    found = made(QUARTER.replace("</note>", f"{child}</note>"))
    assert any(logged in str(line) for line in found.changes)
    assert made_again(found) == found.parts


@pytest.mark.parametrize(
    ("signature", "metre"),
    [
        ("<beats>3+2</beats><beat-type>8</beat-type>", "3+2/8"),
        ("<beats>2</beats><beat-type>4</beat-type><beats>3</beats><beat-type>8</beat-type>",
         "2/4 + 3/8"),
        ("<senza-misura/>", "senza misura"),
    ],
)  # fmt: skip
def test_metres(signature: str, metre: str) -> None:
    """Added, composite and absent metres are read and come back."""
    old = "<beats>4</beats><beat-type>4</beat-type>"
    found = made(NOTE, ATTRIBUTES.replace(old, signature))
    assert str(found.parts[0].measures[0].attributes[0].metre) == metre
    assert made_again(found) == found.parts


def test_chord_symbols() -> None:
    """Root, kind, bass, degrees; no chord has no root; an unknown kind is logged."""
    symbol = (
        "<harmony><root><root-step>{}</root-step></root><kind>{}</kind>"
        "<bass><bass-step>G</bass-step><bass-alter>1</bass-alter></bass>"
        "<degree><degree-value>9</degree-value><degree-alter>-1</degree-alter>"
        "<degree-type>add</degree-type></degree></harmony>"
    )
    inside = symbol.format("E", "dominant") + symbol.format("C", "none") + symbol.format("C", "odd")
    found = made(inside + NOTE)
    first, none, odd = found.parts[0].measures[0].harmonies
    assert (first.root, first.kind, first.bass) == (("E", 0), "dominant", ("G", 1))
    assert first.degrees == ((9, -1, "add"),)
    assert none.root is None
    assert (odd.kind, odd.text) == ("other", "odd")
    assert any("chord kind 'odd'" in str(line) for line in found.changes)
    assert made_again(found) == found.parts


def test_an_offset_moves_a_direction_within_its_measure() -> None:
    """An offset counts from where the direction stands, and never leaves the measure."""
    words = (
        "<direction><direction-type><words>{}</words></direction-type>"
        "<offset>{}</offset></direction>"
    )
    found = made(words.format("a", 2) + words.format("b", 99) + words.format("c", -9) + NOTE)
    onsets = {
        one.words: quarters(found, one.onset) for one in found.parts[0].measures[0].directions
    }
    assert onsets == {"c": 0, "a": 2, "b": 4}


def test_tempo_from_sound_and_from_print() -> None:
    """A sound says it exactly; a metronome mark counts its own unit; words set no tempo."""
    mark = (
        "<direction><direction-type><metronome><beat-unit>quarter</beat-unit><beat-unit-dot/>"
        "<per-minute>{}</per-minute></metronome></direction-type>{}</direction>"
    )
    inside = (
        mark.format("80", "") + mark.format("c. 80", "") + mark.format("60", '<sound tempo="90"/>')
    )
    found = made(inside + NOTE)
    tempi = [one.quarters_per_minute for one in found.parts[0].measures[0].directions]
    assert tempi == [120, None, 90]


def test_repeats_and_endings() -> None:
    """Barlines keep style, repeat, times and ending brackets."""
    right = (
        '<barline location="right"><bar-style>light-heavy</bar-style>'
        '<ending number="1,2" type="stop"/><repeat direction="backward" times="3"/></barline>'
    )
    (barline,) = made(NOTE + right).parts[0].measures[0].barlines
    assert (barline.style, barline.repeat, barline.times) == ("light-heavy", "backward", 3)
    assert barline.ending == ("1,2", "stop", "")
    assert made_again(made(NOTE + right)) == made(NOTE + right).parts


def test_words_in_comments_and_sections() -> None:
    """Comments and instructions to other programs are passed over, CDATA is text."""
    inside = NOTE.replace("<type>", "<!-- a comment --><?program do?><type>")
    assert made(inside).parts == made(NOTE).parts
    named = score().replace(b">A<", b"><![CDATA[Rise & fall]]><")
    assert read_bytes(named).parts[0].name == "Rise & fall"
