"""From a path or bytes to a safe XML tree: unpacking, limits, no entities, nothing fetched."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path, PurePosixPath
from typing import Any

from lxml import etree

from variants.errors import InputError
from variants.files import read_bytes
from variants.limits import LIMITS, XML_DEPTH, FileLimits

CONTAINER = "META-INF/container.xml"
ROOTS = ("score-partwise", "score-timewise")
_CHUNK = 1 << 16
# The standard has these two; the others of zipfile cannot be unpacked in small pieces.
_PACKINGS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
# Bit 0 of the flags of a member (zip application note of PKWARE, 4.4.4).
_ENCRYPTED = 1


def load(path: str | Path, limits: FileLimits = LIMITS) -> bytes:
    """Read a file within the limits.

    Raises:
        InputError: It cannot be opened, is empty, or is too large.
    """
    return read_bytes(
        Path(path),
        most_bytes=limits.file_bytes,
        way_out="split the score, or raise the limit (file_bytes)",
    )


def unpacked(data: bytes, limits: FileLimits = LIMITS) -> bytes:
    """Return the XML text of a file, compressed or not.

    Raises:
        InputError: Nothing is in it, no score is in it, or too much is.
    """
    if not data.strip(b"\0\t\r\n "):
        raise InputError("the file is empty", way_out="export the score again as MusicXML")
    if data[:4] == b"PK\x03\x04" or data[:4] == b"PK\x05\x06":
        return unpack(data, limits)
    return data


def parse(data: bytes, limits: FileLimits = LIMITS) -> etree._Element:
    """Return the root element of a MusicXML score, compressed or not.

    Raises:
        InputError: Not a score, damaged, or past a limit.
    """
    return parse_text(unpacked(data, limits), limits)


def parse_text(data: bytes, limits: FileLimits = LIMITS) -> etree._Element:
    """Return the root element of a MusicXML score from its XML text.

    Raises:
        InputError: Not a score, or damaged.
    """
    root = safe_tree(data, limits)
    if root.tag not in ROOTS:
        raise InputError(
            f"the root element is <{_short(root.tag)}>, not score-partwise or score-timewise",
            way_out=_hint(root.tag),
        )
    return root


def safe_tree(data: bytes, limits: FileLimits = LIMITS) -> etree._Element:
    """Return the root of any XML text: nothing fetched, no entities, bounded in depth.

    Raises:
        InputError: It is damaged, declares entities, or nests too deeply.
    """
    parser = etree.XMLParser(
        resolve_entities=False,
        load_dtd=False,
        no_network=True,
        dtd_validation=False,
        # libxml2 has its own bound of 256 levels, on which we build as long as it is not raised.
        huge_tree=limits.depth > XML_DEPTH,
        remove_comments=True,
        remove_pis=True,
        remove_blank_text=True,
    )
    try:
        root = etree.fromstring(data, parser)
    except (etree.XMLSyntaxError, ValueError) as error:
        raise _not_xml(data, error) from None
    declared: Any = root.getroottree().docinfo.internalDTD
    if declared is not None and any(True for _ in declared.iterentities()):
        raise InputError(
            "the file declares XML entities, which are never expanded",
            way_out="export the score again without them",
        )
    if limits.depth != XML_DEPTH and _is_deeper(root, limits.depth):
        raise InputError(
            f"its XML nests deeper than {limits.depth} levels",
            way_out="export it again, or raise the limit (depth)",
        )
    return root


def _is_deeper(root: etree._Element, most: int) -> bool:
    level = 0
    for event, _ in etree.iterwalk(root, events=("start", "end")):
        level += 1 if event == "start" else -1
        if level > most:
            return True
    return False


def _not_xml(data: bytes, error: Exception) -> InputError:
    head = data[:400].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if head.startswith((b"<!doctype html", b"<html")):
        return InputError(
            "this is a web page, not a score",
            way_out="download the MusicXML file itself, not the page that shows it",
        )
    if not head.startswith(b"<") and data[:2] not in (b"\xff\xfe", b"\xfe\xff"):
        return InputError("this is not XML", way_out="export the score as MusicXML")
    line = getattr(error, "lineno", None)
    cause = str(getattr(error, "msg", None) or error).split("\n")[0].rstrip(".")
    return InputError(
        f"the XML is damaged ({_plain(cause)})",
        place=f"line {line}" if line else "",
        way_out="export or download the file again",
    )


def _plain(cause: str) -> str:
    return cause.split(", line ", maxsplit=1)[0][:120]


def _short(tag: object) -> str:
    return str(tag).rsplit("}", 1)[-1][:40]


def _hint(tag: object) -> str:
    known = {
        "html": "download the MusicXML file itself, not the page that shows it",
        "container": "this is the table of contents of an .mxl file; use the .mxl itself",
        "opus": "this is a list of scores; use the scores that it names",
        "mei": "this is MEI; save it with the ending .mei",
        "sounds": "this is a list of sounds, not a score",
    }
    return known.get(_short(tag), "export the score as MusicXML")


def unpack(data: bytes, limits: FileLimits = LIMITS) -> bytes:
    """Return the score inside a compressed file (``.mxl``).

    Raises:
        InputError: No score in it, names that point outside, or too much to unpack.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            _check_members(archive, limits)
            return _read_member(archive, _score_name(archive, limits), limits)
    except (zipfile.BadZipFile, EOFError, NotImplementedError, RuntimeError) as error:
        raise InputError(
            f"the compressed file is damaged ({_plain(str(error))})",
            way_out="export or download it again",
        ) from None
    except Exception as error:
        # zlib and lzma have error classes of their own, raised from deep inside zipfile.
        if isinstance(error, InputError):
            raise
        raise InputError(
            "the compressed file is damaged", way_out="export or download it again"
        ) from None


