"""The page on the method names, for each trap, a test that exists."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
METHOD = (ROOT / "docs" / "method.md").read_text(encoding="utf-8")
ROWS = re.findall(r"^\| (\d+) (.+?) \| (.+?) \| `(\w+)` \|$", METHOD, re.MULTILINE)


def test_all_twenty_two_traps_are_listed_in_order() -> None:
    assert [int(number) for number, *_ in ROWS] == list(range(1, 23))
    assert all(len(does) > 20 for _, _, does, _ in ROWS)


def test_every_test_that_is_named_exists() -> None:
    written = {
        name
        for path in (ROOT / "tests").rglob("test_*.py")
        for name in re.findall(r"^def (test_\w+)", path.read_text(encoding="utf-8"), re.MULTILINE)
    }

    assert not [name for *_, name in ROWS if name not in written]
