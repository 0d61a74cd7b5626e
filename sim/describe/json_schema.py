"""JSON Schema of the config files, so that editors complete keys and check values.

Quantities are texts with their unit, held to a pattern; each key tells what it is, in the words
beside it in the source. Draft 7, which editors' TOML tooling reads.
"""

from __future__ import annotations

import json
from typing import Any

from pydantic import BaseModel

from firstthrow.sim.describe.field_notes import notes
from firstthrow.sim.describe.materials import MATERIALS
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

    def look(kind: Any) -> None:
        described = isinstance(kind, type) and issubclass(kind, BaseModel)
        if described and kind.__name__ not in found:
            found[kind.__name__] = kind
            for field in kind.model_fields.values():
                look(field.annotation)
        for inner in getattr(kind, "__args__", ()):
            look(inner)

    look(model)
    return found


def _told(schema: dict[str, Any], model: type[BaseModel] | None) -> dict[str, Any]:
    """With what each key is, defaults as the builder writes them, materials by name."""
    if model is None or "properties" not in schema:
        return schema
    said, properties = notes(model), {}
    for key, kind in schema["properties"].items():
        kind = {k: v for k, v in kind.items() if k != "title"}
        quantity = _first_description(kind)
        note = said.get(key, "")
        if note:
            kind["description"] = f"{note}; {quantity}" if quantity else note
        if "default" in kind:
            kind["default"] = written(kind["default"], kind)
            if kind["default"] is None or isinstance(kind["default"], dict):
                del kind["default"]  # a table's keys tell their own
        if key == "material":
            kind["examples"] = sorted(MATERIALS)
        properties[key] = kind
    return {**schema, "properties": properties}


def _first_description(kind: dict[str, Any]) -> str:
    if "description" in kind:
        return kind["description"]
    return next(
        (part["description"] for part in kind.get("anyOf", ()) if "description" in part), ""
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
