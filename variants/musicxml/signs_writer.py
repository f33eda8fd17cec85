"""Writes what stands beside the notes as XML text."""

from __future__ import annotations

from xml.sax.saxutils import escape, quoteattr

from variants.music import Interval, Metre, Pitch
from variants.score import (
    Barline,
    Direction,
    Extra,
    Harmony,
    Instrument,
    KeySign,
    Transposition,
)


def key_xml(sign: KeySign) -> str:
    """Return a ``key`` element; its key is the written one."""
    if sign.key is None:
        return sign.xml
    number = f' number="{sign.staff}"' if sign.staff else ""
    mode = f"<mode>{escape(sign.key.mode)}</mode>" if sign.key.mode else ""
    return f"<key{number}{sign.looks}><fifths>{sign.key.fifths}</fifths>{mode}</key>"


def metre_xml(metre: Metre, looks: str = "", unmeasured: str = "") -> str:
    """Return a ``time`` element.

    Args:
        metre: The metre.
        looks: Further attributes as XML text.
        unmeasured: ``senza-misura`` as XML text, where it is more than the plain element.
    """
    symbol = f" symbol={quoteattr(metre.symbol)}" if metre.symbol else ""
    symbol += looks
    if not metre.is_measured:
        return f"<time{symbol}>{unmeasured or '<senza-misura/>'}</time>"
    pairs = "".join(
        f"<beats>{beats}</beats><beat-type>{kind}</beat-type>"
        for beats, kind in zip(metre.beats, metre.beat_types, strict=True)
    )
    return f"<time{symbol}>{pairs}</time>"


def instrument_xml(
    instrument: Instrument, staff: int, *, is_tab: bool = True, extras: tuple[Extra, ...] = ()
) -> str:
    """Return the ``staff-details`` of a staff.

    Line 1 of a staff is its lowest and carries the highest-numbered string.

    Args:
        instrument: It gives tuning and capo.
        staff: Number of the staff; 0 writes none.
        is_tab: Whether the staff has a line for each string; a notation staff keeps its five.
        extras: What the source has beside.
    """
    looks = {extra.name: extra.xml for extra in extras}
    number = f' number="{staff}"' if staff else ""
    lines = "".join(
        f'<staff-tuning line="{line}"><tuning-step>{string.letter}</tuning-step>'
        + (f"<tuning-alter>{string.alter}</tuning-alter>" if string.alter else "")
        + f"<tuning-octave>{string.octave}</tuning-octave></staff-tuning>"
        for line, string in enumerate(reversed(instrument.open_strings), 1)
    )
    capo = f"<capo>{instrument.capo}</capo>" if instrument.capo else ""
    count = f"<staff-lines>{instrument.strings}</staff-lines>" if is_tab else ""
    return (
        f"<staff-details{number}{looks.get('@staff-details', '')}>{looks.get('staff-type', '')}"
        f"{count}{looks.get('line-detail', '')}{lines}{capo}{looks.get('staff-size', '')}"
        "</staff-details>"
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
    looks = more = ""
    for extra in direction.extras:
        if extra.name == "@direction":
            looks = extra.xml
        else:
            more += extra.xml
    inside = f"{direction.xml}{more}{voice}{staff}{direction.sound}"
    return f"      <direction{name}{placement}{looks}>{inside}</direction>"


def harmony_xml(harmony: Harmony, interval: Interval, *, staved: bool) -> str:
    """Return a ``harmony`` with its names moved by an interval to written pitch."""
    placement = f" placement={quoteattr(harmony.placement)}" if harmony.placement else ""
    staff = f"<staff>{harmony.staff}</staff>" if harmony.staff and staved else ""
    looks = {extra.name: extra.xml for extra in harmony.extras}
    opened = f"      <harmony{placement}{looks.get('@harmony', '')}>"
    if harmony.xml:
        return f"{opened}{harmony.xml}{staff}</harmony>"
    text = f" text={quoteattr(harmony.text)}" if harmony.text else ""
    root = _name_xml("root", harmony.root or ("C", 0), interval, looks)
    drawn = looks.get("@kind", "")
    if text:
        # The source may print nothing, and a step something.
        drawn = drawn.replace(' text=""', "")
    kind = f"<kind{text}{drawn}>{escape(harmony.kind)}</kind>"
    bass = _name_xml("bass", harmony.bass, interval, looks) if harmony.bass else ""
    degrees = "".join(
        _degree_xml(number, degree, looks) for number, degree in enumerate(harmony.degrees)
    )
    editorial = looks.get("footnote", "") + looks.get("level", "")
    return (
        f"{opened}{root}{kind}{looks.get('inversion', '')}{bass}{degrees}"
        f"{harmony.frame}{editorial}{staff}</harmony>"
    )


def _name_xml(what: str, name: tuple[str, int], interval: Interval, looks: dict[str, str]) -> str:
    moved = Pitch(name[0], name[1], 4) + interval
    alter = (
        f"<{what}-alter{looks.get(f'@{what}-alter', '')}>{moved.alter}</{what}-alter>"
        if moved.alter
        else ""
    )
    separator = looks.get("bass-separator", "") if what == "bass" else ""
    step = f"<{what}-step{looks.get(f'@{what}-step', '')}>{moved.letter}</{what}-step>"
    return f"<{what}{looks.get(f'@{what}', '')}>{separator}{step}{alter}</{what}>"


def _degree_xml(number: int, degree: tuple[int, int, str], looks: dict[str, str]) -> str:
    value, alter, kind = degree

    def named(name: str, text: str) -> str:
        return f"<{name}{looks.get(f'@{name}.{number}', '')}>{text}</{name}>"

    return named(
        "degree",
        named("degree-value", str(value))
        + named("degree-alter", str(alter))
        + named("degree-type", escape(kind)),
    )


def barline_xml(barline: Barline) -> str:
    """Return a ``barline``, its children in order; empty if it has nothing to say."""
    looks = {extra.name: extra.xml for extra in barline.carried if extra.name[0] == "@"}
    location = f" location={quoteattr(barline.location)}" if barline.location else ""
    style = ""
    if barline.style:
        style = f"<bar-style{looks.get('@bar-style', '')}>{escape(barline.style)}</bar-style>"
    ending = ""
    if barline.ending is not None:
        number, kind, text = barline.ending
        opened = (
            f"<ending number={quoteattr(number)} type={quoteattr(kind)}{looks.get('@ending', '')}"
        )
        ending = f"{opened}>{escape(text)}</ending>" if text else f"{opened}/>"
    times = f" times={quoteattr(str(barline.times))}" if barline.times else ""
    repeat = ""
    if barline.repeat:
        direction = quoteattr(barline.repeat)
        repeat = f"<repeat direction={direction}{times}{looks.get('@repeat', '')}/>"
    signs = "".join(extra.xml for extra in barline.carried if extra.name[0] != "@")
    own, inside = looks.get("@barline", ""), f"{style}{signs}{ending}{repeat}"
    if looks and not (own or inside):
        return ""  # a step took what the looks were of
    return f"      <barline{location}{own}>{inside}</barline>"
