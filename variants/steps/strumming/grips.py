"""From a chord symbol to its grip, its diagram, and the refusal where none is known."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from variants.errors import Refusal
from variants.guitar.shapes import ChordGrip, WantedChord, find_grip, raised_by
from variants.music import Pitch, pitch
from variants.music.chordkinds import chord_tones
from variants.music.pitch import fifths_of, name_at_fifths
from variants.score import Harmony, Instrument
from variants.steps.framework.log import Scribe
from variants.steps.framework.registry import list_steps
from variants.steps.wording.words import symbol_text

# A diagram shows at least so many frets (common practice).
_LEAST_FRETS = 4
# Beyond that fret a capo leaves little neck (common practice).
_HIGHEST_CAPO = 7


def grip_of(one: Harmony, instrument: Instrument, *, barre: str) -> ChordGrip | None:
    """Return the grip of a chord symbol, without its bass where no grip is known with it."""
    if one.root is None:
        return None
    root = int(Pitch(*one.root, 4).pitch_class)
    bass = int(Pitch(*one.bass, 4).pitch_class) if one.bass else None
    wanted = WantedChord(root, one.kind, one.degrees, None if bass == root else bass)
    found = find_grip(wanted, instrument, barre=barre)
    if found is None and bass is not None:
        found = find_grip(replace(wanted, bass=None), instrument, barre=barre)
    return found


def lowest_of(grip: ChordGrip, instrument: Instrument) -> int:
    """Return the pitch class of the lowest note of a grip."""
    return min(instrument.open_midi[string - 1] + fret for string, fret, _ in grip.stops) % 12


def frame_xml(grip: ChordGrip) -> str:
    """Return a grip as a MusicXML ``frame``; frets count from the capo.

    >>> frame_xml(ChordGrip.parse("x022xx/001200"))[:62]
    '<frame><frame-strings>6</frame-strings><frame-frets>4</frame-f'
    """
    stopped = [fret for _, fret, _ in grip.stops if fret]
    highest = max(stopped, default=0)
    first = min(stopped, default=1) if highest > _LEAST_FRETS else 1
    shown = max(_LEAST_FRETS, highest - first + 1)
    begin = f"<first-fret>{first}</first-fret>" if first > 1 else ""
    held: dict[int, list[int]] = {}
    for string, _, finger in grip.stops:
        if finger:
            held.setdefault(finger, []).append(string)
    barres = {max(one): "start" for one in held.values() if len(one) > 1}
    barres |= {min(one): "stop" for one in held.values() if len(one) > 1}
    notes = "".join(
        f"<frame-note><string>{string}</string><fret>{fret}</fret>"
        + (f"<fingering>{finger}</fingering>" if finger else "")
        + (f'<barre type="{barres[string]}"/>' if string in barres else "")
        + "</frame-note>"
        for string, fret, finger in grip.stops
    )
    return (
        f"<frame><frame-strings>6</frame-strings><frame-frets>{shown}</frame-frets>"
        f"{begin}{notes}</frame>"
    )


def spelled_in(one: Harmony, midi: int) -> Pitch:
    """Return a note of a chord spelled as the chord symbol says."""
    if one.root is None:
        return Pitch.parse("C4")
    root = pitch(one.root[0], one.root[1], 4)
    names = [root + tone for tone in chord_tones(one.kind, one.degrees) or ()]
    names += [pitch(one.bass[0], one.bass[1], 4)] if one.bass else []
    found = next(name for name in names if (midi - name.midi) % 12 == 0)
    return found.moved_octaves((midi - found.midi) // 12)


# --- refusals -------------------------------------------------------------------------------------

# What tells the instrument at a time.
InstrumentAt = Callable[[int], Instrument]


def refusal(one: Harmony, where: tuple[int, InstrumentAt], log: Scribe, barre: str) -> Refusal:
    """Return the refusal to strum a chord symbol, with the ways out that would help."""
    index, instrument_at = where
    instrument = instrument_at(log.views[index].start + one.onset)
    if one.root is None:
        cause = "a chord symbol that cannot be read"
        way_out = "write it with root and kind, or take it out"
    elif raised_by(instrument) is None:
        cause = "the grips that are known are for a standard tuning, and these strings are not"
        way_out = "put retune:tuning=standard before it"
    else:
        kind = "grip" if barre == "full" else "open-position grip"
        without = {"never": " without a barre", "small": " without a full barre"}.get(barre, "")
        cause = f"no {kind}{without} is known for {symbol_text(one)}"
        way_out = _way_out(one, log, instrument, barre)
    return log.refusal(index, one.onset, cause, way_out=way_out)


def _way_out(one: Harmony, log: Scribe, instrument: Instrument, barre: str) -> str:
    symbols = [each for view in log.views for each in view.measure.harmonies if each.root]
    ways = []
    capos = [
        fret
        for fret in range(_HIGHEST_CAPO + 1)
        if fret < instrument.frets
        and all(grip_of(each, replace(instrument, capo=fret), barre=barre) for each in symbols)
    ]
    if capos and any(info.name == "capo" for info in list_steps()):
        ways.append(f"put capo:fret={capos[0]} before it, so that other shapes sound the same")
    keys = [
        semitones
        for semitones in sorted(range(-6, 7), key=lambda number: (abs(number), number))
        if semitones
        and all(grip_of(_moved(each, semitones), instrument, barre=barre) for each in symbols)
    ]
    if keys:
        ways.append(f"put transpose:semitones={keys[0]} before it")
    for other in BARRES_AFTER[barre]:
        if all(grip_of(each, instrument, barre=other) for each in symbols):
            ways.append(f"allow barres with barre={other}")
            break
    return ", or ".join(ways) or f"write a simpler chord than {symbol_text(one)} there"


BARRES_AFTER = {"never": ("small", "full"), "small": ("full",), "full": ()}


def _moved(one: Harmony, semitones: int) -> Harmony:
    """Return a chord symbol some semitones away; only the pitch classes are right."""

    def name(old: tuple[str, int]) -> tuple[str, int]:
        fifths = (fifths_of(*old) + 7 * semitones + 1) % 12 - 1
        letter, alter = name_at_fifths(fifths)
        return letter, alter

    root = name(one.root) if one.root else None
    return replace(one, root=root, bass=name(one.bass) if one.bass else None)
