"""JSON Schema of the config files, so that editors complete keys and check values.

Quantities are texts with their unit, held to a pattern; each key tells what it is, in the words
of its description. Draft 7, which editors' TOML tooling reads.
"""

from __future__ import annotations

import json
from typing import Any

from pydantic import BaseModel, TypeAdapter

from firstthrow.sim.describe.keys import annotation_of, quantity_kind
from firstthrow.sim.describe.write import written

DRAFT = "http://json-schema.org/draft-07/schema#"


def json_schema(model: type[BaseModel], title: str) -> dict[str, Any]:
    """The schema of a description; same text for the same source."""
    schema = model.model_json_schema()
    models = _models(model)
    parts = schema.pop("$defs", {})
    if parts:
        schema["$defs"] = {n: _told(part, models.get(n)) for n, part in sorted(parts.items())}
    schema = _plain(_told(schema, model))
    return {"$schema": DRAFT, "title": title, **{k: v for k, v in schema.items() if k != "title"}}


def text(model: type[BaseModel], title: str) -> str:
    return json.dumps(json_schema(model, title), indent=2, ensure_ascii=False) + "\n"


def _models(model: type[BaseModel]) -> dict[str, type[BaseModel]]:
    """Every description within a description, by its class name."""
    found: dict[str, type[BaseModel]] = {}

    def look(annotation: Any) -> None:
        described = isinstance(annotation, type) and issubclass(annotation, BaseModel)
        if described and annotation.__name__ not in found:
            found[annotation.__name__] = annotation
            for info in annotation.model_fields.values():
                look(info.annotation)
        for inner in getattr(annotation, "__args__", ()):
            look(inner)

    look(model)
    return found


def _told(schema: dict[str, Any], model: type[BaseModel] | None) -> dict[str, Any]:
    """With what each key is and its units, and defaults as the builder writes them."""
    if model is None or "properties" not in schema:
        return schema
    properties = {}
    for key, part in schema["properties"].items():
        part = {k: v for k, v in part.items() if k != "title"}
        annotation, words = annotation_of(model, key), model.model_fields[key].description
        if words and quantity_kind(annotation):
            part["description"] = f"{words}; {_quantity_words(annotation)}"
        if "default" in part:
            part["default"] = written(part["default"], annotation)
            if part["default"] is None or isinstance(part["default"], dict):
                del part["default"]  # a table's keys tell their own
        properties[key] = part
    return {**schema, "properties": properties}


def _quantity_words(annotation: Any) -> str:
    """What a quantity says of itself, beneath the words of its key."""
    schema = TypeAdapter(annotation).json_schema()
    return next(
        part["description"] for part in (schema, *schema.get("anyOf", ())) if "description" in part
    )


def _plain(schema: Any) -> Any:
    """Without null, which TOML has not, and with pairs as draft 7 says them."""
    if isinstance(schema, list):
        return [_plain(part) for part in schema]
    if not isinstance(schema, dict):
        return schema
    found = {key: _plain(part) for key, part in schema.items()}
    choices = [part for part in found.get("anyOf", ()) if part != {"type": "null"}]
    if "anyOf" in found and len(choices) == 1:
        del found["anyOf"]
        found = {**choices[0], **found}
    pair = found.get("prefixItems")
    if pair and all(part == pair[0] for part in pair):
        del found["prefixItems"]
        found["items"] = pair[0]
    return found
