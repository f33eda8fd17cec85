"""Makes ``variants/musicxml/grammar.json`` from the W3C MusicXML 4.0 schema.

    python -m tests.oracles.grammar

The table says of each element what it may hold: its children as a regular expression over their
names, its attributes with the form of their values, its text. What the reader only carries is
checked against it, so that no damaged piece of a file is written back. The schema is the one that
the PyPI package ``musicxml`` carries; a test makes the table anew and compares.
"""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from lxml import etree

from tests.xsd import schema_path

TABLE = Path(__file__).parents[2] / "variants" / "musicxml" / "grammar.json"
_XS = "{http://www.w3.org/2001/XMLSchema}"
# Forms of text: ["any"], ["of", value, ...], ["is", value, ...] (space counts), ["like", regex],
# ["number", regex, least, most, whether least itself is too small], ["either", form, ...].
Form = list[Any]
# Signs of names that every edition of XML 1.0 allows: Latin letters as in its fourth edition (rule
# 85), digits, and the four signs. Other scripts differ between the editions.
_NAME_START = (
    r"A-Z_a-z\u00C0-\u00D6\u00D8-\u00F6\u00F8-\u0131\u0134-\u013E\u0141-\u0148\u014A-\u017E"
)
_NAME_MORE = _NAME_START + r"\-.0-9\u00B7"
_NAME_SIGN = f"[:{_NAME_MORE}]"
_BUILT_IN: dict[str, Form] = {
    "string": ["any"],
    "token": ["any"],
    "anyURI": ["any"],
    "ID": ["like", f"[{_NAME_START}][{_NAME_MORE}]*"],
    "IDREF": ["like", f"[{_NAME_START}][{_NAME_MORE}]*"],
    "NMTOKEN": ["like", _NAME_SIGN + "+"],
    "date": ["like", r"-?\d{4}-\d\d-\d\d(Z|[+-]\d\d:\d\d)?"],
    "decimal": ["number", r"[+-]?(\d+(\.\d*)?|\.\d+)", None, None, False],
    "integer": ["number", r"[+-]?\d+", None, None, False],
    "nonNegativeInteger": ["number", r"[+-]?\d+", 0, None, False],
    "positiveInteger": ["number", r"[+-]?\d+", 1, None, False],
}
# The attributes of the two imported schemas.
_IMPORTED: dict[str, Form] = {
    "xlink:href": ["any"],
    "xlink:role": ["any"],
    "xlink:title": ["any"],
    "xlink:type": ["of", "simple"],
    "xlink:show": ["of", "new", "replace", "embed", "other", "none"],
    "xlink:actuate": ["of", "onRequest", "onLoad", "other", "none"],
    "xml:lang": ["like", r"([a-zA-Z]{1,8}(-[a-zA-Z0-9]{1,8})*)?"],
    "xml:space": ["of", "default", "preserve"],
}


