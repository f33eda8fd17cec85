"""A tab staff beside its notation is one music: pitches from the notation, places from the tab."""

from __future__ import annotations

import pytest

from tests.unit.musicxml.test_octaves import TUNING
from variants.musicxml import read_bytes, to_bytes
from variants.score import Score, events, notes

G_CLEF = (
    '<clef number="1"><sign>G</sign><line>2</line>'
    "<clef-octave-change>-1</clef-octave-change></clef>"
)
GROUP_END = '<part-group number="1" type="stop"/>'
CAPO = TUNING.replace("</staff-details>", "<capo>2</capo></staff-details>")


def note(
    pitch: str, quarters: int = 1, *, staff: int = 1, chord: bool = False, more: str = ""
) -> str:
    """Return a note; ``more`` goes into its ``technical``."""
    step, sign, octave = pitch[0], pitch[1:-1], pitch[-1]
    alter = {"": "", "#": "<alter>1</alter>", "b": "<alter>-1</alter>"}[sign]
    technical = f"<notations><technical>{more}</technical></notations>" if more else ""
    return (
        f"<note>{'<chord/>' if chord else ''}<pitch><step>{step}</step>{alter}"
        f"<octave>{octave}</octave></pitch><duration>{12 * quarters}</duration>"
        f"<voice>{1 if staff == 1 else 5}</voice><staff>{staff}</staff>{technical}</note>"
    )


def at(string: int, fret: int) -> str:
    """Return a place on the neck."""
    return f"<string>{string}</string><fret>{fret}</fret>"


def two_staves(above: str, below: str, *, details: str = TUNING, back: int = 48) -> bytes:
    """Return one part on two staves, notation and tab."""
    second = details.replace("<staff-details>", '<staff-details number="2">')
    return (
        '<score-partwise><part-list><score-part id="P1"><part-name>Guitar</part-name></score-part>'
        '</part-list><part id="P1"><measure number="1"><attributes><divisions>12</divisions>'
        f"<time><beats>4</beats><beat-type>4</beat-type></time><staves>2</staves>{G_CLEF}"
        f'<clef number="2"><sign>TAB</sign><line>5</line></clef>{second}</attributes>'
        f"{above}<backup><duration>{back}</duration></backup>{below}</measure></part>"
        "</score-partwise>"
    ).encode()


def two_parts(above: str, below: str) -> bytes:
    """Return two parts, the second a tab."""
    names = "".join(
        f'<score-part id="{name}"><part-name>{name}</part-name></score-part>'
        for name in ("P1", "P2", "P3")
    )
    heads = (
        G_CLEF.replace(' number="1"', ""),
        f"<clef><sign>TAB</sign><line>5</line></clef>{TUNING}",
        "<clef><sign>F</sign><line>4</line></clef>",
    )
    parts = "".join(
        f'<part id="P{number}"><measure number="1"><attributes><divisions>12</divisions>{head}'
        f"</attributes>{inside}</measure></part>"
        for number, (head, inside) in enumerate(
            zip(heads, (above, below, note("C3", 4)), strict=True), 1
        )
    )
    grouped = names.replace("</score-part>", f"</score-part>{GROUP_END}", 2)
    return f"<score-partwise><part-list>{grouped}</part-list>{parts}</score-partwise>".encode()


def placed(score: Score) -> list[tuple[str, str, str]]:
    """Return pitch, place and finger of every note of the first part."""
    return [
        (str(one.pitch), str(one.place) if one.place else "", one.finger)
        for one in notes(score.parts[0])
    ]


CHORD = [("C3", 5, 3), ("E3", 4, 2), ("G3", 3, 0), ("C4", 2, 1), ("E4", 1, 0)]
C_MAJOR = (
    "".join(note(p, 4, chord=index > 0) for index, (p, _, _) in enumerate(CHORD)),
    "".join(
        note(
            p,
            4,
            staff=2,
            chord=index > 0,
            more=f"{at(string, fret)}<fingering>{index}</fingering>",
        )
        for index, (p, string, fret) in enumerate(CHORD)
    ),
)  # fmt: skip


def test_places_and_fingers_come_from_the_tab_in_chords_too() -> None:
    """Five notes of a chord get their own place and finger, and there are five, not ten."""
    score = read_bytes(two_staves(*C_MAJOR))
    assert placed(score) == [
        (pitch, f"string {string} fret {fret}", str(index))
        for index, (pitch, string, fret) in enumerate(CHORD)
    ]
    (part,) = score.parts
    assert (part.layout, part.staves) == ("both", 1)
    assert score.changes == ()


@pytest.mark.parametrize("staves", ["source", "both", "tab", "notation"])
def test_places_survive_being_written_and_read(staves: str) -> None:
    """Tuning, string, fret and finger come back from each layout that shows them."""
    score = read_bytes(two_staves(*C_MAJOR))
    again = read_bytes(to_bytes(score, staves=staves, places=True), reading="concert")
    assert placed(again) == placed(score)
    if staves != "notation":
        before, after = score.parts[0].instrument, again.parts[0].instrument
        assert before is not None
        assert after is not None
        assert before.open_strings == after.open_strings


