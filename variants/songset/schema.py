"""The JSON Schema of set files; ``python -m variants.songset.schema`` prints it."""

from __future__ import annotations

import sys

from variants.pins import PinFile
from variants.recipes.schema import published
from variants.songset.model import SetFile


def schema_text() -> str:
    """Return the schema as it is published in ``docs/songset.schema.json``."""
    return published(SetFile)


def pins_schema_text() -> str:
    """Return the schema as it is published in ``docs/pins.schema.json``."""
    return published(PinFile)


if __name__ == "__main__":
    sys.stdout.write(schema_text())
