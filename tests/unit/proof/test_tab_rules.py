"""Rules of tab, fingers, marks of the hand and techniques: what they find and what they let be."""

from __future__ import annotations

from tests.unit.proof.pages import (
    DETAILS,
    GUITAR_CLEF,
    TAB_CLEF,
    attributes,
    both,
    found,
    note,
    page,
    tab,
    told,
)

E3 = note("E3", 8, place="4:2")


def test_right_tab_is_clean() -> None:
    """A tab note whose fret sounds its pitch is nothing to speak of."""
    assert found(tab(E3)) == []


def test_wrong_fret() -> None:
    """The finding names place and fret, and the correction keeps the pitch."""
    (one,) = found(tab(note("E3", 2, place="4:3") + note("E3", 6, place="4:2")))
    assert (one.rule, one.measure, one.beat) == ("tab-pitch", "1", "1")
    assert one.message == "string 4 fret 3 sounds F3, the note is E3"
    assert one.fix == "write fret 2"


def test_capo_counts() -> None:
    """With a capo at 2, fret 2 on string 4 sounds F sharp."""
    details = DETAILS.replace("</staff-details>", "<capo>2</capo></staff-details>")
    head = attributes(TAB_CLEF, details=details)
    assert found(page(note("F#3", 8, place="4:2"), head=head)) == []
    assert told(page(E3, head=head), "tab-pitch") == [("1", "1", "error")]


def test_forgotten_capo_is_one_finding() -> None:
    """Every note off by the same interval has one cause."""
    notes = "".join(note("F#3", 2, place="4:2") for _ in range(4))
    (one,) = found(tab(notes), "tab-pitch")
    assert "2 semitones lower" in one.message


def test_harmonics_and_bends_sound_elsewhere() -> None:
    """A harmonic and a bent string sound another pitch than their fret."""
    harmonic = note("E4", 4, place="1:12", technical="<harmonic><natural/></harmonic>")
    bend = note("F#3", 4, place="4:2", technical="<bend><bend-alter>2</bend-alter></bend>")
    assert found(tab(harmonic + bend), "tab-pitch") == []


def test_natural_harmonics() -> None:
    """At fret 7 of the B string F sharp sounds: F sharp in any octave is right, F is not."""
    sign = "<harmonic><natural/></harmonic>"
    for pitch in ("F#4", "F#5"):
        right = tab(note(pitch, 8, place="2:7", technical=sign, sign="sharp"))
        assert told(right, "harmonic-pitch") == []
    (one,) = found(tab(note("F4", 8, place="2:7", technical=sign)), "harmonic-pitch")
    assert (one.severity.value, one.expected) == ("warning", "F#5")


def test_assumed_tuning_is_a_warning() -> None:
    """Without a tuning nothing is certain unless the same string is right elsewhere."""
    head = attributes(TAB_CLEF)
    lone = page(note("E3", 4, place="4:3") + note("E4", 4, place="1:0"), head=head)
    assert told(lone, "tab-pitch") == [("1", "1", "warning")]
    known = page(note("E3", 4, place="4:3") + note("E3", 4, place="4:2"), head=head)
    assert told(known, "tab-pitch") == [("1", "1", "error")]


def test_octave_of_a_whole_part_is_one_finding() -> None:
    """A part that stands an octave off its frets is told once."""
    data = tab("".join(note("E4", 2, place="4:2") for _ in range(4)), note("E4", 8, place="4:2"))
    assert [(f.rule, f.measure) for f in found(data)] == [("octave-slip", "1")]


def test_notation_an_octave_off_its_tab() -> None:
    """Notation that is an octave above its tab as a whole is told once, at the notation."""
    up = "".join(note("E4", 2, staff=1) for _ in range(4))
    down = "".join(note("E3", 2, place="4:2", staff=2, voice=5) for _ in range(4))
    assert [f.rule for f in found(both((up, down)))] == ["octave-slip"]


def test_notation_and_tab_differ() -> None:
    """One note that differs between the staves is told with both pitches."""
    up = note("E3", 4, staff=1) + note("G3", 4, staff=1)
    down = note("E3", 4, place="4:2", staff=2, voice=5) + note(
        "A3", 4, place="3:2", staff=2, voice=5
    )
    (one,) = found(both((up, down)))
    assert (one.rule, one.beat) == ("staff-tab-pitch", "3")
    assert one.message == "the notation has G3 and the tab A3 (string 3 fret 2)"


