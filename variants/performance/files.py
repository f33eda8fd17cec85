"""Audio files through libsndfile: WAV, FLAC, Ogg Vorbis and MP3."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from variants.errors import UsageError
from variants.performance.string import RATE_HZ

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

# libsndfile's names of format and coding, by the end of a file's name.
FORMATS = {
    ".wav": ("WAV", "PCM_16"),
    ".flac": ("FLAC", "PCM_16"),
    ".ogg": ("OGG", "VORBIS"),
    ".mp3": ("MP3", "MPEG_LAYER_III"),
}
# Where the number of an Ogg stream and the check sum of a page stand in each page's head
# (RFC 3533, section 6), and the polynomial of the latter.
_OGG_HEAD, _OGG_SERIAL, _OGG_SUM, _OGG_TABLE = 27, 14, 22, 26
_OGG_POLYNOMIAL = 0x04C11DB7


def audio_bytes(
    sound: npt.NDArray[np.float64], ending: str, *, rate_hz: int = RATE_HZ, title: str = ""
) -> bytes:
    """Return sound as an audio file; the same bytes for the same sound.

    Args:
        sound: A row a sample, a column a channel, within -1 to 1.
        ending: ``.wav``, ``.flac``, ``.ogg`` or ``.mp3``.
        rate_hz: Samples in a second.
        title: Title for the file's own tags, where the format has them.

    Raises:
        UsageError: There is no such format, or the library that writes it is not installed.
    """
    if ending not in FORMATS:
        raise UsageError(
            f"{ending or 'a name without an ending'} is no audio file that can be written",
            way_out=f"end the name in {', '.join(FORMATS)}",
        )
    try:
        import soundfile
    except (ImportError, OSError) as error:
        raise UsageError(
            "audio files need the package soundfile, which is not here",
            way_out="install neckwise[audio]",
        ) from error
    kind, coding = FORMATS[ending]
    buffer = io.BytesIO()
    with soundfile.SoundFile(
        buffer, "w", samplerate=rate_hz, channels=sound.shape[1], format=kind, subtype=coding
    ) as file:
        if title:
            file.title = title
        # In blocks: the coder of Ogg Vorbis keeps what it is given on the stack.
        for first in range(0, len(sound), rate_hz):
            file.write(sound[first : first + rate_hz])
    data = buffer.getvalue()
    return _renumbered(data) if ending == ".ogg" else data


def _renumbered(data: bytes) -> bytes:
    """Return an Ogg file with the number of its stream set to 1; the library draws one."""
    pages = bytearray(data)
    at = 0
    while at + _OGG_HEAD <= len(pages) and pages[at : at + 4] == b"OggS":
        segments = pages[at + _OGG_TABLE]
        size = _OGG_HEAD + segments + sum(pages[at + _OGG_HEAD : at + _OGG_HEAD + segments])
        pages[at + _OGG_SERIAL : at + _OGG_SERIAL + 4] = (1).to_bytes(4, "little")
        pages[at + _OGG_SUM : at + _OGG_SUM + 4] = bytes(4)
        check = _ogg_sum(bytes(pages[at : at + size]))
        pages[at + _OGG_SUM : at + _OGG_SUM + 4] = check.to_bytes(4, "little")
        at += size
    return bytes(pages)


def _ogg_table() -> tuple[int, ...]:
    table = []
    for number in range(256):
        value = number << 24
        for _ in range(8):
            value = (value << 1) ^ (_OGG_POLYNOMIAL if value & 0x80000000 else 0)
        table.append(value & 0xFFFFFFFF)
    return tuple(table)


_OGG_SUMS = _ogg_table()


def _ogg_sum(page: bytes) -> int:
    """Return the check sum of a page whose own field is zero (RFC 3533: direct, no reflection)."""
    value = 0
    for byte in page:
        value = ((value << 8) & 0xFFFFFFFF) ^ _OGG_SUMS[(value >> 24) ^ byte]
    return value
