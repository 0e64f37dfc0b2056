"""
Write the documents that are made from the code: docs/cli.md, docs/http_api.md, the pictures.

Usage: ``python tools/make_docs.py``; ``tests/app/test_docs.py`` fails when they are out of date.
"""

import importlib
import inspect
import tempfile
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent


def cli_page() -> str:
    """
    Write the page of commands from their docstrings.

    Returns
    -------
    str
        Text of ``docs/cli.md``.
    """
    from numpydoc.docscrape import FunctionDoc

    from feedproof.app.cli import HELP, VERBS, command_path

    parts = ["# Commands", "", HELP, ""]
    for name, summary in VERBS.items():
        module, function_name = command_path(name).split(":")
        function = getattr(importlib.import_module(module), function_name)
        doc = FunctionDoc(function)
        signature = inspect.signature(function)
        words = []
        for parameter in signature.parameters.values():
            if parameter.kind is inspect.Parameter.POSITIONAL_ONLY:
                words.append(parameter.name.upper())
        parts += [f"## feedproof {' '.join([name, *words])}", "", summary, ""]
        parts += ["| option | meaning |", "| --- | --- |"]
        for entry in doc["Parameters"]:
            parameter = signature.parameters[entry.name]
            if parameter.kind is inspect.Parameter.POSITIONAL_ONLY:
                option = f"`{entry.name.upper()}`"
            else:
                option = f"`--{entry.name.strip('_').replace('_', '-')}`"
                if parameter.default is inspect.Parameter.empty:
                    option += " (needed)"
            parts.append(f"| {option} | {' '.join(entry.desc)} |")
        parts.append("")
    return "\n".join(parts)


def http_page() -> str:
    """
    Write the page of the HTTP interface from its OpenAPI document.

    Returns
    -------
    str
        Text of ``docs/http_api.md``.
    """
    from feedproof.app.web.api.openapi import document_of
    from feedproof.app.web.api.routers import router

    document = document_of(router.routes)
    parts = ["# HTTP interface", "", document["info"]["description"], ""]
    parts += [HTTP_INTRODUCTION, ""]
    for tag in dict.fromkeys(each["tags"][0] for each in _operations(document)):
        parts += [f"## {tag.capitalize()}", ""]
        parts += [
            line for each in _operations(document) if each["tags"][0] == tag for line in _told(each)
        ]
    return "\n".join(parts)


HTTP_INTRODUCTION = """`feedproof serve FOLDER` answers at http://127.0.0.1:8746/api/; the OpenAPI
document is at `/api/openapi.json`. Such as:

```sh
curl http://127.0.0.1:8746/api/cases
curl -H 'content-type: application/json' -d '{"fuel_temp": "-5 degC"}' \\
  http://127.0.0.1:8746/api/cases/demo/predict
curl -F files=@run07_cell.csv http://127.0.0.1:8746/api/cases/demo/logs
curl -OJ http://127.0.0.1:8746/api/cases/demo/report/paper
```

Where others can reach the server, its password goes with each call (`curl -u any:PASSWORD`). What
a document holds is told in full by `feedproof schema NAME` and `/api/schemas/NAME`."""


def _operations(document: dict[str, Any]) -> list[dict[str, Any]]:
    """List the operations of an OpenAPI document."""
    return [
        {**operation, "address": f"{method.upper()} {path}"}
        for path, operations in document["paths"].items()
        for method, operation in operations.items()
    ]


def _told(operation: dict[str, Any]) -> list[str]:
    """Tell one operation."""
    parts = [f"### `{operation['address']}`", "", operation["description"], ""]
    rows = [
        (each["name"], each.get("required", False), each.get("description", ""))
        for each in operation.get("parameters", ())
        if each["in"] != "path"
    ]
    for kind, body in operation.get("requestBody", {}).get("content", {}).items():
        schema = body["schema"]
        told = operation["requestBody"].get("description", "")
        parts += [f"Takes {kind}. {told}".rstrip(), ""]
        needed = schema.get("required", ())
        rows += [
            (name, name in needed, about.get("description", ""))
            for name, about in schema.get("properties", {}).items()
        ]
    if rows:
        parts += ["| name | meaning |", "| --- | --- |"]
        parts += [
            f"| `{name}`{' (needed)' if needed else ''} | {words} |" for name, needed, words in rows
        ]
        parts.append("")
    for status, answer in operation["responses"].items():
        if status.startswith("2"):
            for kind, body in answer["content"].items():
                named = body["schema"].get("$ref", "").rpartition("/")[2]
                what = f"the document `{named}`" if named else kind
                parts += [f"Answers {status} with {what}. {answer['description']}", ""]
    faults = [status for status in operation["responses"] if not status.startswith("2")]
    return [*parts, f"Refuses with {', '.join(faults)}.", ""]


def pictures() -> dict[str, str]:
    """
    Draw the README's pictures from the packaged demonstration case.

    Returns
    -------
    dict of str to str
        SVG by file name.
    """
    from feedproof.app import api
    from feedproof.app.predicting import predict_case
    from feedproof.app.publishing import build_publication
    from feedproof.case.margin import Measure
    from feedproof.records.folder import CaseFolder
    from feedproof.report.ruler_picture import ruler_svg
    from feedproof.report.staircase_picture import staircase_svg

    with tempfile.TemporaryDirectory() as scratch:
        folder = CaseFolder(api.PACKAGED_DEMO).copy_to(Path(scratch) / "case")
        case = folder.load().case
        proof = api.prove(folder.path)
    publication = build_publication(case, predict_case(case), proof, ())
    verdict = publication.verdicts[0]
    power = next(each for each in verdict.outcomes if each.measure is Measure.WHEEL_POWER)
    return {
        "staircase.svg": staircase_svg(publication),
        "ruler.svg": ruler_svg(publication, verdict.configuration, power),
    }


def main() -> None:
    """Write everything."""
    (ROOT / "docs" / "cli.md").write_text(cli_page(), encoding="utf-8", newline="\n")
    (ROOT / "docs" / "http_api.md").write_text(http_page(), encoding="utf-8", newline="\n")
    folder = ROOT / "docs" / "pictures"
    folder.mkdir(exist_ok=True)
    for name, svg in pictures().items():
        (folder / name).write_text(svg, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