def test_tab_lacks_a_note() -> None:
    """A struck note without its tab is told; a held one may be left out of the tab."""
    up = "".join(note("E3", 2, staff=1) for _ in range(4))
    down = "".join(note("E3", 2, place="4:2", staff=2, voice=5) for _ in range(3))
    rest = note("rest", 2, staff=2, voice=5)
    full = down + note("E3", 2, place="4:2", staff=2, voice=5)
    assert told(both((up, full), (up, down + rest)), "staff-tab-rhythm") == [("2", "4", "error")]
    held = note("E3", 6, staff=1, tie="start") + note("E3", 2, staff=1, tie="stop")
    tab_held = note("E3", 6, place="4:2", staff=2, voice=5) + rest
    assert told(both((held, tab_held)), "staff-tab-rhythm") == []


def test_tie_struck_again() -> None:
    """A note that the notation holds must not be struck in the tab."""
    up = note("E3", 4, staff=1, tie="start") + note("E3", 4, staff=1, tie="stop")
    down = "".join(note("E3", 4, place="4:2", staff=2, voice=5) for _ in range(2))
    assert told(both((up, down)), "tie-restruck") == [("1", "3", "error")]


def test_two_notes_on_one_string() -> None:
    """Two frets of one string cannot sound at once; one fret in two voices can."""
    chord = note("E3", 8, place="4:2") + note("F3", 8, place="4:3", chord=True)
    assert told(tab(chord), "string-twice") == [("1", "1", "error")]
    doubled = E3 + "<backup><duration>8</duration></backup>" + note("E3", 8, place="4:2", voice=2)
    assert told(tab(doubled), "string-twice") == []


def test_string_still_held() -> None:
    """A note on a string that another voice holds cuts it off: a warning."""
    low = "<backup><duration>8</duration></backup>" + note("rest", 4, voice=2)
    data = tab(E3 + low + note("F3", 4, place="4:3", voice=2))
    assert told(data, "string-held") == [("1", "3", "warning")]


def test_places_that_do_not_exist() -> None:
    """String 7 of 6, string 0, fret 40; fret 25 only a few necks have."""
    assert told(tab(note("E3", 8, place="7:2")), "no-such-string") == [("1", "1", "error")]
    assert told(tab(note("E3", 8, place="0:2")), "no-such-string") == [("1", "1", "error")]
    assert told(tab(note("E3", 8, place="4:40")), "no-such-fret") == [("1", "1", "error")]
    assert told(tab(note("F5", 8, place="1:25")), "no-such-fret") == [("1", "1", "warning")]


def test_incomplete_place() -> None:
    """A tab note needs a string and a fret."""
    data = tab(note("E3", 8, technical="<fret>2</fret>"))
    (one,) = found(data, "place-incomplete")
    assert one.message == "the tab note E3 has no string"


def test_span_beyond_the_hand() -> None:
    """Frets 1 and 9 at once are more than a hand spans; the words keep a caution."""
    wide = note("F2", 8, place="6:1") + note("C#5", 8, place="1:9", chord=True, sign="sharp")
    (one,) = found(tab(wide), "hand-span")
    assert "mm apart" in one.message
    assert "stop, rest" in one.message
    assert told(tab(E3 + note("G4", 8, place="1:3", chord=True)), "hand-span") == []


def test_fingers() -> None:
    """Crossed fingers, one finger on two frets, a finger on an open string, 0 on a stopped one."""
    low = note("E3", 8, place="4:2", finger="3")
    high = note("C4", 8, place="2:1", finger="1", chord=True)
    assert found(tab(low + high)) == []
    crossed = note("E3", 8, place="4:2", finger="1") + high.replace(">1</fing", ">2</fing")
    assert told(tab(crossed), "finger-crossing") == [("1", "1", "warning")]
    twice = low + high.replace("<fingering>1", "<fingering>3")
    assert told(tab(twice), "finger-two-frets") == [("1", "1", "error")]
    assert told(tab(note("E4", 8, place="1:0", finger="2")), "open-fingered") == [
        ("1", "1", "error")
    ]
    assert told(tab(note("F4", 8, place="1:1", finger="0")), "stopped-open-finger") == [
        ("1", "1", "error")
    ]


