"""The JSON Schema of a case document, made from the models and shipped beside them."""

import json
from pathlib import Path
from typing import Any

from feedproof.records.document import CaseDocument

SHIPPED = Path(__file__).with_name("case.schema.json")


def case_schema() -> dict[str, Any]:
    """
    Make the schema.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12.
    """
    schema = CaseDocument.model_json_schema(by_alias=True)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


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
