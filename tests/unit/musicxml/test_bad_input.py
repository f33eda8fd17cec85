"""Bad input gives one line with the cause and the way out, quickly, and nothing else."""

from __future__ import annotations

import io
import struct
import time
import tracemalloc
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest

from variants.errors import InputError, NeckwiseError, OutputError
from variants.musicxml import LIMITS, read, read_bytes, to_bytes, to_mxl
from variants.musicxml.source import CONTAINER

NOTE = (
    "<note><pitch><step>E</step><octave>4</octave></pitch><duration>4</duration>"
    "<type>whole</type></note>"
)
ATTRIBUTES = (
    "<attributes><divisions>1</divisions><key><fifths>0</fifths></key>"
    "<time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
)


def score(
    inside: str = NOTE,
    *,
    attributes: str = ATTRIBUTES,
    part_list: str = '<score-part id="P1"><part-name>A</part-name></score-part>',
    more: str = "",
    head: str = "",
) -> bytes:
    """Return a score of one measure around what is tested."""
    return (
        f'{head}<score-partwise version="4.0"><part-list>{part_list}</part-list>'
        f'<part id="P1"><measure number="1">{attributes}{inside}</measure></part>{more}'
        "</score-partwise>"
    ).encode()


def _in_attributes(old: str, new: str) -> bytes:
    assert old in ATTRIBUTES
    return score(attributes=ATTRIBUTES.replace(old, new))


def _in_note(old: str, new: str) -> bytes:
    assert old in NOTE
    return score(NOTE.replace(old, new))


def _zip(members: dict[str, bytes], how: int = zipfile.ZIP_DEFLATED) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", how) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return buffer.getvalue()


def _container(path: str) -> bytes:
    return f'<container><rootfiles><rootfile full-path="{path}"/></rootfiles></container>'.encode()


def _encrypted() -> bytes:
    data = bytearray(_zip({"score.xml": score()}))
    for signature, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        place = data.index(signature) + offset
        data[place] |= 1
    return bytes(data)


def _too_large(size: int) -> bytes:
    return _zip({"small.xml": score(), "score.xml": b" " * size})


def _lying(data: bytes) -> bytes:
    """Return a zip file whose directory says that its last member unpacks to 1000 bytes."""
    changed = bytearray(data)
    for signature, offset in ((b"PK\x03\x04", 22), (b"PK\x01\x02", 24)):
        place = data.rindex(signature) + offset
        changed[place : place + 4] = struct.pack("<I", 1000)
    return bytes(changed)


ENTITY_BOMB = (
    "<?xml version='1.0'?><!DOCTYPE score-partwise [<!ENTITY a 'ha'>"
    + "".join(f"<!ENTITY {chr(98 + i)} '{f'&{chr(97 + i)};' * 10}'>" for i in range(12))
    + "]>"
)
BOMB_NOTE = NOTE.replace("whole", "&m;")
EXTERNAL = (
    "<?xml version='1.0'?><!DOCTYPE score-partwise [<!ENTITY f SYSTEM 'file:///etc/hostname'>]>"
)
PARAMETER = (
    "<?xml version='1.0'?><!DOCTYPE score-partwise "
    "[<!ENTITY % f SYSTEM 'file:///etc/hostname'> %f;]>"
)
TUNING = (
    "<staff-details><staff-lines>1</staff-lines><staff-tuning line='1'>"
    "<tuning-step>E</tuning-step><tuning-octave>2</tuning-octave></staff-tuning></staff-details>"
    "</attributes>"
)


def _tuned(old: str, new: str) -> bytes:
    return _in_attributes("</attributes>", TUNING.replace(old, new))


