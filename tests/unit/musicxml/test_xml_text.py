"""What is only carried comes back as the XML that it was, less its old place on the page."""

from __future__ import annotations

import pytest
from lxml import etree

from variants.musicxml.xml_text import xml_text

FRAGMENTS = [
    "<slur/>",
    '<slur number="1" type="start"/>',
    '<words font-style="italic">poco a poco</words>',
    "<words>a &lt; b &amp; c &gt; d</words>",
    '<words font-family="&quot;Neck&quot; &amp; &lt;Sons&gt;">x</words>',
    '<words font-family="one&#10;two&#9;three">x</words>',
    "<text>  \u00e9\u266f \U0001f3b8 </text>",
    "<bend><bend-alter>2</bend-alter><release/></bend>",
    "<miscellaneous><a>1</a>mixed<b>2</b>text</miscellaneous>",
    '<link xmlns:xlink="http://www.w3.org/1999/xlink" xlink:href="a.xml"/>',
    '<other xmlns="urn:x"><inner/></other>',
    '<outer><inner xmlns:y="urn:y" y:a="1"/></outer>',
]


@pytest.mark.parametrize("text", FRAGMENTS)
def test_the_same_as_the_library_writes(text: str) -> None:
    """The text put together here is byte for byte what lxml's serialiser gives."""
    element = etree.fromstring(text)
    expected = etree.tostring(element, encoding="unicode")
    assert xml_text(element) == expected


def test_layout_is_left_out_at_every_depth() -> None:
    """Positions on the old page are dropped, other attributes and what follows are not taken."""
    whole = etree.fromstring(
        '<a><b default-x="1" type="t" relative-y="2"><c bezier-x="3"/></b>tail</a>'
    )
    assert xml_text(whole[0]) == '<b type="t"><c/></b>'
    spaced = etree.fromstring('<a><b default-x="1" xml:space="preserve" number="1"/></a>')
    assert xml_text(spaced[0]) == '<b xml:space="preserve" number="1"/>'
