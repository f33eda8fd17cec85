"""One variant for each key, and one for each string."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.strategies import STANDARD, line, tokens
from variants.errors import Refusal, UsageError
from variants.music import Key
from variants.pipeline import run
from variants.score import Attributes, KeySign, Score, key_at_start, notes, with_parts
from variants.steps import describe_step, list_families, parse_item, parse_step
from variants.steps.all_keys import AllKeys
from variants.steps.all_strings import AllStrings


def in_key(score: Score, key: Key | None) -> Score:
    """Return the score with another key signature."""
    part = score.parts[0]
    head = part.measures[0].attributes[0]
    sign = () if key is None else (KeySign(key),)
    attributes = (Attributes(0, sign, head.metre),)
    first = replace(part.measures[0], attributes=attributes)
    return with_parts(score, [replace(part, measures=(first, *part.measures[1:]))])


def test_every_key_once() -> None:
    """Twelve keys, each a fifth above the one before, the first as it was."""
    score = in_key(line("A3 B3 C4 E4"), Key(0, "minor"))
    members = AllKeys().expand(score)
    assert [member.title for member in members] == [
        *("A minor", "E minor", "B minor", "F# minor", "C# minor", "G# minor"),
        *("Eb minor", "Bb minor", "F minor", "C minor", "G minor", "D minor"),
    ]
    assert members[0].steps == ()
    assert members[3].name == "04-f-sharp-minor"
    for member in members:
        moved = run(score, member.steps).score
        assert str(key_at_start(moved.parts[0])) == member.title
        assert all(STANDARD.places(note.pitch.midi) for note in notes(moved.parts[0]) if note.pitch)


def test_start_plain() -> None:
    """start=plain begins without signs, whatever the piece's own key."""
    score = in_key(line("D3 E3 F#3 A3"), Key(2, "major"))
    assert AllKeys(start="plain").expand(score)[0].title == "C major"
    assert AllKeys().expand(score)[0].title == "D major"


def test_the_own_key_keeps_its_name() -> None:
    """A piece in C sharp is not renamed D flat in its own set; common practice."""
    score = in_key(line("C#4 E#4"), Key(7, "major"))
    assert AllKeys().expand(score)[0].title == "C# major"
    assert AllKeys().expand(score)[0].steps == ()


def test_a_key_is_needed() -> None:
    """Without a signature there is no key to name."""
    with pytest.raises(Refusal, match="no key signature"):
        AllKeys().expand(in_key(line("A3"), None))


def test_each_string() -> None:
    """The same frets on each string, and the key that comes of it."""
    score = in_key(line("E3 F3 G3 B3"), Key(0, "minor"))
    members = AllStrings().expand(score)
    assert [member.title for member in members] == [
        "string 1, A minor",
        "string 2, E minor",
        "string 3, C minor",
        "string 4, G minor",
        "string 5, D minor",
        "string 6, A minor",
    ]
    for string, member in enumerate(members, 1):
        done = run(score, member.steps).score
        places = [note.place for note in notes(done.parts[0])]
        assert [place and place.string for place in places] == [string] * 4
        assert [place and place.fret for place in places] == [0, 1, 3, 7]


def test_each_string_from_a_fret() -> None:
    """fret= is where the lowest note sits."""
    members = AllStrings(fret=5).expand(line("E3 F3"))
    done = run(line("E3 F3"), members[5].steps).score
    assert tokens(done) == "A2 Bb2"


def test_chords_and_several_parts_are_refused() -> None:
    """A line is one note at a time, in one part."""
    with pytest.raises(Refusal, match="two notes cannot sound on one string"):
        AllStrings().expand(line("E3+B3"))
    one = line("E3")
    two = with_parts(one, [one.parts[0], replace(one.parts[0], id="P2")])
    with pytest.raises(Refusal, match="all-strings is for one line, and the score has 2 parts"):
        AllStrings().expand(two)


@pytest.mark.parametrize("text", [text for one in list_families() for text in one.examples])
def test_written_and_read(text: str) -> None:
    """A family written as text is read as the same; as a step it is refused with the way out."""
    assert describe_step(parse_item(text)) == text
    with pytest.raises(UsageError, match="write them into a folder"):
        parse_step(text)
