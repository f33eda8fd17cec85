"""The JSON Schema of recipe files, for editors; ``python -m variants.recipes.schema`` prints it."""

from __future__ import annotations

import json
import sys

from pydantic import BaseModel

from variants.recipes.model import RecipeFile


def published(model: type[BaseModel]) -> str:
    """Return the JSON Schema of a model as its file in ``docs`` holds it."""
    schema = model.model_json_schema(by_alias=True)
    schema = {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def schema_text() -> str:
    """Return the schema as it is published in ``docs/recipes.schema.json``."""
    return published(RecipeFile)


if __name__ == "__main__":
    sys.stdout.write(schema_text())
