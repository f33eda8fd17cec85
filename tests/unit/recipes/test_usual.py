"""Every recipe of the usual set on every sample: valid, proofread, tab that says what notes say.

The MusicXML is read here by lxml alone, so that a mistake of our reader hides nothing.
"""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction
from pathlib import Path

import pytest
from lxml import etree

from tests.unit.recipes.sets import SAMPLES, expected_refusal, made
from tests.xsd import validate
from variants.errors import NeckwiseError
from variants.proof import proofread_bytes
from variants.recipes import usual_recipes
from variants.variant import written

# A hand that lets a held note go says so in the change log; the proofreader warns of it.
_TOLD = {"string-held"}
LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
Heard = dict[tuple[int, Fraction], list[int]]


def _midi(element: etree._Element, step: str, alter: str, octave: str) -> int:
    sign = int(element.findtext(alter) or 0)
    return (
        12 * (int(element.findtext(octave) or 0) + 1) + LETTERS[element.findtext(step) or ""] + sign
    )


def _open_strings(part: etree._Element) -> dict[int, int]:
    """Return the MIDI number of each string behind the capo."""
    details = next(
        one for one in part.iter("staff-details") if one.find("staff-tuning") is not None
    )
    lines = int(details.findtext("staff-lines") or 0)
    capo = int(details.findtext("capo") or 0)
    return {
        lines + 1 - int(one.get("line") or 0): capo
        + _midi(one, "tuning-step", "tuning-alter", "tuning-octave")
        for one in details.findall("staff-tuning")
    }


def _staves(part: etree._Element) -> tuple[Heard, Heard]:
    """Return what begins when: on the notation staff as written, in tab as its frets sound."""
    written_notes: Heard = defaultdict(list)
    fretted: Heard = defaultdict(list)
    strings = _open_strings(part)
    divisions = 1
    for index, measure in enumerate(part.findall("measure")):
        now = start = Fraction(0)
        for element in measure:
            if element.tag == "attributes":
                divisions = int(element.findtext("divisions") or divisions)
            length = Fraction(int(element.findtext("duration") or 0), divisions)
            if element.tag == "backup":
                now -= length
            elif element.tag == "forward":
                now += length
            elif element.tag == "note":
                onset = start if element.find("chord") is not None else now
                pitch = element.find("pitch")
                if pitch is not None:
                    where = (index, onset)
                    height = _midi(pitch, "step", "alter", "octave")
                    if element.findtext("staff") == "2":
                        fret = int(element.findtext("notations/technical/fret") or 0)
                        string = int(element.findtext("notations/technical/string") or 0)
                        fretted[where].append(strings[string] + fret)
                    else:
                        # The clef is printed an octave lower; the pitch in the file sounds.
                        written_notes[where].append(height)
                if element.find("chord") is None:
                    start, now = now, now + length
    return written_notes, fretted


@pytest.mark.slow
@pytest.mark.parametrize("name", list(usual_recipes()))
@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_usual_set(sample: Path, name: str) -> None:
    """What comes out is valid, and tab agrees with notation; or one line says why nothing does."""
    recipe = usual_recipes()[name]
    refusal = expected_refusal(sample.stem, name)
    if refusal:
        with pytest.raises(NeckwiseError, match=refusal) as caught:
            made(sample, recipe)
        assert "\n" not in str(caught.value)
        assert caught.value.way_out
        return
    for variant in made(sample, recipe):
        data = written(variant.score, staves=recipe.staves, places=recipe.places)
        assert validate(data) == []
        found = proofread_bytes(data).findings
        assert [one for one in found if one.rule not in _TOLD] == []
        if recipe.staves == "both":
            for part in etree.fromstring(data).findall("part"):
                notation, tab = (
                    {when: sorted(notes) for when, notes in one.items()} for one in _staves(part)
                )
                assert notation == tab