def _check_members(archive: zipfile.ZipFile, limits: FileLimits) -> None:
    total = 0
    for info in archive.infolist():
        parts = PurePosixPath(info.filename.replace("\\", "/")).parts
        if ".." in parts or info.filename.startswith(("/", "\\")) or ":" in info.filename:
            raise InputError(
                f"the compressed file names a place outside itself ({info.filename[:60]!r})",
                way_out="do not use it",
            )
        if info.flag_bits & _ENCRYPTED:
            raise InputError(
                "the compressed file is locked with a password", way_out="unlock it first"
            )
        if info.compress_type not in _PACKINGS:
            raise InputError(
                "the compressed file is packed in a way that no .mxl is",
                way_out="export or download it again",
            )
        total += info.file_size
    if total > limits.unpacked_bytes:
        raise InputError(
            f"the compressed file unpacks to more than {limits.unpacked_bytes // 2**20} MiB",
            way_out="do not use it, or raise the limit (unpacked_bytes)",
        )


def _score_name(archive: zipfile.ZipFile, limits: FileLimits) -> str:
    names = archive.namelist()
    if CONTAINER in names:
        root = safe_tree(_read_member(archive, CONTAINER, limits))
        for file in root.iter("{*}rootfile"):
            kind = file.get("media-type", "")
            path = file.get("full-path", "")
            if kind in {"", "application/vnd.recordare.musicxml+xml", "text/xml"}:
                if path in names:
                    return path
                raise InputError(
                    f"the compressed file has no {path[:60]!r}, which its contents page names",
                    way_out="export it again",
                )
    # Without a contents page the one score in it is meant.
    scores = [n for n in names if n.endswith((".xml", ".musicxml")) and n != CONTAINER]
    if not scores:
        raise InputError(
            "the zip file holds no MusicXML score", way_out="use an .mxl or a .musicxml file"
        )
    return scores[0]


def _read_member(archive: zipfile.ZipFile, name: str, limits: FileLimits) -> bytes:
    # The sizes in the directory may lie, so what comes out is counted.
    pieces, total = [], 0
    with archive.open(name) as member:
        while piece := member.read(_CHUNK):
            total += len(piece)
            if total > limits.unpacked_bytes:
                raise InputError(
                    f"the compressed file unpacks to more than "
                    f"{limits.unpacked_bytes // 2**20} MiB",
                    way_out="do not use it, or raise the limit (unpacked_bytes)",
                )
            pieces.append(piece)
    return b"".join(pieces)
