"""
Write the documents that are made from the code: docs/cli.md and the README's pictures.

Usage: ``python tools/make_docs.py``; ``tests/app/test_docs.py`` fails when they are out of date.
"""

import importlib
import inspect
import tempfile
from pathlib import Path

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
    folder = ROOT / "docs" / "pictures"
    folder.mkdir(exist_ok=True)
    for name, svg in pictures().items():
        (folder / name).write_text(svg, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
