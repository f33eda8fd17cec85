"""Writes what stands beside the notes as XML text."""

from __future__ import annotations

from xml.sax.saxutils import escape, quoteattr

from variants.music import Interval, Metre, Pitch
from variants.score import Barline, Direction, Harmony, Instrument, KeySign, Transposition


def key_xml(sign: KeySign) -> str:
    """Return a ``key`` element; its key is the written one."""
    if sign.key is None:
        return sign.xml
    number = f' number="{sign.staff}"' if sign.staff else ""
    mode = f"<mode>{escape(sign.key.mode)}</mode>" if sign.key.mode else ""
    return f"<key{number}><fifths>{sign.key.fifths}</fifths>{mode}</key>"


def metre_xml(metre: Metre) -> str:
    """Return a ``time`` element."""
    symbol = f" symbol={quoteattr(metre.symbol)}" if metre.symbol else ""
    if not metre.is_measured:
        return f"<time{symbol}><senza-misura/></time>"
    pairs = "".join(
        f"<beats>{beats}</beats><beat-type>{kind}</beat-type>"
        for beats, kind in zip(metre.beats, metre.beat_types, strict=True)
    )
    return f"<time{symbol}>{pairs}</time>"


def instrument_xml(instrument: Instrument, staff: int) -> str:
    """Return the ``staff-details`` of a tab staff; staff 0 writes no number.

    Line 1 of a staff is its lowest and carries the highest-numbered string.
    """
    number = f' number="{staff}"' if staff else ""
    lines = "".join(
        f'<staff-tuning line="{line}"><tuning-step>{string.letter}</tuning-step>'
        + (f"<tuning-alter>{string.alter}</tuning-alter>" if string.alter else "")
        + f"<tuning-octave>{string.octave}</tuning-octave></staff-tuning>"
        for line, string in enumerate(reversed(instrument.open_strings), 1)
    )
    capo = f"<capo>{instrument.capo}</capo>" if instrument.capo else ""
    return (
        f"<staff-details{number}><staff-lines>{instrument.strings}</staff-lines>"
        f"{lines}{capo}</staff-details>"
    )


def transposition_xml(one: Transposition) -> str:
    """Return a ``transpose`` element."""
    number = f' number="{one.staff}"' if one.staff else ""
    diatonic = "" if one.diatonic is None else f"<diatonic>{one.diatonic}</diatonic>"
    chromatic = one.chromatic if one.chromatic.denominator == 1 else float(one.chromatic)
    octave = f"<octave-change>{one.octave_change}</octave-change>" if one.octave_change else ""
    return (
        f"<transpose{number}>{diatonic}<chromatic>{chromatic}</chromatic>{octave}"
        f"{one.doubled}</transpose>"
    )


def direction_xml(direction: Direction, *, staved: bool, label: str = "") -> str:
    """Return a ``direction``, or the ``sound`` alone where nothing is printed.

    ``label`` is the id of a direction that we wrote, by which it is known again.
    """
    if not direction.xml:
        return "      " + direction.sound if direction.sound else ""
    placement = f" placement={quoteattr(direction.placement)}" if direction.placement else ""
    name = f" id={quoteattr(label)}" if label else ""
    voice = f"<voice>{escape(direction.voice)}</voice>" if direction.voice else ""
    staff = f"<staff>{direction.staff}</staff>" if direction.staff and staved else ""
    inside = f"{direction.xml}{voice}{staff}{direction.sound}"
    return f"      <direction{name}{placement}>{inside}</direction>"


def harmony_xml(harmony: Harmony, interval: Interval, *, staved: bool) -> str:
    """Return a ``harmony`` with its names moved by an interval to written pitch."""
    placement = f" placement={quoteattr(harmony.placement)}" if harmony.placement else ""
    staff = f"<staff>{harmony.staff}</staff>" if harmony.staff and staved else ""
    if harmony.xml:
        return f"      <harmony{placement}>{harmony.xml}{staff}</harmony>"
    text = f" text={quoteattr(harmony.text)}" if harmony.text else ""
    root = _name_xml("root", harmony.root or ("C", 0), interval)
    bass = _name_xml("bass", harmony.bass, interval) if harmony.bass else ""
    degrees = "".join(
        f"<degree><degree-value>{value}</degree-value><degree-alter>{alter}</degree-alter>"
        f"<degree-type>{escape(kind)}</degree-type></degree>"
        for value, alter, kind in harmony.degrees
    )
    return (
        f"      <harmony{placement}>{root}<kind{text}>{escape(harmony.kind)}</kind>{bass}{degrees}"
        f"{harmony.frame}{staff}</harmony>"
    )


def _name_xml(what: str, name: tuple[str, int], interval: Interval) -> str:
    moved = Pitch(name[0], name[1], 4) + interval
    alter = f"<{what}-alter>{moved.alter}</{what}-alter>" if moved.alter else ""
    return f"<{what}><{what}-step>{moved.letter}</{what}-step>{alter}</{what}>"


def barline_xml(barline: Barline) -> str:
    """Return a ``barline``; its children in the standard's order."""
    location = f" location={quoteattr(barline.location)}" if barline.location else ""
    style = f"<bar-style>{escape(barline.style)}</bar-style>" if barline.style else ""
    ending = ""
    if barline.ending is not None:
        number, kind, text = barline.ending
        ending = (
            f"<ending number={quoteattr(number)} type={quoteattr(kind)}>{escape(text)}</ending>"
            if text
            else f"<ending number={quoteattr(number)} type={quoteattr(kind)}/>"
        )
    times = f" times={quoteattr(str(barline.times))}" if barline.times else ""
    repeat = f"<repeat direction={quoteattr(barline.repeat)}{times}/>" if barline.repeat else ""
    signs = "".join(extra.xml for extra in barline.carried)
    return f"      <barline{location}>{style}{signs}{ending}{repeat}</barline>"
