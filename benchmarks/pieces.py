"""Guitar pieces of any length for the benchmarks, written as a notation program writes them.

The text is made here and not by the writer under test, so that what is measured is a file that
comes from elsewhere: indented, with stems, beams, ties, slurs and articulations.
"""

from __future__ import annotations

import random
from collections.abc import Iterator

# MIDI numbers of the open strings of a guitar in standard tuning, string 1 first (trade.md, 1).
_OPEN = (64, 59, 55, 50, 45, 40)
_NAMES = (("C", 0), ("C", 1), ("D", 0), ("D", 1), ("E", 0), ("F", 0), ("F", 1), ("G", 0), ("G", 1),
          ("A", 0), ("B", -1), ("B", 0))  # fmt: skip
# Shapes in first position as (string, fret): C, G, D, A minor, E minor (common practice).
_CHORDS = (
    ((5, 3), (4, 2), (3, 0), (2, 1), (1, 0)),
    ((6, 3), (5, 2), (4, 0), (3, 0), (2, 0), (1, 3)),
    ((4, 0), (3, 2), (2, 3), (1, 2)),
    ((5, 0), (4, 2), (3, 2), (2, 1), (1, 0)),
    ((6, 0), (5, 2), (4, 2), (3, 0), (2, 0), (1, 0)),
)
_LINE = tuple((string, fret) for string in (1, 2, 3, 4) for fret in (0, 2, 3))
# Rhythms of one measure of 4/4 in eighths.
_RHYTHMS = ((2, 2, 2, 2), (1, 1, 2, 1, 1, 2), (2, 1, 1, 4), (1,) * 8, (3, 1, 2, 2), (4, 2, 2))
_TYPES = {1: ("eighth", 0), 2: ("quarter", 0), 3: ("quarter", 1), 4: ("half", 0)}
_HEAD = """<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 3.1 Partwise//EN" \
"http://www.musicxml.org/dtds/partwise.dtd">
<score-partwise version="3.1">
  <work>
    <work-title>Study for the stop watch</work-title>
  </work>
  <identification>
    <creator type="composer">Nobody</creator>
    <encoding>
      <software>A notation program</software>
      <encoding-date>2024-01-01</encoding-date>
      <supports element="accidental" type="yes"/>
      <supports element="beam" type="yes"/>
      <supports element="print" attribute="new-page" type="yes" value="yes"/>
      <supports element="print" attribute="new-system" type="yes" value="yes"/>
      <supports element="stem" type="yes"/>
    </encoding>
  </identification>
  <defaults>
    <scaling>
      <millimeters>7</millimeters>
      <tenths>40</tenths>
    </scaling>
    <page-layout>
      <page-height>1697</page-height>
      <page-width>1200</page-width>
      <page-margins type="both">
        <left-margin>86</left-margin>
        <right-margin>86</right-margin>
        <top-margin>86</top-margin>
        <bottom-margin>86</bottom-margin>
      </page-margins>
    </page-layout>
    <word-font font-family="Serif" font-size="10"/>
    <lyric-font font-family="Serif" font-size="10"/>
  </defaults>
  <credit page="1">
    <credit-words default-x="600" default-y="1610" justify="center" valign="top" \
font-size="22">Study for the stop watch</credit-words>
  </credit>
  <part-list>
    <score-part id="P1">
      <part-name>Guitar</part-name>
      <part-abbreviation>Guit.</part-abbreviation>
      <score-instrument id="P1-I1">
        <instrument-name>Guitar</instrument-name>
      </score-instrument>
      <midi-instrument id="P1-I1">
        <midi-channel>1</midi-channel>
        <midi-program>25</midi-program>
        <volume>80</volume>
        <pan>0</pan>
      </midi-instrument>
    </score-part>
  </part-list>
  <part id="P1">"""
_TUNING = "".join(
    f"""
          <staff-tuning line="{line}">
            <tuning-step>{step}</tuning-step>
            <tuning-octave>{octave}</tuning-octave>
          </staff-tuning>"""
    for line, (step, octave) in enumerate(
        (("E", 2), ("A", 2), ("D", 3), ("G", 3), ("B", 3), ("E", 4)), 1
    )
)

Places = tuple[tuple[int, int], ...]


