"""What a handout, a drawing and a review page show is the engraved music, each figure at its head.

`tests.unit.sheets.test_figures` holds the law for what is engraved; here it follows the drawing to
everything that is printed from it, and to what recipes make.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest
from lxml import etree, html

from tests.unit.recipes.sets import made
from tests.unit.sheets.pages import GUITAR_SAMPLES, SVG, text_in
from tests.unit.sheets.test_figures import CASES, MARKS, figured, two, wrong, wrong_drawn
from variants.finish import finish
from variants.musicxml import read
from variants.recipes import usual_recipes
from variants.score import Score
from variants.sheets import Engraving, engrave
from variants.sheets.engrave import engrave_alike
from variants.sheets.handout import Look, Version, page_data, version_sheets
from variants.sheets.one_drawing import one_drawing
from variants.sheets.review import page as review
from variants.variant import Wishes, make_variant

SAMPLES = {path.stem: path for path in GUITAR_SAMPLES}
Figure = tuple[str, str, str]


def sources() -> dict[str, Score]:
    """Return two voices that cross, the lower one first, and a sample with all of its marks."""
    plain = make_variant(read(SAMPLES["lantern-arpeggio"]), (), Wishes()).score
    arpeggio = finish(plain, marks=MARKS)
    return {
        "crossing": figured(two(*CASES["crossing"], low_first=True)),
        "chords": figured(two(*CASES["chords"], low_first=True)),
        "arpeggio": arpeggio.score,
    }


def figures(root: etree._Element, space: str = SVG) -> Counter[Figure]:
    """Return letters, place and own shift of each figure of a drawing."""
    found: Counter[Figure] = Counter()
    for group in root.iter(f"{space}g"):
        if (group.get("class") or "").split(" ")[0] == "fing":
            for text in group.iter(f"{space}text"):
                where = f"{text.get('x')} {text.get('y')}"
                found[text_in(text), where, _shift(text)] += 1
    return found


def _shift(text: etree._Element) -> str:
    """Return the shifts of what is around a figure, up to its line of music."""
    found = []
    for one in text.iterancestors():
        if one.get("class") in ("system", "page-margin"):
            break
        found.append(one.get("transform", ""))
    return " ".join(filter(None, found))


def engraved(engraving: Engraving) -> Counter[Figure]:
    """Return the figures of every line of an engraving."""
    return sum(
        (figures(etree.fromstring(one.svg.encode())) for one in engraving.systems), Counter()
    )


@pytest.mark.parametrize("name", sources())
@pytest.mark.parametrize("staves", ["notation", "both"])
def test_a_handout_places_the_drawings_as_they_are(name: str, staves: str) -> None:
    """Every line that the typesetter is given is a line of the engraving, and right."""
    look = Look(staves=staves)
    score = sources()[name]
    sheets = version_sheets([Version(score=score), Version(score=score, name="again")], look)
    data, _, engravings = page_data(sheets, look)
    assert len(data["sheets"]) == len(engravings)
    for sheet, engraving in zip(data["sheets"], engravings, strict=True):
        assert [one["svg"] for one in sheet["systems"]] == [one.svg for one in engraving.systems]
        assert not wrong_drawn(engraving)
        assert bool(engraved(engraving)) == (sheet["kind"] == "version")


@pytest.mark.parametrize("name", sources())
def test_one_drawing_has_every_figure_where_it_was(name: str) -> None:
    """The drawing for a web page holds each line as it was engraved."""
    engraving = engrave(sources()[name], staves="both")
    assert not wrong_drawn(engraving)
    drawn = etree.fromstring(one_drawing(engraving, title="A tune").svg.encode())
    assert figures(drawn) == engraved(engraving)
    assert engraved(engraving)


@pytest.mark.parametrize("name", sources())
def test_a_review_page_has_every_figure_where_it_was(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The page takes drawings apart and puts them together; no figure moves against its head."""
    kept: list[Engraving] = []
    real = engrave_alike

    def seen(*args: Any, **named: Any) -> list[Engraving]:  # noqa: ANN401 -- handed on
        kept.extend(real(*args, **named))
        return kept

    monkeypatch.setattr(review, "engrave_alike", seen)
    score = sources()[name]
    page = review.review_page(
        [Version(score=score, name="one"), Version(score=score, name="two")], Look()
    )
    assert len(kept) == 2
    assert not any(wrong_drawn(one) for one in kept)
    shown = figures(html.fromstring(page.html.decode()), "")
    assert shown == engraved(kept[0]) + engraved(kept[1])
    assert shown


@pytest.mark.parametrize("recipe", ["open-position", "counted", "tab-only"])
def test_recipes_print_figures_at_their_heads(recipe: str) -> None:
    """What a recipe makes of a sample is drawn right, in its own layout."""
    usual = usual_recipes()[recipe]
    for variant in made(SAMPLES["lantern-arpeggio"], usual):
        assert not wrong(variant.score, usual.staves)
