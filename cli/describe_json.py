"""What `neckwise describe --json` prints."""

from __future__ import annotations

from typing import Any

from variants.score import Part, Score
from variants.survey import (
    NeckFacts,
    PartFacts,
    PitchFacts,
    RhythmFacts,
    describe_part,
    heard_key,
)

from .tune_text import TuneWish, tune_json


def score_json(score: Score, *, source: str, tune: TuneWish) -> dict[str, Any]:
    """Return a description of every part as JSON values."""
    return {
        "source": source,
        "title": score.title,
        "creators": [{"type": kind, "name": name} for kind, name in score.creators],
        "rights": [{"type": kind, "text": text} for kind, text in score.rights],
        "parts": [
            {**_part_json(score, part), **tune_json(score, part, tune)} for part in score.parts
        ],
        "changes": [
            {"measure": one.measure, "beat": one.beat, "step": one.step, "message": one.message}
            for one in score.changes
        ],
    }


def _part_json(score: Score, part: Part) -> dict[str, Any]:
    facts = describe_part(score, part)
    heard = heard_key(score, part)
    return {
        "id": facts.id,
        "name": facts.name,
        "instrument": _instrument_json(facts),
        "measures": facts.measures,
        "pickup_beats": float(facts.pickup_beats),
        "key": str(facts.key) if facts.key else None,
        "key_changes": [{"measure": number, "key": str(key)} for number, key in facts.keys],
        "key_heard": None
        if heard is None
        else {
            "key": heard.name,
            "correlation": heard.correlation,
            "second": heard.second,
            "second_correlation": heard.second_correlation,
        },
        "metres": [{"measure": number, "metre": str(metre)} for number, metre in facts.metres],
        "tempi": [{"measure": n, "quarters_per_minute": float(q)} for n, q in facts.tempi],
        "repeats": facts.repeats,
        "endings": list(facts.endings),
        "voices": facts.voices,
        "chord_symbols": facts.chord_symbols,
        "verses": facts.verses,
        "placed": facts.placed,
        "fingered": facts.fingered,
        **_pitches_json(facts.pitches),
        **_rhythm_json(facts.rhythm),
        "neck": _neck_json(facts.neck) if facts.neck else None,
    }


def _instrument_json(facts: PartFacts) -> dict[str, Any] | None:
    one = facts.instrument
    if one is None:
        return None
    return {
        "tuning": one.tuning or None,
        "strings": [str(pitch) for pitch in reversed(one.open_strings)],
        "capo": one.capo,
        "frets": one.frets,
        "assumed": one.assumed,
    }


def _pitches_json(facts: PitchFacts) -> dict[str, Any]:
    low, high = facts.lowest, facts.highest
    return {
        "range": None
        if low is None or high is None
        else {
            "lowest": str(low),
            "highest": str(high),
            "lowest_written": str(low + facts.written),
            "highest_written": str(high + facts.written),
        },
        "onsets": facts.onsets,
        "notes": facts.struck,
        "singles": facts.singles,
        "dyads": [{"interval": str(i), "count": n} for i, n in facts.dyads],
        "chords": [{"intervals": [str(i) for i in c], "count": n} for c, n in facts.chords],
        "most_at_once": facts.most_at_once,
    }


def _rhythm_json(facts: RhythmFacts) -> dict[str, Any]:
    return {
        "values": [{"value": value, "count": number} for value, number in facts.values],
        "rests": facts.rests,
        "moments": facts.moments,
        "off_beats": facts.off_beats,
        "held_over_a_beat": facts.held_over,
        "ties": facts.ties,
        "ties_over_a_barline": facts.ties_over_barline,
        "tuplets": [{"ratio": ratio, "notes": number} for ratio, number in facts.tuplets],
        "grace_notes": facts.grace_notes,
    }


def _neck_json(neck: NeckFacts) -> dict[str, Any]:
    return {
        "too_low": neck.too_low,
        "too_high": neck.too_high,
        "fewest_places": neck.fewest_places,
        "most_places": neck.most_places,
        "positions": [
            {
                "position": fit.position,
                "onsets": fit.fits,
                "onsets_without_open_strings": fit.fits_closed,
                "strings": list(fit.strings),
            }
            for fit in neck.positions
        ],
        "single_strings": [
            {
                "string": fit.string,
                "lowest_fret": fit.lowest_fret,
                "highest_fret": fit.highest_fret,
            }
            for fit in neck.single_strings
        ],
    }