def test_finger_of_the_notation_belongs_to_the_fret_of_the_tab() -> None:
    """The finger stands on one staff and the fret on the other."""
    up = note("E4", 8, finger="2", staff=1)
    down = note("E4", 8, place="1:0", staff=2, voice=5)
    assert told(both((up, down)), "open-fingered") == [("1", "1", "error")]


def _words(text: str) -> str:
    return f"<direction><direction-type><words>{text}</words></direction-type></direction>"


def test_position_mark() -> None:
    """A mark may be a fret off for stretch and squeeze, not two."""
    notes = note("A4", 8, place="1:5", finger="1")
    for text, wrong in (("V", False), ("IV", False), ("VI", False), ("VII", True), ("II", True)):
        assert bool(found(tab(_words(text) + notes), "position-text")) == wrong


def test_barre_mark() -> None:
    """The numeral of a barre names the fret of the first finger."""
    notes = note("A2", 8, place="6:5", finger="1") + note(
        "A4", 8, place="1:5", finger="1", chord=True
    )
    assert found(tab(_words("BV") + notes), "barre-text") == []
    (one,) = found(tab(_words("BVII") + notes), "barre-text")
    assert one.expected == "a barre at fret 5"


def test_hammers() -> None:
    """A hammer-on rises, a pull-off falls, both on one string and with both their ends."""
    start, stop = (f'<hammer-on number="1" type="{kind}"/>' for kind in ("start", "stop"))
    first = note("E3", 4, place="4:2", technical=start)
    assert found(tab(first + note("F3", 4, place="4:3", technical=stop))) == []
    down = tab(
        note("F3", 4, place="4:3", technical=start) + note("E3", 4, place="4:2", technical=stop)
    )
    assert told(down, "hammer-direction") == [("1", "3", "error")]
    across = tab(first + note("G3", 4, place="3:0", technical=stop))
    assert told(across, "hammer-string") == [("1", "3", "error")]
    assert told(tab(first + note("F3", 4, place="4:3")), "hammer-open") == [("1", "1", "error")]


def test_slide_needs_its_end() -> None:
    """A slide that leads nowhere is told where it begins."""
    first = note("E3", 4, place="4:2", notations='<slide number="1" type="start"/>')
    last = note("F3", 4, place="4:3", notations='<slide number="1" type="stop"/>')
    assert found(tab(first + last)) == []
    assert told(tab(first + note("F3", 4, place="4:3")), "slide-open") == [("1", "1", "error")]


def test_change_that_no_hand_makes() -> None:
    """From fret 1 to fret 17 within an eighth at 300 no hand can get; at 30 it can."""
    notes = note("F4", 1, place="1:1") + note("A5", 1, place="1:17") + note("rest", 6)
    fast = tab('<sound tempo="300"/>' + notes)
    assert told(fast, "unreachable-change") == [("1", "1.5", "warning")]
    assert told(tab('<sound tempo="30"/>' + notes), "unreachable-change") == []


def test_what_a_guitar_staff_should_say() -> None:
    """Tuning of the tab, octave of the clef, the capo that the words name."""
    assert told(page(E3, head=attributes(TAB_CLEF)), "tuning-missing") == [("1", "", "warning")]
    plain = GUITAR_CLEF.replace("<clef-octave-change>-1</clef-octave-change>", "")
    assert told(page(note("E3", 8), head=attributes(plain)), "clef-octave") == [
        ("1", "", "warning")
    ]
    assert told(tab(_words("Capo 3") + E3), "capo-text") == [("1", "1", "warning")]


def test_string_count() -> None:
    """Five tunings on six lines do not fit."""
    broken = DETAILS.replace('<staff-tuning line="3">', '<staff-tuning line="9">')
    data = page(E3, head=attributes(TAB_CLEF, details=broken))
    assert told(data, "string-count") == [("1", "1", "error")]


def test_note_below_the_lowest_string() -> None:
    """A guitar in standard tuning has no D2."""
    assert told(page(note("D2", 8)), "note-range") == [("1", "1", "warning")]
    assert told(page(note("E2", 8)), "note-range") == []
