"""The JSON Schema of a case document, made from the models and shipped beside them."""

import json
from pathlib import Path
from typing import Any

from feedproof.records.document import CaseDocument
from feedproof.records.quantity import ALLOWED

SHIPPED = Path(__file__).with_name("case.schema.json")


def case_schema() -> dict[str, Any]:
    """
    Make the schema.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12.
    """
    schema = _with_both(CaseDocument.model_json_schema(by_alias=True))
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def _with_both(schema: Any) -> Any:
    """Put what a field is called and what is allowed in it into one description."""
    if isinstance(schema, list):
        return [_with_both(each) for each in schema]
    if not isinstance(schema, dict):
        return schema
    made = {key: _with_both(each) for key, each in schema.items() if key != ALLOWED}
    allowed, words = _allowed(schema), str(schema.get("description", ""))
    if allowed and words != allowed:
        made["description"] = f"{words} [{allowed}]" if words else allowed
    return made


def _allowed(schema: dict[str, Any]) -> str:
    """Give what is allowed, also of a value that may be left out."""
    members = schema.get("anyOf", [])
    found = [schema, *(each for each in members if isinstance(each, dict))]
    return next((str(each[ALLOWED]) for each in found if ALLOWED in each), "")


def schema_text() -> str:
    """
    Write the schema as it is shipped.

    Returns
    -------
    str
        The text of ``case.schema.json``.
    """
    return json.dumps(case_schema(), indent=1, ensure_ascii=False, sort_keys=True) + "\n"


if __name__ == "__main__":
    SHIPPED.write_text(schema_text(), encoding="utf-8")
