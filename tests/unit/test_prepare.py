"""Which part, which octave, which strings, whose fingering."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.strategies import INSTRUMENTS, STANDARD, line
from variants.errors import Refusal, UsageError
from variants.music import Pitch
from variants.prepare import Strings, parse_scale_length, parts_text, pick_part, prepare
from variants.score import (
    STANDARD_GUITAR,
    Attributes,
    Harmony,
    Instrument,
    Part,
    Place,
    Score,
    map_notes,
    notes,
)
from variants.steps.choose_part import ChoosePart
from variants.steps.measures import Measures
from variants.variant import Wishes, make_variant


def _score(*parts: tuple[str, str, Instrument | None]) -> Score:
    one = line("E3 F3 G3 A3")
    made = tuple(
        replace(one.parts[0], id=id_, name=name, instrument=instrument)
        for id_, name, instrument in parts
    )
    return replace(one, parts=made)


def _placed(score: Score) -> Score:
    def placed(part: Part) -> Part:
        instrument = part.instrument or STANDARD
        return map_notes(
            part,
            lambda note: (
                replace(note, place=instrument.places(note.pitch.midi)[-1], finger="1")
                if note.pitch
                else note
            ),
        )

    return replace(score, parts=tuple(map(placed, score.parts)))


BAND = _score(("P1", "Voice", None), ("P2", "Guitar", STANDARD), ("P3", "Piano", None))


def test_the_only_part_is_taken() -> None:
    """One part is meant, whatever it is for."""
    assert pick_part(_score(("P1", "Flute", None)), "") == ""


def test_the_only_guitar_is_taken() -> None:
    """Of several parts the only one for guitar is meant."""
    assert pick_part(BAND, "") == "P2"


@pytest.mark.parametrize(("wish", "found"), [("P3", "P3"), ("piano", "P3"), ("p1", "P1")])
def test_by_id_or_name(wish: str, found: str) -> None:
    """A part is named by its id or its name, large or small letters."""
    assert pick_part(BAND, wish) == found


@pytest.mark.parametrize("wish", ["all", "ALL"])
def test_all(wish: str) -> None:
    """`all` leaves the score as it is."""
    assert pick_part(BAND, wish) == ""


def test_doubt_is_refused() -> None:
    """Two guitars, no guitar, one name twice, an unknown name: the parts are listed."""
    two = _score(("P1", "Guitar", STANDARD), ("P2", "Guitar", STANDARD))
    none = _score(("P1", "Flute", None), ("P2", "Oboe", None))
    for score, wish in ((two, ""), (two, "Guitar"), (none, ""), (BAND, "Tuba")):
        with pytest.raises(UsageError, match=r"P1.*P2"):
            pick_part(score, wish)


def test_many_parts_are_cut() -> None:
    """A list of parts stays readable."""
    many = _score(*((f"P{n}", "", None) for n in range(1, 31)))
    assert parts_text(many.parts).endswith("P12 and 18 more")


def test_a_lone_part_gets_a_guitar() -> None:
    """A lone part without an instrument gets the standard guitar, and the log says so."""
    done = prepare(_score(("P1", "Flute", None)), "concert", Strings())
    assert done.parts[0].instrument is not None
    assert done.parts[0].instrument.open_midi == STANDARD.open_midi
    assert "standard tuning is assumed" in done.changes[-1].message


def test_other_parts_stay() -> None:
    """Among several parts only those for guitar are strung."""
    done = prepare(BAND, "concert", Strings(tuning="drop-d"))
    assert [part.instrument is not None for part in done.parts] == [False, True, False]
    assert done.parts[1].instrument is not None
    assert done.parts[1].instrument.tuning == "drop-d"


def test_nothing_to_tune() -> None:
    """A tuning for parts of which none is for guitar is refused."""
    score = _score(("P1", "Flute", None), ("P2", "Oboe", None))
    with pytest.raises(UsageError, match="nothing to tune"):
        prepare(score, "concert", Strings(capo=2))


def test_tuning_of_the_file_gets_its_name_and_build() -> None:
    """Strings read from a file as notes are known by name, and have the frets of their kind."""
    nameless = replace(INSTRUMENTS[3], tuning="", frets=22, scale_length_mm=650.0)
    done = prepare(_score(("P1", "Bass", nameless)), "concert", Strings())
    instrument = done.parts[0].instrument
    assert instrument is not None
    assert (instrument.tuning, instrument.frets, instrument.scale_length_mm) == (
        "bass-4",
        20,
        863.6,
    )


def test_size_of_the_instrument() -> None:
    """Frets and scale length can be told; the length by the size of a guitar too."""
    strings = Strings(frets=19, scale_length_mm=parse_scale_length("1/2"))
    instrument = prepare(_score(("P1", "Guitar", STANDARD)), "concert", strings).parts[0].instrument
    assert instrument is not None
    assert (instrument.frets, instrument.scale_length_mm) == (19, 522.0)
    with pytest.raises(UsageError, match="no scale length"):
        parse_scale_length("half")


def test_capo_of_the_file_stays() -> None:
    """The capo is the file's unless another is asked for."""
    score = _score(("P1", "Guitar", replace(STANDARD, capo=3)))
    for asked, expected in ((None, 3), (0, 0), (5, 5)):
        instrument = prepare(score, "concert", Strings(capo=asked)).parts[0].instrument
        assert instrument is not None
        assert instrument.capo == expected


@pytest.mark.parametrize(("keeps", "expected"), [(False, False), (True, True)])
def test_fingering_of_the_file(*, keeps: bool, expected: bool) -> None:
    """Places and fingers go unless they are asked to stay."""
    score = _placed(_score(("P1", "Guitar", STANDARD)))
    done = prepare(score, "concert", Strings(keep_places=keeps))
    assert all((note.place is not None) == expected for note in notes(done.parts[0]))
    assert all(bool(note.finger) == expected for note in notes(done.parts[0]))