def test_a_chord_in_another_order() -> None:
    """The tab may list the notes of a chord from the other end."""
    above = "".join(note(p, 4, chord=i > 0) for i, (p, _, _) in enumerate(CHORD))
    below = "".join(
        note(p, 4, staff=2, chord=i > 0, more=at(string, fret))
        for i, (p, string, fret) in enumerate(reversed(CHORD))
    )
    score = read_bytes(two_staves(above, below))
    assert [place for _, place, _ in placed(score)] == [f"string {s} fret {f}" for _, s, f in CHORD]


def test_tab_in_written_octaves() -> None:
    """Some programs write the tab's pitches an octave off; the letters still match."""
    below = note("E5", 4, staff=2, more=at(1, 0))
    score = read_bytes(two_staves(note("E4", 4), below))
    assert placed(score) == [("E4", "string 1 fret 0", "")]


def test_the_capo_counts() -> None:
    """With a capo at the second fret, fret 0 of the first string sounds F#4 (common practice)."""
    score = read_bytes(
        two_staves(note("F#4", 4), note("F#4", 4, staff=2, more=at(1, 0)), details=CAPO)
    )
    assert placed(score) == [("F#4", "string 1 fret 0", "")]
    assert b"<capo>2</capo>" in to_bytes(score)


def test_what_the_tab_has_too_much_is_logged() -> None:
    """A tab note without a partner is left out, and the log says where."""
    above = note("E4", 2) + note("D4", 2)
    below = note("E4", 2, staff=2, more=at(1, 0)) + note("D4", 1, staff=2, more=at(2, 3))
    below += note("B3", 1, staff=2, more=at(2, 0))
    score = read_bytes(two_staves(above, below))
    assert [pitch for pitch, _, _ in placed(score)] == ["E4", "D4"]
    (change,) = score.changes
    assert (change.measure, change.beat) == ("1", "4")
    assert "B3 (string 2 fret 0) that the notation does not have" in change.message


def test_where_the_two_disagree_the_notation_wins() -> None:
    """A tab note of another pitch at the same moment gives no place."""
    above = note("E4", 2) + note("D4", 2)
    below = note("E4", 2, staff=2, more=at(1, 0)) + note("F4", 2, staff=2, more=at(1, 1))
    score = read_bytes(two_staves(above, below))
    assert placed(score) == [("E4", "string 1 fret 0", ""), ("D4", "", "")]
    assert "F4 (string 1 fret 1) where the notation has D4" in score.changes[0].message


def test_a_measure_that_stands_only_in_the_tab() -> None:
    """Where the notation of a measure is empty, its music is that of the tab."""
    below = note("E4", 4, staff=2, more=at(1, 0))
    score = read_bytes(two_staves("", below, back=0))
    assert placed(score) == [("E4", "string 1 fret 0", "")]
    assert {event.staff for _, event in events(score.parts[0])} == {1}


def test_two_parts_are_one_music() -> None:
    """A tab part that doubles a part is merged into it; the others stay, and the log says it."""
    words = "<direction><direction-type><words>let ring</words></direction-type></direction>"
    above = note("E4", 2) + note("D4", 2)
    below = words + note("E4", 2, more=at(1, 0)) + note("D4", 2, more=at(2, 3))
    score = read_bytes(two_parts(above, below))
    assert [part.id for part in score.parts] == ["P1", "P3"]
    assert placed(score) == [("E4", "string 1 fret 0", ""), ("D4", "string 2 fret 3", "")]
    assert [one.words for one in score.parts[0].measures[0].directions] == ["let ring"]
    assert any("part P2 is the tab of part P1" in str(change) for change in score.changes)
    assert [extra.name for extra in score.carried if extra.name.startswith("group")] == [
        "group:1",
        "group:1",
    ]


def test_another_tab_part_stays_a_part() -> None:
    """A tab part with music of its own is not merged into anything."""
    above = note("E4", 2) + note("D4", 2)
    below = note("G3", 1, more=at(3, 0)) + note("A3", 3, more=at(3, 2))
    score = read_bytes(two_parts(above, below))
    assert [(part.id, part.layout) for part in score.parts] == [
        ("P1", ""),
        ("P2", "tab"),
        ("P3", ""),
    ]


def test_bends_and_slides_come_along() -> None:
    """Signs of playing that only the tab shows are taken over, once."""
    bend = "<bend><bend-alter>2</bend-alter></bend>"
    below = note("E4", 4, staff=2, more=at(2, 5) + bend)
    score = read_bytes(two_staves(note("E4", 4), below))
    (event,) = [event for _, event in events(score.parts[0])]
    assert [mark.xml for mark in event.notes[0].marks] == [bend]
    assert to_bytes(score).count(b"<bend>") == 2  # on both staves
    again = read_bytes(to_bytes(score), reading="concert")
    assert [mark.xml for mark in next(notes(again.parts[0])).marks] == [bend]
