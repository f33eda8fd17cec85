"""Note heads become sounds and slots."""

from __future__ import annotations

import pytest

from variants.fingering import Passage, PassageNote
from variants.fingering.sounds import GRACE_SECONDS, sounds_of


def passage(*notes: PassageNote, **more: object) -> Passage:
    """Return a passage with four ticks to a quarter at 60 quarters a minute."""
    return Passage(notes=notes, ticks_per_quarter=4, quarters_per_minute=60.0, **more)  # type: ignore[arg-type]


def test_tied_heads_are_one_sound() -> None:
    """A note tied over a bar line is one sound, as long as both heads together."""
    tied = passage(
        PassageNote(onset=0, duration=4, midi=60),
        PassageNote(onset=4, duration=8, midi=60, measure=1, tied_from=True),
    )
    sounds, slots = sounds_of(tied)
    assert [(sound.onset, sound.end, sound.heads) for sound in sounds] == [(0, 12, (0, 1))]
    assert len(slots) == 1


def test_a_held_note_is_in_the_slots_that_follow() -> None:
    """A half note in the bass is held under the second of two quarters, not under the third."""
    notes = [PassageNote(onset=0, duration=8, midi=40, voice="2")]
    notes += [PassageNote(onset=4 * i, duration=4, midi=60 + 2 * i) for i in range(3)]
    _, slots = sounds_of(passage(*notes))
    assert [len(slot.held) for slot in slots] == [0, 1, 0]
    assert [len(slot.new) for slot in slots] == [2, 1, 1]


def test_grace_notes_come_before_one_by_one() -> None:
    """Two grace notes and their main note are three slots, the graces short."""
    notes = (
        PassageNote(onset=0, duration=4, midi=60),
        PassageNote(onset=4, duration=0, midi=65, grace=-2),
        PassageNote(onset=4, duration=0, midi=64, grace=-1),
        PassageNote(onset=4, duration=4, midi=67),
    )
    sounds, slots = sounds_of(passage(*notes))
    assert [sounds[slot.new[0]].midi for slot in slots] == [60, 65, 64, 67]
    assert [slot.grace for slot in slots] == [False, True, True, False]
    assert slots[2].seconds == GRACE_SECONDS


def test_a_grace_chord_is_struck_together_and_a_tie_holds_it() -> None:
    """Two grace notes of one event are one slot; the one tied to its main note sounds on."""
    notes = (
        PassageNote(onset=0, duration=0, midi=48, grace=-1),
        PassageNote(onset=0, duration=0, midi=52, grace=-1),
        PassageNote(onset=0, duration=4, midi=48, tied_from=True),
        PassageNote(onset=0, duration=4, midi=60, voice="2"),
    )
    sounds, slots = sounds_of(passage(*notes))
    assert [[sounds[i].midi for i in slot.new] for slot in slots] == [[48, 52], [60]]
    assert [[sounds[i].midi for i in slot.held] for slot in slots] == [[], [48]]


def test_grace_notes_at_a_barline_stay_in_their_measures() -> None:
    """One that ends a measure and one that begins the next are two moments, in that order."""
    notes = (
        PassageNote(onset=4, duration=0, midi=62, grace=-1, measure=1),
        PassageNote(onset=4, duration=0, midi=64, grace=-1, measure=0),
        PassageNote(onset=4, duration=4, midi=60, measure=1),
    )
    sounds, slots = sounds_of(passage(*notes))
    assert [[sounds[i].midi for i in slot.new] for slot in slots] == [[64], [62], [60]]


def test_a_tie_within_a_longer_note_of_the_same_pitch() -> None:
    """What another voice holds for longer is the sound that a tied note goes on in."""
    notes = (
        PassageNote(onset=0, duration=8, midi=60),
        PassageNote(onset=4, duration=2, midi=60, tied_from=True),
        PassageNote(onset=6, duration=2, midi=61),
    )
    sounds, slots = sounds_of(passage(*notes))
    assert [sound.midi for sound in sounds] == [60, 61]
    assert sounds[0].heads == (0, 1)
    assert slots[1].held == (0,)


def test_a_slur_remembers_the_note_before_in_its_voice() -> None:
    """Legato is within a voice, whatever the other voice does in between."""
    notes = (
        PassageNote(onset=0, duration=8, midi=64),
        PassageNote(onset=4, duration=4, midi=45, voice="2"),
        PassageNote(onset=8, duration=4, midi=65, slurred_from=True),
    )
    sounds, _ = sounds_of(passage(*notes))
    assert sounds[2].before == 0


def test_a_broken_chord_rings_until_it_comes_back() -> None:
    """G C E G C E: the first G is kept until the second; steps of a scale are not kept."""
    broken = [55, 60, 64, 55, 60, 64]
    scale = [55, 57, 59, 60, 55]
    ring, walk = (
        sounds_of(passage(*(PassageNote(onset=i, duration=1, midi=m) for i, m in enumerate(line))))
        for line in (broken, scale)
    )
    assert [len(slot.held) for slot in ring[1]] == [0, 1, 2, 2, 1, 0]
    assert all(all(slot.ringing) for slot in ring[1])
    assert all(not slot.held for slot in walk[1])


def test_seconds_follow_the_tempo_changes() -> None:
    """A quarter lasts a second at 60 and half a second at 120."""
    notes = tuple(PassageNote(onset=4 * i, duration=4, midi=60) for i in range(4))
    _, slots = sounds_of(passage(*notes, tempi=((8, 120.0),)))
    assert [slot.seconds for slot in slots[1:]] == pytest.approx([1.0, 1.0, 0.5])
