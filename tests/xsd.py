"""Validation against the W3C MusicXML 4.0 schema, offline.

The schema is the one that the PyPI package ``musicxml`` carries (W3C Community Final
Specification Agreement). It imports two small schemas by address; stubs of our own under
``tests/data`` stand in for them, so nothing is fetched.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path
from typing import Any, cast

from lxml import etree

_STUBS = Path(__file__).parent / "data"
_IMPORTS_ADDRESS = b'schemaLocation="http://www.musicxml.org/xsd/'


def schema_path() -> Path:
    """Return the path of the schema without importing the package (which takes a while).

    Raises:
        FileNotFoundError: The package is not installed, or no longer carries the schema.
    """
    spec = importlib.util.find_spec("musicxml")
    folders = (spec.submodule_search_locations if spec else None) or []
    for folder in folders:
        path = Path(folder) / "generate_classes" / "musicxml_4_0.xsd"
        if path.is_file():
            return path
    raise FileNotFoundError("the package musicxml with musicxml_4_0.xsd; pip install musicxml")


@lru_cache(maxsize=1)
def schema() -> etree.XMLSchema:
    """Return the compiled schema; it is compiled once in a process.

    Raises:
        ValueError: The schema has other imports than those that the stubs stand in for.
    """
    text = schema_path().read_bytes()
    if text.count(_IMPORTS_ADDRESS) != 2:
        raise ValueError("the schema no longer has the two imports that the stubs stand in for")
    text = text.replace(_IMPORTS_ADDRESS, f'schemaLocation="{_STUBS.resolve().as_uri()}/'.encode())
    return etree.XMLSchema(etree.fromstring(text, etree.XMLParser(no_network=True)))


def validate(xml_bytes: bytes) -> list[str]:
    """Return what is wrong with a MusicXML document, one line for each fault; empty if valid.

    >>> validate(b"<score-partwise/>")[0]
    "line 1: Element 'score-partwise': Missing child element(s). Expected is one of \
( work, movement-number, movement-title, identification, defaults, credit, part-list )."
    """
    parser = etree.XMLParser(no_network=True, resolve_entities=False, load_dtd=False)
    try:
        document = etree.fromstring(xml_bytes, parser)
    except etree.XMLSyntaxError as error:
        return [f"not well-formed: {error}"]
    rules = schema()
    if rules.validate(document):
        return []
    # The log can be walked through, which its type stub does not say.
    entries: Iterable[Any] = cast("Iterable[Any]", rules.error_log)
    return [f"line {entry.line}: {entry.message}" for entry in entries]