class Grammar:
    """Gathers what the schema says."""

    def __init__(self, root: etree._Element) -> None:
        self.types = {str(one.get("name")): one for one in root if one.tag == f"{_XS}complexType"}
        self.simple = {str(one.get("name")): one for one in root.findall(f"{_XS}simpleType")}
        self.groups = {str(one.get("name")): one for one in root.findall(f"{_XS}group")}
        self.shared = {str(one.get("name")): one for one in root.findall(f"{_XS}attributeGroup")}
        self.table: dict[str, Any] = {}
        self.forms: dict[str, Form] = {}

    def add(self, name: str, element: etree._Element | None = None) -> None:
        """Add a complex type and all that it holds, or a simple type as one without children."""
        if name in self.table:
            return
        found = self.types.get(name) if element is None else element
        entry: dict[str, Any] = {}
        self.table[name] = entry
        if found is None:
            entry["text"] = self.form(name)
            return
        children: dict[str, str] = {}
        pattern = self._content(found, children, name)
        if pattern:
            entry["content"] = pattern
            entry["children"] = dict(sorted(children.items()))
        text = self._text(found)
        if text:
            entry["text"] = text
        attributes = dict(sorted(self._attributes(found)))
        if attributes:
            entry["attributes"] = attributes

    def add_group(self, name: str, group: str) -> None:
        """Add a group of elements as if it were the content of a type."""
        children: dict[str, str] = {}
        content = self._content(self.groups[group], children, name)
        self.table[name] = {"content": content, "children": dict(sorted(children.items()))}

    # -- children ------------------------------------------------------------------------

    def _content(self, holder: etree._Element, children: dict[str, str], owner: str) -> str:
        pieces = []
        for one in holder:
            if one.tag in (f"{_XS}sequence", f"{_XS}choice", f"{_XS}group"):
                pieces.append(self._particle(one, children, owner))
            elif one.tag == f"{_XS}complexContent":
                extension = one[0]
                base = str(extension.get("base"))
                pieces.append(self._content(self.types[base], children, base))
                pieces.append(self._content(extension, children, owner))
        return "".join(pieces)

    def _particle(self, one: etree._Element, children: dict[str, str], owner: str) -> str:
        if one.tag == f"{_XS}element":
            name = str(one.get("name"))
            kind = one.get("type")
            local = one.find(f"{_XS}complexType")
            if kind is None and local is not None:
                kind = f"{owner}/{name}"
                self.add(kind, local)
            children[name] = str(kind)
            self.add(str(kind))
            inside = f"{name},"
        elif one.tag == f"{_XS}group":
            inside = self._content(self.groups[str(one.get("ref"))], children, owner)
        else:
            between = "|" if one.tag == f"{_XS}choice" else ""
            pieces = [
                self._particle(child, children, owner)
                for child in one
                if child.tag != f"{_XS}annotation"
            ]
            inside = between.join(pieces)
        return f"(?:{inside}){_times(one)}" if inside else ""

    # -- text and attributes -------------------------------------------------------------

    def _text(self, holder: etree._Element) -> str:
        extension = holder.find(f"{_XS}simpleContent/{_XS}extension")
        if extension is None:
            return ""
        base = str(extension.get("base"))
        return self._text(self.types[base]) if base in self.types else self.form(base)

    def _attributes(self, holder: etree._Element) -> Iterator[tuple[str, str]]:
        for one in holder:
            if one.tag == f"{_XS}attribute":
                must = "!" if one.get("use") == "required" else ""
                name = str(one.get("ref") or one.get("name"))
                yield name, must + self.form(name if name in _IMPORTED else str(one.get("type")))
            elif one.tag == f"{_XS}attributeGroup":
                yield from self._attributes(self.shared[str(one.get("ref"))])
            elif one.tag in (f"{_XS}simpleContent", f"{_XS}complexContent"):
                extension = one[0]
                base = str(extension.get("base"))
                if base in self.types:
                    yield from self._attributes(self.types[base])
                yield from self._attributes(extension)

    def form(self, name: str) -> str:
        """Return the name of a simple type, whose form is then in the table."""
        if name not in self.forms:
            built_in = _BUILT_IN.get(name.removeprefix("xs:")) if name[:3] == "xs:" else None
            self.forms[name] = built_in or _IMPORTED.get(name) or self._simple(self.simple[name])
        return name

    def _named(self, name: str) -> Form:
        if name[:3] == "xs:":
            return _BUILT_IN[name.removeprefix("xs:")]
        return self._simple(self.simple[name])

    def _simple(self, holder: etree._Element) -> Form:
        union = holder.find(f"{_XS}union")
        if union is not None:
            named = [self._named(one) for one in (union.get("memberTypes") or "").split()]
            return ["either", *named, *map(self._simple, union.findall(f"{_XS}simpleType"))]
        restriction = holder.find(f"{_XS}restriction")
        assert restriction is not None, "a simple type is a union or a restriction"
        values = [str(one.get("value")) for one in restriction.findall(f"{_XS}enumeration")]
        if values:
            # A token loses the space around it, a string does not.
            return ["is" if restriction.get("base") == "xs:string" else "of", *values]
        pattern = restriction.find(f"{_XS}pattern")
        if pattern is not None:
            return ["like", str(pattern.get("value")).replace(r"\c", _NAME_SIGN)]
        base = list(self._named(str(restriction.get("base"))))
        if base[0] == "number":
            for facet in restriction:
                _bound(base, str(facet.tag).removeprefix(_XS), str(facet.get("value")))
        elif any(facet.tag == f"{_XS}minLength" for facet in restriction):
            return ["like", r"(?s).+"]
        return base


def _bound(form: Form, facet: str, value: str) -> None:
    if facet in ("minInclusive", "minExclusive"):
        form[2], form[4] = float(value), facet == "minExclusive"
    elif facet == "maxInclusive":
        form[3] = float(value)


def _times(one: etree._Element) -> str:
    least, most = one.get("minOccurs", "1"), one.get("maxOccurs", "1")
    if (least, most) == ("1", "1"):
        return ""
    if most == "unbounded":
        return {"0": "*", "1": "+"}.get(least, f"{{{least},}}")
    return "?" if (least, most) == ("0", "1") else f"{{{least},{most}}}"


def grammar_text() -> str:
    """Return the table as the file holds it."""
    grammar = Grammar(etree.parse(str(schema_path())).getroot())
    # What stands in a measure or in the header of a part; the rest the writer makes itself.
    for name in (
        "note", "direction", "attributes", "harmony", "figured-bass", "print", "sound",
        "listening", "barline", "grouping", "link", "bookmark", "part-list",
        "defaults", "credit", "work", "identification",
    ):  # fmt: skip
        grammar.add(name)
    grammar.add_group("measure", "music-data")
    for entry in grammar.table.values():
        re.compile(entry.get("content", ""))
    lines = [
        f"{json.dumps(name)}: {json.dumps(one)}" for name, one in sorted(grammar.table.items())
    ]
    forms = [
        f"{json.dumps(name)}: {json.dumps(one)}" for name, one in sorted(grammar.forms.items())
    ]
    return '{"types": {\n' + ",\n".join(lines) + '\n}, "forms": {\n' + ",\n".join(forms) + "\n}}\n"


def main() -> None:
    """Write the table."""
    TABLE.write_text(grammar_text(), encoding="utf-8")
    sys.stdout.write(f"{TABLE.name}: {TABLE.stat().st_size} bytes\n")


if __name__ == "__main__":
    main()