def piece(measures: int, *, tab: bool, chords: bool, seed: int = 1) -> bytes:
    """Return a piece as MusicXML 3.1.

    Args:
        measures: How many measures of 4/4.
        tab: Write a second staff with the tab of the first.
        chords: Chords of four to six notes on every other measure; else single notes.
        seed: The same seed gives the same piece.
    """
    draw = random.Random(seed)  # noqa: S311 - a fixed piece, nothing secret
    lines = [_HEAD]
    for number in range(1, measures + 1):
        lines.append(f'    <measure number="{number}" width="{240 + number % 7}">')
        if number == 1:
            lines.append(_attributes(tab=tab))
        events = list(_events(draw, chords=chords and number % 2 == 0))
        lines += [_event(places, eighths, index, staff=int(tab))
                  for index, (places, eighths) in enumerate(events)]  # fmt: skip
        if tab:
            lines.append("      <backup>\n        <duration>16</duration>\n      </backup>")
            lines += [_event(places, eighths, index, staff=2)
                      for index, (places, eighths) in enumerate(events)]  # fmt: skip
        lines.append("    </measure>")
    lines.append("  </part>\n</score-partwise>\n")
    return "\n".join(lines).encode()


def _events(draw: random.Random, *, chords: bool) -> Iterator[tuple[Places, int]]:
    for eighths in draw.choice(_RHYTHMS):
        yield (draw.choice(_CHORDS) if chords else (draw.choice(_LINE),)), eighths


def _attributes(*, tab: bool) -> str:
    staves = "\n        <staves>2</staves>" if tab else ""
    second = (
        f"""
        <clef number="2">
          <sign>TAB</sign>
          <line>5</line>
        </clef>
        <staff-details number="2">
          <staff-lines>6</staff-lines>{_TUNING}
        </staff-details>"""
        if tab
        else ""
    )
    number = ' number="1"' if tab else ""
    return f"""      <attributes>
        <divisions>4</divisions>
        <key>
          <fifths>1</fifths>
          <mode>major</mode>
        </key>
        <time>
          <beats>4</beats>
          <beat-type>4</beat-type>
        </time>{staves}
        <clef{number}>
          <sign>G</sign>
          <line>2</line>
          <clef-octave-change>-1</clef-octave-change>
        </clef>{second}
      </attributes>"""


def _event(places: Places, eighths: int, index: int, *, staff: int) -> str:
    return "\n".join(
        _note(string, fret, (eighths, index, staff), chord=number > 0)
        for number, (string, fret) in enumerate(places)
    )


def _note(string: int, fret: int, where: tuple[int, int, int], *, chord: bool) -> str:
    eighths, index, staff = where
    midi = _OPEN[string - 1] + fret
    step, alter = _NAMES[midi % 12]
    octave = (midi - alter) // 12 - 1
    kind, dots = _TYPES[eighths]
    lines = [f'      <note default-x="{13 + 29 * index}.{string}" default-y="{-5 * string}.00">']
    if chord:
        lines.append("        <chord/>")
    lines += ["        <pitch>", f"          <step>{step}</step>"]
    if alter:
        lines.append(f"          <alter>{alter}</alter>")
    lines += [f"          <octave>{octave}</octave>", "        </pitch>"]
    lines += [
        f"        <duration>{2 * eighths}</duration>",
        f"        <voice>{5 if staff == 2 else 1}</voice>",
        f"        <type>{kind}</type>",
    ]
    lines += ["        <dot/>"] * dots
    lines.append(f"        <stem>{'up' if staff < 2 else 'none'}</stem>")
    if staff:
        lines.append(f"        <staff>{staff}</staff>")
    lines += _notations(string, fret, index, staff=staff, chord=chord)
    lines.append("      </note>")
    return "\n".join(lines)


def _notations(string: int, fret: int, index: int, *, staff: int, chord: bool) -> list[str]:
    inside = []
    if staff == 2:
        inside = [
            "          <technical>",
            f"            <string>{string}</string>",
            f"            <fret>{fret}</fret>",
            "          </technical>",
        ]
    elif index == 0 and not chord:
        inside = [
            "          <articulations>",
            '            <accent placement="above"/>',
            "          </articulations>",
        ]
    return ["        <notations>", *inside, "        </notations>"] if inside else []