HUGE = "9" * 5000
BAD: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "the file is empty"),
    "blank": (b" \n\t\0\0", "the file is empty"),
    "not XML": (b"a tune in G", "this is not XML"),
    "binary": (bytes(range(256)) * 4, "this is not XML"),
    "cut": (score()[:150], "the XML is damaged"),
    "cut at the root": (b"<score-partwise", "the XML is damaged"),
    "only a declaration": (b"<?xml version='1.0'?>", "the XML is damaged"),
    "two roots": (score() + score(), "the XML is damaged"),
    "HTML": (b"<!DOCTYPE html><html><body><p>Not here<br></body></html>", "this is a web page"),
    "well-formed HTML": (b"<html><body/></html>", "the root element is <html>"),
    "wrong root": (b"<opus/>", "the root element is <opus>"),
    "root of another language": (b"<mei xmlns='http://www.music-encoding.org/ns/mei'/>", "<mei>"),
    "entity bomb": (score(BOMB_NOTE, head=ENTITY_BOMB), "entit"),
    "unused entities": (score(head=ENTITY_BOMB), "the file declares XML entities"),
    "entity bomb in an attribute": (
        score(NOTE.replace("<note>", "<note dynamics='&m;'>"), head=ENTITY_BOMB),
        "the XML is damaged",
    ),
    "external entity": (score(NOTE.replace("whole", "&f;"), head=EXTERNAL), "entit"),
    "external parameter entity": (score(head=PARAMETER), "entit"),
    "undeclared entity": (score(NOTE.replace("whole", "&nbsp;")), "the XML is damaged"),
    "NUL bytes": (score(NOTE.replace("whole", "wh\0ole")), "the XML is damaged"),
    "control characters": (score(NOTE.replace("whole", "wh\x07ole")), "the XML is damaged"),
    "not UTF-8": (score().replace(b">A<", b">\xff\xfe<"), "the XML is damaged"),
    "declared UTF-16, written UTF-8": (
        b"<?xml version='1.0' encoding='UTF-16'?>" + score().replace(b">A<", b">\xc3\xa4<"),
        "the XML is damaged",
    ),
    "unknown encoding": (
        b"<?xml version='1.0' encoding='neck-8'?>" + score(),
        "the XML is damaged",
    ),
    "half a UTF-16 file": (score().decode().encode("utf-16")[:-31], "the XML is damaged"),
    "deep nesting": (b"<score-partwise>" + b"<a>" * 100_000, "the XML is damaged"),
    "zip without a score": (_zip({"readme.txt": b"hello"}), "holds no MusicXML score"),
    "empty zip": (_zip({}), "holds no MusicXML score"),
    "zip of something that is no score": (_zip({"a.xml": b"<a/>"}), "the root element is <a>"),
    "cut zip": (_zip({"score.xml": score()})[:-40], "the compressed file is damaged"),
    "zip with damaged insides": (
        _zip({"score.xml": score()}).replace(b"\x55\x92", b"\x92\x55")[:60] + b"PK\x05\x06",
        "the compressed file is damaged",
    ),
    "contents page names what is not there": (
        _zip({CONTAINER: _container("other.xml"), "score.xml": score()}),
        "has no 'other.xml'",
    ),
    "contents page is no XML": (_zip({CONTAINER: b"hello", "s.xml": score()}), "is not XML"),
    "contents page points outside": (
        _zip({CONTAINER: _container("../../etc/passwd"), "score.xml": score()}),
        "has no '../../etc/passwd'",
    ),
    "member outside": (_zip({"../score.xml": score()}), "names a place outside itself"),
    "member at the root": (_zip({"/etc/score.xml": score()}), "names a place outside itself"),
    "member on a drive": (_zip({"C:\\score.xml": score()}), "names a place outside itself"),
    "encrypted zip": (_encrypted(), "locked with a password"),
    "strange packing": (_zip({"s.xml": score()}, zipfile.ZIP_LZMA), "packed in a way"),
    "no parts": (b"<score-partwise/>", "the score has no measures"),
    "no measures": (
        b'<score-partwise><part-list/><part id="P1"/></score-partwise>',
        "the score has no measures",
    ),
    "no divisions": (
        score(NOTE.replace("<type>whole</type>", ""), attributes=""),
        "before any <divisions>",
    ),
    "zero divisions": (_in_attributes("<divisions>1<", "<divisions>0<"), "<divisions> is '0'"),
    "negative divisions": (_in_attributes("<divisions>1<", "<divisions>-4<"), "<divisions> is"),
    "empty divisions": (_in_attributes("<divisions>1<", "<divisions><"), "is missing"),
    "divisions in words": (_in_attributes("<divisions>1<", "<divisions>four<"), "is 'four'"),
    "huge divisions": (_in_attributes("<divisions>1<", "<divisions>1000000007<"), "no common"),
    "endless divisions": (_in_attributes("<divisions>1<", f"<divisions>{HUGE}<"), "<divisions> is"),
    "divisions with an exponent": (
        _in_attributes("<divisions>1<", "<divisions>1e999999999<"),
        "<divisions> is '1e999999999'",
    ),
    "negative duration": (_in_note("<duration>4", "<duration>-4"), "is negative ('-4')"),
    "duration in words": (_in_note("<duration>4", "<duration>long"), "is 'long', not a number"),
    "empty duration": (_in_note("<duration>4", "<duration>"), "not a number"),
    "duration as a fraction": (_in_note("<duration>4", "<duration>1/0"), "not a number"),
    "duration in other digits": (_in_note("<duration>4", "<duration>٤"), "not a number"),
    "huge duration": (_in_note("<duration>4", "<duration>9999999999999"), "longer than any"),
    "endless duration": (_in_note("<duration>4", f"<duration>{HUGE}"), "not a number"),
    "duration of many decimals": (
        _in_note("<duration>4", "<duration>4.00000000000000001"),
        "no common measure",
    ),
    "duration with an exponent": (
        _in_note("<duration>4", "<duration>4.0e-99999999"),
        "not a number",
    ),
    "neither duration nor type": (
        score(NOTE.replace("<duration>4</duration>", "").replace("<type>whole</type>", "")),
        "a note has no <duration>",
    ),
    "backup before the start": (
        score(f"{NOTE}<backup><duration>5</duration></backup>"),
        "goes back before the start",
    ),
    "backup without duration": (score(f"{NOTE}<backup/>"), "a <backup> is missing"),
    "huge forward": (
        score("<forward><duration>1000000000000000</duration></forward>"),
        "longer than any measure",
    ),
    "octave in words": (_in_note("<octave>4", "<octave>low"), "<octave> is 'low'"),
    "no octave": (_in_note("<octave>4</octave>", ""), "<octave> is missing"),
    "huge octave": (_in_note("<octave>4", "<octave>4000000000"), "<octave> is '4000000000'"),
    "negative octave": (_in_note("<octave>4", "<octave>-3"), "<octave> is '-3'; use 0 to 9"),
    "no step": (_in_note("<step>E</step>", ""), "the step missing"),
    "step H": (_in_note("<step>E", "<step>H"), "a pitch has the step 'H'"),
    "alter in words": (_in_note("</step>", "</step><alter>sharp</alter>"), "<alter> is 'sharp'"),
    "huge alter": (_in_note("</step>", "</step><alter>1000000</alter>"), "<alter> is '1000000'"),
    "alter with an exponent": (
        _in_note("</step>", "</step><alter>1e400000000</alter>"),
        "<alter> is '1e400000000'",
    ),
    "staff in words": (_in_note("</note>", "<staff>upper</staff></note>"), "<staff> is 'upper'"),
    "staff 99": (_in_note("</note>", "<staff>99</staff></note>"), "<staff> is '99'"),
    "negative staff": (_in_note("</note>", "<staff>-1</staff></note>"), "<staff> is '-1'"),
    "999999 staves": (
        _in_attributes("</attributes>", "<staves>999999</staves></attributes>"),
        "<staves> is '999999'",
    ),
    "beats with an exponent": (_in_attributes("<beats>4", "<beats>1e9"), "has '1e9'"),
    "many beats": (_in_attributes("<beats>4", "<beats>1000000000"), "has '1000000000'"),
    "no beats": (_in_attributes("<beats>4", "<beats>0"), "has '0'"),
    "half a beat": (_in_attributes("<beats>4", "<beats>3+"), "has ''"),
    "beat type in words": (_in_attributes("<beat-type>4", "<beat-type>q"), "has 'q'"),
    "beats without a beat type": (
        _in_attributes("<beat-type>4</beat-type>", ""),
        "1 upper and 0 lower numbers",
    ),
    "fifths in words": (_in_attributes("<fifths>0", "<fifths>G"), "<fifths> is 'G'"),
    "many fifths": (_in_attributes("<fifths>0", "<fifths>99"), "<fifths> is '99'"),
    "tuning step": (_tuned("<tuning-step>E", "<tuning-step>Q"), "<tuning-step> is 'Q'"),
    "tuning octave": (_tuned("octave>2<", "octave>99999999999<"), "<tuning-octave> is"),
    "tuning line": (_tuned("line='1'", "line='1000000'"), "the line of <staff-tuning> is"),
    "tuning without a line": (_tuned(" line='1'", ""), "the line of <staff-tuning> is missing"),
    "staff lines": (_tuned("lines>1<", "lines>999<"), "<staff-lines> is '999'"),
    "transposition in words": (
        _in_attributes("</attributes>", "<transpose><chromatic>up</chromatic></transpose>"
                       "</attributes>"),
        "<chromatic> is 'up'",
    ),
    "huge transposition": (
        _in_attributes("</attributes>", "<transpose><chromatic>-99999</chromatic></transpose>"
                       "</attributes>"),
        "<chromatic> is -99999",
    ),
    "tuplet of nothing": (
        _in_note("</note>", "<time-modification><actual-notes>0</actual-notes><normal-notes>2"
                 "</normal-notes></time-modification></note>"),
        "<actual-notes> is '0'",
    ),
    "two parts with one id": (
        score(more=f'<part id="P1"><measure number="1">{ATTRIBUTES}{NOTE}</measure></part>'),
        "two parts have the id 'P1'",
    ),
    "parts of different length": (
        score(more='<part id="P2"><measure number="1"/><measure number="2"/></part>'),
        "part P2 has 2 measures, part P1 has 1 measure",
    ),
    "too many voices": (
        score("<backup><duration>0</duration></backup>".join(
            NOTE.replace("<type>", f"<voice>{n}</voice><type>") +
            "<backup><duration>4</duration></backup>" for n in range(100)
        )),
        "voices sound at once",
    ),
    "too many notes at once in one voice": (
        score("<backup><duration>4</duration></backup>".join([NOTE] * 1200)),
        "voices sound at once",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_bad_input_is_one_clear_line(name: str) -> None:
    """Each kind of bad input gives one line with its cause and a way out."""
    data, cause = BAD[name]
    with pytest.raises(InputError) as caught:
        read_bytes(data)
    message = str(caught.value)
    assert cause in message
    assert "\n" not in message
    assert len(message) < 250
    assert caught.value.way_out


def test_a_file_that_unpacks_to_too_much_is_refused_in_little_memory() -> None:
    """A compressed file beyond the limit is refused at once, before it fills the memory."""
    data = _too_large(LIMITS.unpacked_bytes)
    assert len(data) < LIMITS.unpacked_bytes // 900
    _refused_cheaply(data, "unpacks to more than 128 MiB", most_bytes=2**20)


def test_lying_sizes_do_not_help() -> None:
    """A member that is larger than the directory says is cut there and does not match its sum."""
    data = _lying(_zip({"score.xml": b" " * 2**24}))
    _refused_cheaply(data, "is damaged", most_bytes=2**20)


def _refused_cheaply(data: bytes, cause: str, *, most_bytes: int) -> None:
    tracemalloc.start()
    begun = time.process_time()
    try:
        with pytest.raises(InputError, match=cause):
            read_bytes(data)
        seconds = time.process_time() - begun
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert seconds < 3
    assert peak < most_bytes


def test_what_comes_out_is_counted() -> None:
    """The sum that the directory of a compressed file states is not trusted alone."""
    limits = replace(LIMITS, unpacked_bytes=1000)
    with pytest.raises(InputError, match="unpacks to more than"):
        read_bytes(_zip({"score.xml": score() + b" " * 2000}), limits=limits)


def test_limits_are_held() -> None:
    """Too many notes or measures are refused, and the limit is the caller's to raise."""
    data = score(NOTE.replace("<duration>4", "<duration>1") * 4)
    assert read_bytes(data, limits=replace(LIMITS, notes=4)).parts
    with pytest.raises(
        InputError, match="part P1, measure 1, beat 4: the score has too many notes"
    ):
        read_bytes(data, limits=replace(LIMITS, notes=3))
    with pytest.raises(InputError, match="more than 0 measures"):
        read_bytes(data, limits=replace(LIMITS, measures=0))


def test_the_file_is_named(tmp_path: Path) -> None:
    """A refusal of a file begins with its name; one that cannot be opened says why."""
    bad = tmp_path / "song.musicxml"
    bad.write_bytes(b"<opus/>")
    with pytest.raises(InputError, match=r"^song\.musicxml: the root element is <opus>"):
        read(bad)
    for path, cause in ((tmp_path / "none.xml", "no such file"), (tmp_path, "is a folder")):
        with pytest.raises(InputError, match=cause):
            read(path)
    bad.write_bytes(b"x" * 100)
    with pytest.raises(InputError, match="is larger than"):
        read(bad, limits=replace(LIMITS, file_bytes=99))


def test_a_note_outside_the_octaves_of_musicxml_is_not_written() -> None:
    """Octave -1 has no spelling in MusicXML: the writer says where and why."""
    low = read_bytes(_in_note("<octave>4", "<octave>0"), reading="guitar")
    with pytest.raises(OutputError, match="part P1, measure 1, beat 1: E-1 cannot be written"):
        to_bytes(low)


@pytest.mark.parametrize("codec", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1"])
def test_encodings_are_read(codec: str) -> None:
    """UTF-8 with a mark, UTF-16 with and without one, and a declared Latin-1 are read."""
    name = {"utf-8-sig": "UTF-8", "latin-1": "ISO-8859-1"}.get(codec, "UTF-16")
    text = f"<?xml version='1.0' encoding='{name}'?>" + score().decode().replace(">A<", ">Ä<")
    assert read_bytes(text.encode(codec)).parts[0].name == "Ä"


def test_compressed_forms_are_read() -> None:
    """A compressed score is read with and without contents page, mimetype and other files."""
    own = to_mxl(read_bytes(score()))
    bare = _zip({"score.xml": score()})
    full = _zip({
        "mimetype": b"application/vnd.recordare.musicxml",
        "cover.png": b"\x89PNG",
        CONTAINER: _container("music/score.xml"),
        "music/score.xml": score(),
        "decoy.xml": b"<opus/>",
    })  # fmt: skip
    plain = read_bytes(score()).parts
    assert read_bytes(bare).parts == read_bytes(full).parts == plain
    assert read_bytes(own, reading="concert").parts == plain


MENDED = {
    "no id": (b'<part id="P1">', b"<part>", ""),
    "an id that XML does not allow": (b'id="P1"', b'id="1 a"', "'1 a' is no id for a part"),
    "a part that is not declared": (b'<score-part id="P1"', b'<score-part id="P9"', "not name"),
}  # fmt: skip


@pytest.mark.parametrize("name", MENDED)
def test_part_ids_are_mended(name: str) -> None:
    """Parts without a proper id or declaration are read, and what comes out has an id."""
    old, new, message = MENDED[name]
    found = read_bytes(score().replace(old, new))
    assert [part.id for part in found.parts] == ["P1"]
    assert message in " ".join(change.message for change in found.changes)


def test_a_rest_in_a_chord_does_not_silence_it() -> None:
    """A rest that is marked as part of a chord is dropped, not the notes beside it."""
    rest = "<note><rest/><duration>4</duration></note>"
    chord = NOTE.replace("<note>", "<note><chord/>")
    found = read_bytes(score(rest + chord))
    (event,) = found.parts[0].measures[0].voices[0].events
    assert [str(note.pitch) for note in event.notes] == ["E3"]


def test_every_refusal_is_of_the_family() -> None:
    """An input error is a neckwise error, so that one handler catches all of them."""
    assert issubclass(InputError, NeckwiseError)
