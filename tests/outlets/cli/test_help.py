"""Every verb's help shows one worked example, and the example runs after `isohume demo demo-day`."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from isohume.outlets.cli.main import VERBS

Ask = Callable[..., Any]
# 0.846 with u 0.004 is a conditional pass, plant A has lots at risk and a chart with a drift: the examples teach that
NEGATIVE = {"chart", "decide", "lookback"}


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder in which the demonstration day was written and run."""
    from isohume.bench.reading.settling import prepare_forecast
    from isohume.outlets.cli.main import main
    from isohume.product.sorption.readiness import prepare_kernels

    prepare_forecast()
    prepare_kernels(lambda line: None)  # both speak on standard error, once on a computer
    folder = tmp_path_factory.mktemp("examples")
    assert main(["demo", str(folder / "demo-day"), "--json"]) == 0
    return folder


@pytest.mark.parametrize("verb", VERBS)
def test_the_example_in_the_help_runs(
    ask: Ask, verb: str, day: Path, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest
) -> None:
    monkeypatch.chdir(day)
    helped = ask(verb, "--help")
    assert (helped.status, helped.err) == (0, "")
    *_, title, example = helped.out.rstrip("\n").split("\n")
    assert title == "example:"
    words = shlex.split(example)
    assert words[:2] == ["isohume", verb]
    if "demo-plant" in words:
        (day / "demo-plant").symlink_to(request.getfixturevalue("small_plant"))
    answer = ask(*words[1:])
    assert (answer.status, answer.err) == (1 if verb in NEGATIVE else 0, "")
    assert answer.out


def test_the_overview_names_every_verb(ask: Ask) -> None:
    for words in (("--help",), ("-h",), ("help",)):
        answer = ask(*words)
        assert answer.status == 0
        assert all(f"  {verb} " in answer.out for verb in VERBS)


def test_the_version_is_printed(ask: Ask) -> None:
    from isohume import __version__

    assert ask("--version").out == f"isohume {__version__}\n"
