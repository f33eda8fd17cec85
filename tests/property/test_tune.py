"""Laws of the tune: what is common to two lines, and where phrases end."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from variants.tune.kept import kept, longest_common

LINES = st.lists(st.integers(min_value=55, max_value=67), max_size=24)


def _by_table(one: list[int], other: list[int]) -> int:
    """The textbook table, one cell at a time: the second statement."""
    row = [0] * (len(other) + 1)
    for height in one:
        before, row = row, [0]
        for column, against in enumerate(other):
            diagonal = before[column] + 1 if height == against else 0
            row.append(max(diagonal, row[-1], before[column + 1]))
    return row[-1]


@given(LINES, LINES)
def test_longest_common_is_the_table(one: list[int], other: list[int]) -> None:
    """Bits of whole numbers give what the table gives."""
    assert longest_common(one, other) == _by_table(one, other)


@given(LINES.filter(bool), st.integers(min_value=-36, max_value=36))
def test_a_transposed_tune_is_whole(line: list[int], semitones: int) -> None:
    """A tune moved by one interval is all there, in both shares."""
    found = kept(line, [note + semitones for note in line])
    assert (found.is_tune, found.is_left) == (1.0, 1.0)


@given(LINES.filter(lambda line: len(line) > 1), st.data())
def test_shares_when_notes_go(line: list[int], data: st.DataObject) -> None:
    """What is left out lowers what is left, and what is played is still the tune."""
    gone = data.draw(st.integers(min_value=0, max_value=len(line) - 1))
    found = kept(line, line[:gone] + line[gone + 1 :])
    assert found.is_tune == 1.0
    assert found.is_left == (len(line) - 1) / len(line)