def test_wrong_places_go() -> None:
    """In another tuning only the places that still sound their note stay; the log counts them."""
    score = _placed(_score(("P1", "Guitar", STANDARD)))
    done = prepare(score, "concert", Strings(tuning="drop-d", keep_places=True))
    assert {note.place for note in notes(done.parts[0])} == {None}
    assert done.changes[-1].message.startswith("4 of 4 places")
    same = prepare(score, "concert", Strings(tuning="standard", keep_places=True))
    assert Place(6, 12) in {note.place for note in notes(same.parts[0])}


def test_chord_diagrams_for_other_strings_go() -> None:
    """A chord diagram is drawn for one tuning."""
    score = _score(("P1", "Guitar", STANDARD))
    part = score.parts[0]
    harmony = Harmony(0, ("A", 0), frame="<frame/>")
    first = replace(part.measures[0], harmonies=(harmony,))
    score = replace(score, parts=(replace(part, measures=(first, *part.measures[1:])),))
    done = prepare(score, "concert", Strings(capo=2))
    assert done.parts[0].measures[0].harmonies[0].frame == ""
    assert "1 chord diagram is" in done.changes[-1].message
    same = prepare(score, "concert", Strings())
    assert same.parts[0].measures[0].harmonies[0].frame


def _retuned(later: Instrument, *, tick: int = 0) -> Score:
    score = line("E3 F3 G3 A3", "E3 F3 G3 A3", "E3 F3 G3 A3")
    part = replace(score.parts[0], instrument=STANDARD)
    changed = replace(part.measures[1], attributes=(Attributes(tick, instrument=later),))
    measures = (part.measures[0], changed, part.measures[2])
    return replace(score, parts=(replace(part, measures=measures),))


DROPPED = replace(STANDARD, open_strings=(*STANDARD.open_strings[:5], Pitch.parse("D2")))


def test_a_string_retuned_midway_is_refused() -> None:
    """Place, cause and two ways out; a piece under one tuning is none of it."""
    with pytest.raises(
        Refusal,
        match=r"part P1, measure 2: string 6 goes from E2 to D2 here, and a version has one tuning "
        r"from start to end; make one of each stretch \(vary -s measures:range=1-1, "
        r"-s measures:range=2-\), or name what holds for all of it \(--tuning, --capo\)",
    ):
        prepare(_retuned(DROPPED), "concert", Strings())
    same = prepare(_retuned(STANDARD), "concert", Strings())
    assert same.parts[0].instrument is not None
    assert all(one.instrument is None for m in same.parts[0].measures for one in m.attributes)


def test_retuned_between_two_notes_of_a_measure_is_refused() -> None:
    """No stretch of whole measures has one tuning there: only one for all of it is a way out."""
    score = _retuned(DROPPED, tick=line("E3 F3").ticks)
    with pytest.raises(Refusal, match=r"measure 2: .* end; name what holds for all of it"):
        prepare(score, "concert", Strings())


def test_a_capo_set_midway_is_refused_unless_one_is_named() -> None:
    """A capo that is named holds from start to end, and the log says so."""
    score = _retuned(replace(STANDARD, capo=2))
    with pytest.raises(Refusal, match="measure 2: the capo goes to fret 2 here"):
        prepare(score, "concert", Strings(tuning="standard"))
    done = prepare(score, "concert", Strings(capo=3))
    assert done.parts[0].instrument is not None
    assert done.parts[0].instrument.capo == 3
    assert any("(measure 2); what was named holds" in one.message for one in done.changes)


def test_each_stretch_of_a_retuned_piece_is_made() -> None:
    """The way out that the refusal names works: every stretch has its own strings."""
    raw = _retuned(DROPPED)
    for span, lowest, count in (("1-1", 40, 4), ("2-", 38, 8)):
        made = make_variant(raw, [Measures(range=span)], Wishes(reading="concert"))
        instrument = made.score.parts[0].instrument
        assert instrument is not None
        assert instrument.lowest == lowest
        placed = [note for note in notes(made.score.parts[0]) if note.place]
        assert len(placed) == count
        assert all(
            instrument.sounding(note.place) == note.pitch.midi
            for note in placed
            if note.place and note.pitch
        )


def _silent_guitar() -> Score:
    resting = replace(line("r r r r").parts[0], id="P2", name="Guitar", instrument=STANDARD)
    piano = replace(line("E3 F3 G3 A3").parts[0], name="Piano", instrument=None)
    return replace(line("E3"), parts=(piano, resting))


def test_notes_in_means_notes_out_or_a_refusal() -> None:
    """The only guitar rests and a piano plays: no empty version is made."""
    score = _silent_guitar()
    with pytest.raises(UsageError, match=r"2 parts, and the one for guitar \(P2 \(Guitar\)\)"):
        make_variant(score, [], Wishes())
    for steps, part in (([], "P2"), ([ChoosePart(part="P2")], "")):
        with pytest.raises(Refusal, match=r"has only rests.*with --part P1 \(Piano\)"):
            make_variant(score, steps, Wishes(part=part))
    made = make_variant(score, [], Wishes(part="P1", reading="concert"))
    assert len(list(notes(made.score.parts[0]))) == 4


def test_input_is_untouched() -> None:
    """The score that is given stays as it was."""
    score = _placed(_score(("P1", "Guitar", STANDARD_GUITAR)))
    before = hash(score)
    prepare(score, "guitar", Strings(tuning="dadgad", capo=1))
    assert hash(score) == before
