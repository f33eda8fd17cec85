"""The JSON Schema of recipe files, for editors; ``python -m variants.recipes.schema`` prints it."""

from __future__ import annotations

import json
import sys

from variants.recipes.model import RecipeFile


def schema_text() -> str:
    """Return the schema as it is published in ``docs/recipes.schema.json``."""
    schema = RecipeFile.model_json_schema(by_alias=True)
    schema = {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    sys.stdout.write(schema_text())
