"""The JSON Schema of set files; ``python -m variants.songset.schema`` prints it."""

from __future__ import annotations

import json
import sys

from variants.songset.model import SetFile


def schema_text() -> str:
    """Return the schema as it is published in ``docs/songset.schema.json``."""
    schema = SetFile.model_json_schema(by_alias=True)
    schema = {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    sys.stdout.write(schema_text())
