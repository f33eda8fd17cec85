"""What `neckwise describe` prints for people."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from variants.fingering import roman
from variants.music import Interval, Key, single_value
from variants.score import Part, Score
from variants.steps.wording.words import interval_words
from variants.survey import (
    HeardKey,
    NeckFacts,
    PartFacts,
    PitchFacts,
    RhythmFacts,
    describe_part,
    heard_key,
)

from .report import range_text, strings_text
from .text import count, fields, table, wrapped
from .tune_text import TuneWish, tune_lines

_MOST_POSITIONS = 7
_MOST_CHORDS = 8


def score_lines(score: Score, *, source: str, parts: Sequence[Part], tune: TuneWish) -> list[str]:
    """Return a description for the terminal.

    Args:
        score: The score.
        source: Name of its file.
        parts: The parts to describe in full.
        tune: What the call says of the tune.
    """
    lines = wrapped(score.title or "(no title)")
    rows = [("file", source)]
    rows += [(kind or "by", name) for kind, name in score.creators]
    rows += [(kind or "rights", text) for kind, text in score.rights]
    rows += [("source", score.source)]
    lines += fields(rows, indent=2)
    if len(score.parts) > 1:
        lines += ["", *_parts_table(score)]
    for part in parts:
        lines += ["", *_part_lines(score, part), *tune_lines(score, part, tune)]
    if not parts:
        lines += ["", "None of the parts is for guitar; --part ID describes one of them."]
    lines += _notes(score)
    return lines


def _notes(score: Score) -> list[str]:
    """Return what reading assumed or mended, in short."""
    if not score.changes:
        return []
    lines = ["", "While reading"]
    messages = dict.fromkeys(str(change) for change in score.changes)
    shown = list(messages)[:6]
    for text in shown:
        lines += wrapped(text, first="  ", other="    ")
    left = len(messages) - len(shown)
    return [*lines, f"  and {left} more (--json lists them all)"] if left else lines


def _parts_table(score: Score) -> list[str]:
    rows = []
    for part in score.parts:
        facts = describe_part(score, part)
        rows.append(
            (
                part.id,
                str(facts.measures),
                str(facts.pitches.struck),
                "yes" if part.instrument else "no",
                part.name or "-",
            )
        )
    return table(("part", "measures", "notes", "guitar", "name"), rows, right=(1, 2))


def _part_lines(score: Score, part: Part) -> list[str]:
    facts = describe_part(score, part)
    head = f"Part {facts.id}" + (f", {facts.name}" if facts.name else "")
    rows = [
        ("key", _key_text(facts, heard_key(score, part))),
        ("metre", _metre_text(facts)),
        ("length", _length_text(facts)),
        ("tempo", _tempo_text(facts)),
        ("strings", strings_text(facts.instrument)),
        ("range", range_text(part)),
        ("onsets", _texture_text(facts.pitches)),
        ("dyads", _counted((_plain(i), n) for i, n in facts.pitches.dyads)),
        ("chords", _chords_text(facts.pitches)),
        ("values", _counted(facts.rhythm.values)),
        ("off-beats", _off_beats_text(facts.rhythm)),
        ("ties", _ties_text(facts.rhythm)),
        ("tuplets", _tuplets_text(facts.rhythm)),
        ("also", _also_text(facts)),
    ]
    lines = [head, *fields(rows, indent=2)]
    return lines + _neck_lines(facts.neck) if facts.neck else lines


def _key_text(facts: PartFacts, heard: HeardKey | None) -> str:
    declared = f"{facts.key} by its signature" if facts.key else "no signature"
    if facts.key and not facts.key.mode:
        declared = f"{_signs(facts.key)}, no mode named"
    declared += "".join(f", {key} from measure {number}" for number, key in facts.keys)
    if heard is None:
        return declared
    ear = f"the notes alone sound like {heard.name}"
    if heard.correlation - heard.second_correlation < 0.05:
        ear += f" or {heard.second}"
    return f"{declared}; {ear} (music21)"


def _signs(key: Key) -> str:
    if not key.fifths:
        return "no sharps or flats"
    return count(abs(key.fifths), "sharp" if key.fifths > 0 else "flat")


def _metre_text(facts: PartFacts) -> str:
    first, *rest = facts.metres
    return str(first[1]) + "".join(f", {metre} from measure {number}" for number, metre in rest)


def _length_text(facts: PartFacts) -> str:
    pieces = [count(facts.measures, "measure")]
    pieces.append(
        f"pick-up of {_beats(facts.pickup_beats)}" if facts.pickup_beats else "no pick-up"
    )
    endings = f" with endings {' and '.join(facts.endings)}" if facts.endings else ""
    if facts.repeats or endings:
        pieces.append(count(facts.repeats, "repeat") + endings)
    pieces.append(count(facts.voices, "voice"))
    return ", ".join(pieces)


def _beats(value: Fraction) -> str:
    whole, rest = divmod(value, 1)
    if not whole:
        return f"{rest} of a beat"
    return count(int(whole), "beat") if not rest else f"{whole} {rest} beats"


def _tempo_text(facts: PartFacts) -> str:
    """Return the tempi by the beat that a player counts, as they are printed."""
    if not facts.tempi:
        return "not given"
    lengths = set(facts.metres[0][1].beat_lengths)
    value = single_value(lengths.pop()) if len(lengths) == 1 and len(facts.metres) == 1 else None
    beat = value.quarters if value is not None and value.quarters else Fraction(1)
    texts = [
        f"{float(tempo / beat):.4g}" + (f" from measure {number}" if index else "")
        for index, (number, tempo) in enumerate(facts.tempi)
    ]
    return f"{value or 'quarter'} = {', '.join(texts)}"


def _texture_text(facts: PitchFacts) -> str:
    chords = facts.onsets - facts.singles - sum(number for _, number in facts.dyads)
    kinds = [
        (facts.singles, "single note"),
        (sum(number for _, number in facts.dyads), "dyad"),
        (chords, "chord"),
    ]
    texts = [count(number, thing) for number, thing in kinds if number]
    if len(texts) == 1:
        return texts[0]
    return f"{facts.onsets}: {', '.join(texts)}" if texts else "none"


def _plain(interval: Interval) -> str:
    """Return an interval without its article: ``perfect fifth``."""
    words = interval_words(interval)
    for article in ("a ", "an "):
        if words.startswith(article):
            return words[len(article) :]
    return words


def _counted(items: Iterable[tuple[str, int]]) -> str:
    return ", ".join(f"{text} ({number})" for text, number in items)


def _chords_text(facts: PitchFacts) -> str:
    rows = [
        (" ".join(interval.name for interval in chord), number) for chord, number in facts.chords
    ]
    left = len(rows) - _MOST_CHORDS
    more = f", and {left} more kinds" if left > 0 else ""
    texts = [f"{text} ({number})" for text, number in rows[:_MOST_CHORDS]]
    return ", ".join(texts) + more + " above the lowest note" if texts else ""


def _off_beats_text(facts: RhythmFacts) -> str:
    if not facts.moments:
        return ""
    if not facts.off_beats:
        return "none"
    held = f", {facts.held_over} of them held over the next beat" if facts.held_over else ""
    return f"{facts.off_beats} of {facts.moments} moments are off the beat{held}"


def _ties_text(facts: RhythmFacts) -> str:
    over = f", {facts.ties_over_barline} of them over a barline" if facts.ties_over_barline else ""
    return f"{count(facts.ties, 'note')} held by a tie{over}" if facts.ties else "none"


def _tuplets_text(facts: RhythmFacts) -> str:
    return ", ".join(f"{ratio}, {count(n, 'note')}" for ratio, n in facts.tuplets) or "none"


def _also_text(facts: PartFacts) -> str:
    rows = [
        (facts.rhythm.grace_notes, "grace note"),
        (facts.rhythm.rests, "rest"),
        (facts.chord_symbols, "chord symbol"),
        (facts.verses, "verse"),
        (facts.placed, "note with string and fret"),
        (facts.fingered, "note with a finger"),
    ]
    texts = [
        count(number, thing) if " with" not in thing else f"{number} {_plural(thing, number)}"
        for number, thing in rows
        if number
    ]
    return ", ".join(texts)


def _plural(thing: str, number: int) -> str:
    return thing if number == 1 else thing.replace("note", "notes", 1)


def _neck_lines(neck: NeckFacts) -> list[str]:
    lines = ["", "  On the neck"]
    if neck.too_low or neck.too_high:
        texts = [
            f"{count(number, 'note')} too {way}"
            for number, way in ((neck.too_low, "low"), (neck.too_high, "high"))
            if number
        ]
        way_out = "transpose:octave=fit may help"
        lines += wrapped(f"{' and '.join(texts)}; {way_out}", first="    ", other="    ")
    few, many = neck.fewest_places, neck.most_places
    places = count(many, "place") if few == many else f"{few} to {many} places"
    lines.append(f"    each note has {places}")
    lines += ["    " + line for line in _positions_table(neck)]
    if neck.single_strings:
        texts = [
            f"string {fit.string} (frets {fit.lowest_fret} to {fit.highest_fret})"
            for fit in neck.single_strings
        ]
        lines += wrapped(f"on one string: {', '.join(texts)}", first="    ", other="      ")
    return lines


def _positions_table(neck: NeckFacts) -> list[str]:
    whole = [
        fit
        for fit in neck.positions
        if fit.fits_closed == neck.onsets or (fit.position == 1 and fit.fits == neck.onsets)
    ]
    chosen = whole or sorted(neck.positions, key=lambda fit: (-fit.fits, fit.position))[:3]
    rows = []
    for fit in sorted(chosen, key=lambda fit: fit.position)[:_MOST_POSITIONS]:
        is_open = fit.fits > fit.fits_closed
        rows.append(
            (
                roman(fit.position),
                f"{fit.position} to {fit.position + 3}",
                "yes" if is_open else "no",
                "all" if fit.fits == neck.onsets else f"{fit.fits} of {neck.onsets}",
                ", ".join(map(str, fit.strings)) or "-",
            )
        )
    left = len(chosen) - len(rows)
    lines = table(("position", "frets", "open strings", "onsets", "on strings"), rows)
    return [*lines, f"and {left} more positions higher up"] if left > 0 else lines
