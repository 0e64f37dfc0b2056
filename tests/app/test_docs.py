"""Documents that are made from the code are as the code is; the front door is complete."""

import importlib.util
import pkgutil
import re
import sys
from pathlib import Path

import pytest

from feedproof.app.cli import VERBS, command_path

NUMBER = re.compile(r"-?\d+\.\d+|(?<![\w#])-?\d+(?![\w])")
ROOT = Path(__file__).parents[2]


def _maker():
    """Load the tool that makes the documents."""
    spec = importlib.util.spec_from_file_location("make_docs", ROOT / "tools" / "make_docs.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules["make_docs"] = module
    spec.loader.exec_module(module)
    return module


def test_the_page_of_commands_is_up_to_date() -> None:
    assert (ROOT / "docs" / "cli.md").read_text(encoding="utf-8") == _maker().cli_page()


def test_the_page_of_the_http_interface_is_up_to_date() -> None:
    page = _maker().http_page()

    assert (ROOT / "docs" / "http_api.md").read_text(encoding="utf-8") == page
    assert page.count("### `") > 40


def test_the_pictures_of_the_readme_are_up_to_date() -> None:
    """Numbers may differ by a rounded tenth of a pixel: processors differ in the last digit."""
    for name, svg in _maker().pictures().items():
        shipped = (ROOT / "docs" / "pictures" / name).read_text(encoding="utf-8")

        assert NUMBER.sub("#", shipped) == NUMBER.sub("#", svg), name
        assert [float(each) for each in NUMBER.findall(svg)] == pytest.approx(
            [float(each) for each in NUMBER.findall(shipped)], abs=0.21
        )


def test_every_verb_has_a_command() -> None:
    for verb in VERBS:
        module, function = command_path(verb).split(":")
        assert hasattr(importlib.import_module(module), function), verb


def test_the_front_door_is_sorted_and_complete() -> None:
    # A room of a verb's name would take its place as soon as somebody imports the room.
    import feedproof.scenario.true_vehicle

    assert not {each.name for each in pkgutil.iter_modules(feedproof.__path__)} & set(
        feedproof.__all__
    )
    assert feedproof.__all__ == sorted(feedproof.__all__)
    assert all(callable(getattr(feedproof, name)) for name in feedproof.__all__)
    with pytest.raises(AttributeError, match="nonsense"):
        feedproof.nonsense  # noqa: B018


def test_the_readme_names_both_commands_and_every_verb_stands_in_the_docs() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    page = (ROOT / "docs" / "cli.md").read_text(encoding="utf-8")

    assert "python3 dev.py demo" in readme
    assert "python3 dev.py test" in readme
    assert all(f"feedproof {verb}" in page for verb in VERBS)
