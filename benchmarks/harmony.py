"""Chord symbols of `harmonize-chords` beside roots that others give: chorales and lead sheets.

    python -m benchmarks.harmony          one chorale in forty, and the lead sheets
    python -m benchmarks.harmony --all    one chorale in ten

Chorales have no printed symbols. Their stand-in is music21: all voices as one part (``chordify``),
and the root that music21 gives to what sounds on each beat, where that is a triad or a seventh
chord. The lead sheets of music21's corpus print symbols over a melody: the printed chords are
struck under the melody on each beat, the symbols taken off, and ours compared with them beat by
beat. Agreement is the share of beats on which both name the same pitch class as the root.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from variants.front_door import read
from variants.score import Score
from variants.steps import parse_step

if TYPE_CHECKING:
    from music21 import chord, pitch, stream

REPORT = Path(__file__).with_name("harmony.md")
LEAD_SHEETS = ("leadSheet/fosterBrownHair", "leadSheet/berlinAlexandersRagtime")
_PERS = ("harmony", "measure", "beat", "change")
_EVERY, _EVERY_WIDE = 40, 10

# (measure, beat in quarters) to pitch class of a root.
Roots = dict[tuple[int, float], int]


def roots_of(score: Score, per: str) -> Iterator[tuple[int, float, int]]:
    """Yield measure index, quarters in it and pitch class of each symbol of ours."""
    named = parse_step(f"harmonize-chords:per={per}")(score)
    letters = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
    for index, measure in enumerate(named.parts[0].measures):
        for one in measure.harmonies:
            if one.root is not None:
                root = (letters[one.root[0]] + one.root[1]) % 12
                yield index, one.onset / named.ticks, root


def agreement(score: Score, wanted: Roots, per: str) -> tuple[int, int]:
    """Return on how many beats both roots are one, and how many beats there are."""
    ours = sorted(roots_of(score, per))
    same = 0
    for (measure, beat), root in wanted.items():
        before = [one for one in ours if (one[0], one[1]) <= (measure, beat)]
        same += bool(before) and before[-1][2] == root
    return same, len(wanted)


def chorales(step: int) -> Iterator[tuple[str, Score, Roots]]:
    """Yield name, score and roots of the chorales, all voices as one part."""
    from music21 import corpus

    paths = sorted(
        str(one) for one in corpus.getComposer("bach") if Path(one).suffix in {".mxl", ".xml"}
    )
    for path in paths[::step]:
        reduced = corpus.parse(path).chordify()
        wanted = {
            place: one.root().pitchClass
            for place, one in _on_beats(reduced)
            if one.isTriad() or one.isSeventh()
        }
        if wanted:
            yield Path(path).stem, _as_score(reduced), wanted


def lead_sheets(*, with_chords: bool) -> Iterator[tuple[str, Score, Roots]]:
    """Yield name, score and printed roots of the lead sheets, their chords struck or left out."""
    from music21 import chord, corpus, harmony, stream

    for name in LEAD_SHEETS:
        part = corpus.parse(name).parts[0]
        made = stream.Part()
        wanted: Roots = {}
        now = None
        for index, measure in enumerate(part.getElementsByClass("Measure")):
            bar = stream.Measure(number=index + 1)
            symbols = {float(one.offset): one for one in measure.getElementsByClass("ChordSymbol")}
            for quarter in range(int(measure.duration.quarterLength)):
                now = symbols.get(float(quarter), now)
                low = [] if now is None else [one.transpose(-12) for one in now.pitches]
                tune = _sounding(measure, quarter)
                sound = [*(low if with_chords else []), *tune]
                if now is not None and not isinstance(now, harmony.NoChord):
                    wanted[index, float(quarter)] = now.root().pitchClass
                if sound:
                    bar.insert(float(quarter), chord.Chord(sound, quarterLength=1.0))
            made.append(bar)
        yield name, _as_score(made), wanted


def _sounding(measure: stream.Measure, quarter: int) -> list[pitch.Pitch]:
    """Return the pitches of a measure that sound on a quarter, its symbols left out."""
    return [
        each
        for one in measure.notes
        if "ChordSymbol" not in one.classes
        and one.offset <= quarter < one.offset + one.duration.quarterLength
        for each in one.pitches
    ]


def _on_beats(chords: stream.Stream) -> Iterator[tuple[tuple[int, float], chord.Chord]]:
    for index, measure in enumerate(chords.getElementsByClass("Measure")):
        for one in measure.getElementsByClass("Chord"):
            if float(one.offset) == int(one.offset):
                yield (index, float(one.offset)), one


def _as_score(notes: stream.Stream) -> Score:
    from music21.musicxml.m21ToXml import GeneralObjectExporter

    return read(GeneralObjectExporter(notes).parse())


def report(step: int) -> str:
    """Return the page of figures."""
    cases = {
        "chorales, roots by music21": list(chorales(step)),
        "lead sheets, printed chords under the tune": list(lead_sheets(with_chords=True)),
        "lead sheets, the tune alone": list(lead_sheets(with_chords=False)),
    }
    text = (
        f"`python -m benchmarks.harmony`: {len(cases['chorales, roots by music21'])} chorales and"
        f" {len(LEAD_SHEETS)} lead sheets of music21's corpus; the share of beats on which"
        " `harmonize-chords` has the root in force that music21 or the printed symbol has. A tune"
        " alone gets no symbol but where it breaks a chord: there the share is meant to be small."
    )
    lines = [
        "# Roots of chord symbols",
        "",
        text,
        "",
        "| | beats | " + " | ".join(f"per={per}" for per in _PERS) + " |",
        "|---|---:|" + "---:|" * len(_PERS),
    ]
    worst: list[tuple[float, str]] = []
    for title, pieces in cases.items():
        shares = []
        beats = 0
        for per in _PERS:
            counted = [(name, *agreement(score, wanted, per)) for name, score, wanted in pieces]
            beats = sum(of for _, _, of in counted)
            shares.append(sum(same for _, same, _ in counted) / max(1, beats))
            if per == _PERS[0] and "alone" not in title:
                worst += [(same / of, name) for name, same, of in counted]
        lines.append(f"| {title} | {beats} | " + " | ".join(f"{one:.3f}" for one in shares) + " |")
    named = ", ".join(f"{name} {share:.2f}" for share, name in sorted(worst)[:10])
    return "\n".join([*lines, "", f"The worst ten by default: {named}.", ""])


def main() -> int:
    """Print the figures and write them beside this file."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--all", action="store_true", help="more chorales")
    given = parser.parse_args()
    text = report(_EVERY_WIDE if given.all else _EVERY)
    REPORT.write_text(text, encoding="utf-8")
    sys.stdout.write(text)
    return 0


if __name__ == "__main__":
    sys.exit(main())
