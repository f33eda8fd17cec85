"""What a grace note that `simplify-rhythm` drops leaves behind: the slurs that it was an end of."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from variants.score import Event, Mark
from variants.steps.rhythm.lines import Group, HeldNote

_OTHER_END = {"start": "stop", "stop": "start"}


def pass_on(graces: list[Event], group: Group) -> None:
    """Give the ends of spans that grace notes hold to the notes that they lean on.

    A slur, slide or hammer-on between a grace note and its own note goes; a slur that leads on is
    now one of the note.

    Args:
        graces: The grace notes that are dropped, in order.
        group: The notes that they lean on; changed in place, it is a draft.
    """
    for grace in graces:
        own = [mark for note in grace.notes for mark in note.marks]
        for mark in (*grace.marks, *own):
            if mark.role in _OTHER_END and not _taken_off(mark, group):
                (group.marks if mark.role == "start" else group.tail_marks).append(mark)


def _taken_off(mark: Mark, group: Group) -> bool:
    """Take the other end of a span off a group, and say whether it was there."""

    def is_other_end(one: Mark) -> bool:
        return one.role == _OTHER_END[mark.role] and _name(one) == _name(mark)

    for shelf in (group.marks, group.tail_marks):
        for one in shelf:
            if is_other_end(one):
                shelf.remove(one)
                return True
    return any(_off_note(chain, is_other_end) for chain in group.chains)


def _name(mark: Mark) -> tuple[str, str, str]:
    return mark.family, mark.name, mark.number


def _off_note(chain: HeldNote, is_other_end: Callable[[Mark], bool]) -> bool:
    for one in (*chain.note.marks, *chain.tail_marks):
        if is_other_end(one):
            kept = tuple(mark for mark in chain.note.marks if mark is not one)
            chain.note = replace(chain.note, marks=kept)
            chain.tail_marks = [mark for mark in chain.tail_marks if mark is not one]
            return True
    return False
