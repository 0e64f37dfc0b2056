"""An interrupt at any moment ends with a sentence and exit code 130, never with a traceback."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from feedproof.app import api_ahead
from feedproof.app.api import PACKAGED_DEMO
from feedproof.app.cli import interrupt_again, main

SENTENCE = "interrupted; what was written is whole"
pytestmark = pytest.mark.skipif(os.name != "posix", reason="interrupts are sent as POSIX signals")
# What an installed script does, with a line that tells when the interpreter is up.
STARTED = (
    "import sys; from feedproof.app.cli import entry; print('up', flush=True);"
    " sys.argv[0] = 'feedproof'; entry()"
)
# Where an interrupt went through `exec`, as dataclasses use it, Python 3.11 ends the process by the
# signal itself after all: a shell shows 130 for both.
ENDED = (130, -signal.SIGINT)
SLOW_LIBRARY = "import time\nprint('up', flush=True)\ntime.sleep(30)\n"


def _interrupted(words: list[str], delay_s: float, environment: dict[str, str]) -> tuple[int, str]:
    """Start, wait for the word on standard output, interrupt; give exit code and errors."""
    with subprocess.Popen(
        [sys.executable, *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=environment,
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "up\n"
        time.sleep(delay_s)
        process.send_signal(signal.SIGINT)
        _, told = process.communicate(timeout=60)
    return process.returncode, told


@pytest.mark.parametrize("delay_s", [0.0, 0.02, 0.05, 0.1, 0.2, 0.35, 0.5])
def test_an_interrupt_soon_after_the_start_ends_with_a_sentence(delay_s: float) -> None:
    words = ["-c", STARTED, "predict", str(PACKAGED_DEMO)]
    code, told = _interrupted(words, delay_s, dict(os.environ))

    assert SENTENCE in told
    assert "Traceback" not in told
    assert code in ENDED


@pytest.mark.parametrize("start", [["-m", "feedproof"], ["-m", "feedproof.app.cli"]])
def test_an_interrupt_while_a_library_loads_ends_with_a_sentence(
    start: list[str], tmp_path: Path
) -> None:
    """A library that takes long to load stands in for a slow disk."""
    (tmp_path / "cyclopts.py").write_text(SLOW_LIBRARY)
    sources = str(Path(__file__).parents[2] / "src")
    path = os.pathsep.join((str(tmp_path), sources))
    code, told = _interrupted([*start, "--help"], 0.05, {**os.environ, "PYTHONPATH": path})

    assert told.strip() == SENTENCE
    assert code in ENDED


def test_an_interrupt_at_work_ends_with_a_sentence(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupted(*_: Any, **__: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(api_ahead, "predict", interrupted)
    monkeypatch.setattr(sys, "unraisablehook", sys.unraisablehook)
    assert main(["predict", str(PACKAGED_DEMO)]) == 130
    assert SENTENCE in capsys.readouterr().err


def test_an_interrupt_that_a_callback_swallowed_comes_again() -> None:
    swallowed: Any = SimpleNamespace(exc_type=KeyboardInterrupt)
    # A shell that starts the tests in the background has interrupts ignored; the program then
    # ignores them too, as it should.
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        with pytest.raises(KeyboardInterrupt):  # noqa: PT012 - it may come at any line
            interrupt_again(swallowed)
            time.sleep(5.0)
    finally:
        signal.signal(signal.SIGINT, before)
