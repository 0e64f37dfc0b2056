"""What all tests share: no clock, machine code that cannot mix, nobody's own database."""

import itertools
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

# The first call of a formula compiles it, so a limit on one example's time would only make noise.
# In continuous integration the examples are the same each time; elsewhere they wander.
settings.register_profile("feedproof", deadline=None, derandomize=bool(os.environ.get("CI")))
settings.load_profile("feedproof")


def _use_own_formulas() -> None:
    """
    Give each test process its own folder of compiled formulas.

    Two processes that compile different signatures of one formula at the same moment choose the
    same file name for them, and the second overwrites what the first one's index points to.
    """
    base, worker = os.environ.get("FEEDPROOF_CACHE"), os.environ.get("PYTEST_XDIST_WORKER")
    if not (base and worker):
        return
    own = Path(base) / worker
    os.environ["FEEDPROOF_CACHE"] = str(own)
    from feedproof.core.compiled import source_fingerprint

    current = f"formulas-{source_fingerprint()}"
    for stale in own.glob("formulas-*"):
        if stale.name != current:
            shutil.rmtree(stale, ignore_errors=True)
    if (Path(base) / current).is_dir():
        shutil.copytree(Path(base) / current, own / current, dirs_exist_ok=True)


_use_own_formulas()


@pytest.fixture(scope="session", autouse=True)
def _stores(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Iterator[Path]]:
    """Give the places of databases that no two tests share and that do not exist yet."""
    folder = tmp_path_factory.mktemp("stores")
    with pytest.MonkeyPatch.context() as patched:
        # For what is made once for many tests.
        patched.setenv("FEEDPROOF_STORE", str(folder / "shared.sqlite"))
        yield (folder / f"{number}.sqlite" for number in itertools.count())


@pytest.fixture(autouse=True)
def _no_store_of_the_user(_stores: Iterator[Path], monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep tests away from the database of whoever runs them."""
    monkeypatch.setenv("FEEDPROOF_STORE", str(next(_stores)))
