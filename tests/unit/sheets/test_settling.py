"""Letters that are moved out of the way of others come to rest."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.sheets.pages import ROOT
from variants.finish import finish
from variants.musicxml import read
from variants.pipeline import parse_pipeline, run
from variants.sheets import engrave
from variants.sheets.lettering import Letter
from variants.sheets.settling import clear


@given(
    box=st.tuples(*[st.floats(0, 1e4)] * 2, *[st.floats(0, 1e3)] * 2),
    others=st.lists(st.tuples(*[st.floats(0, 1e4)] * 2, *[st.floats(0, 1e3)] * 2), max_size=12),
)
@settings(max_examples=60)
def test_letters_come_to_rest(
    box: tuple[float, float, float, float], others: list[tuple[float, float, float, float]]
) -> None:
    """A letter that is moved up ends clear of all others, whatever the numbers round to."""
    letter, *placed = (
        Letter("dir", "x", (x, y, x + wide, y + high), 9.0) for x, y, wide, high in (box, *others)
    )
    up = clear(letter, placed)
    assert up >= 0
    for one in placed:
        beside = one.box[2] < letter.box[0] or letter.box[2] < one.box[0]
        assert (
            beside
            or one.box[3] <= letter.box[1] - up + 1e-6
            or letter.box[3] - up <= one.box[1] + 1e-6
        )


def test_a_letter_that_rounding_kept_moving() -> None:
    """In B minor the arpeggio once never came to rest: a sum that rounding left too small."""
    score = run(
        read(ROOT / "samples" / "lantern-arpeggio.musicxml"),
        parse_pipeline(["transpose:key=B minor"]).steps,
    ).score
    assert engrave(finish(score).score, staves="both").systems
