"""One measure as it is printed: the engraved pictures of the pages about steps."""

from __future__ import annotations

from dataclasses import replace

from variants.errors import NeckwiseError
from variants.fingering import Settings
from variants.finish import finish
from variants.score import Part, Score, Voice, measures
from variants.score.beams import beams
from variants.sheets import engrave, one_drawing

_WIDTH_MM = 120.0


def drawn(score: Score) -> str:
    """Return a short score as SVG: notation over tab, fingered, without its title.

    What no guitar can play, as before `fold-octaves`, is drawn without tab.
    """
    # The page tells the title.
    parts = tuple(_beamed(part, score.ticks) for part in score.parts)
    bare = replace(score, parts=parts, work_title="", movement_title="", changes=())
    try:
        usual = Settings(open_strings="usual")
        fingered, staves = finish(bare, usual, marks="fingering").score, "both"
    except NeckwiseError:
        fingered, staves = bare, "notation"
    return one_drawing(engrave(fingered, staves=staves, width_mm=_WIDTH_MM), title="").svg


def _beamed(part: Part, ticks: int) -> Part:
    """Return the part with beams by the beat: the short notation of tests has none."""
    found = []
    for view in measures(part, ticks):
        voices = []
        for voice in view.measure.voices:
            pairs = zip(voice.events, beams(voice.events, view.metre, ticks=ticks), strict=True)
            voices.append(Voice(voice.id, tuple(replace(one, beams=two) for one, two in pairs)))
        found.append(replace(view.measure, voices=tuple(voices)))
    return replace(part, measures=tuple(found))
