"""`isohume capture` as a person meets it: trying a rule, the status, the unit, and what it refuses."""

from __future__ import annotations

import configparser
import json
import os
import re
import shlex
import signal
import subprocess
import sys
import time
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from isohume.outlets.capture.rule_file import rule_of
from isohume.outlets.cli.output import table

Ask = Callable[..., Any]
RUN = [sys.executable, "-c", "from isohume.outlets.cli.main import run; run()", "capture"]
STDIN_RULE = r"""
[instrument]
name = "OW-2"
[source]
kind = "stdin"
[line]
decimal = ","
percent = true
patterns = ['^(?P<number>\d+); (?P<elapsed_s>\d+); (?P<a_w>[\d,]+)$']
"""
PAGE = Path(__file__).parents[3] / "docs" / "how-to" / "capture-from-an-instrument.md"


@pytest.fixture
def rule(tmp_path: Path) -> Path:
    path = tmp_path / "bench.toml"
    path.write_text(STDIN_RULE, encoding="utf-8")
    return path


@pytest.fixture
def spool(rule: Path, tmp_path: Path) -> Path:
    """A spool with one run of two readings, and a line that was not read."""
    words = [*RUN, "--rule", rule, "--spool", tmp_path / "spool", "--json"]
    said = b"7; 0; 65,20\n7; 5; 65,30\nnonsense\n"
    done = subprocess.run(words, input=said, capture_output=True, timeout=60)
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["instruments"] == ["OW-2"]
    return tmp_path / "spool"


def test_trying_the_demonstration_days_lines(ask: Ask, inputs: Path) -> None:
    answer = ask("capture", "--rule", inputs / "ow1.rule", "--try", "--lines", inputs / "ow1-lines.txt", "--json")
    assert answer.status == 0
    assert (answer.json["n"], answer.json["unread"]) == (11, 0)
    third = answer.json["lines"][2]
    assert third == {
        "instrument": "OW-1",
        "line": "cup 0001; 0.0 s; water 0.6068; cup 26.99; block 25.00; room 0.451; moving",
        "read_as": "reading",
        "values": {
            "elapsed_s": "0.0", "a_w": "0.6068", "sample_temperature_c": "26.99", "block_temperature_c": "25.00",
            "room_humidity": "0.451", "state": "moving", "number": "0001",
        },
        "reason": "",
    }  # fmt: skip
    assert [line["read_as"] for line in answer.json["lines"]] == [
        "state", "start", *["reading"] * 7, "end", "state",
    ]  # fmt: skip


def test_a_line_that_is_not_read_is_shown_with_its_reason(ask: Ask, rule: Path, tmp_path: Path) -> None:
    (tmp_path / "lines").write_text("7; 0; 65,20\n7; 5; 65.30\n7; 6; 0,65\n", encoding="utf-8")
    answer = ask("capture", "--rule", rule, "--try", "--lines", tmp_path / "lines")
    assert answer.status == 1
    assert "NOT READ" in answer.out
    assert "a_w: 0.65 is a fraction, the rule says percent" in answer.out
    assert "3 lines, 2 not read. Nothing was kept or sent." in answer.out
    assert list(tmp_path.glob("**/*.sqlite3")) == []


def test_the_status_of_a_spool(ask: Ask, spool: Path) -> None:
    status = ask("capture", "--status", "--spool", spool, "--json")
    assert status.status == 0
    content = status.json
    assert re.fullmatch("[0-9a-f]{32}", content.pop("spool"))
    assert content.pop("oldest_waiting_at").endswith("Z")
    (instrument,) = content.pop("instruments")
    assert (instrument["instrument"], instrument["open_run"], instrument["said_before"]) == ("OW-2", None, 0)
    assert content == {
        "running": False, "last": 5, "acknowledged": 0, "waiting": 5, "unread": 1, "refused": None, "delivery": None,
        "delivery_at": None, "disk": None,
    }  # fmt: skip
    words = ask("capture", "--status", "--spool", spool).out
    assert "waiting for the site  5 entries, the oldest of 20" in words
    assert "nothing was sent yet" in words


def test_a_second_agent_of_a_spool_is_refused(rule: Path, tmp_path: Path, ask: Ask) -> None:
    words = [*RUN, "--rule", str(rule), "--spool", str(tmp_path / "spool")]
    with subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as first:
        assert first.stdout is not None
        assert b"Capturing OW-2" in first.stdout.readline()
        assert ask("capture", "--status", "--spool", tmp_path / "spool", "--json").json["running"]
        second = ask("capture", "--rule", rule, "--spool", tmp_path / "spool")
        assert second.refusal.endswith("allowed: a folder that no other isohume capture uses")
        first.send_signal(signal.SIGTERM)
        assert first.wait(20) == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "rule: read 'nothing'; allowed: --rule FILE is needed"),
        (["--status", "--try"], "status: read 'given too'; allowed: one of --try, --status"),
        (["--status", "--spool", "nowhere"], "spool: read 'nowhere'; allowed: the folder of a spool"),
        (["--rule", "R", "--site", "bench"], "site: read 'bench'; allowed: the site's address"),
        (["--rule", "R", "--site", "http://127.0.0.1:1"], "token_file: read 'nothing'"),
        (["--rule", "R", "--token-file", "R"], "site: read 'nothing'; allowed: --site URL"),
        (["--rule", "R", "--lines", "R"], "allowed: --lines only with --try"),
        (["--rule", "R", "--pace", "3"], "pace: read '3'; allowed: --pace only with --instrument-demo"),
        (["--rule", "R", "--try", "--site", "http://x"], "no --site with --try: it sends nothing"),
        (["--rule", "R", "--try", "--lines", "R", "--instrument", "OW-9"], "instrument: read 'OW-9'; allowed: a known"),
        (["--instrument-demo", "--cups", "wet"], "cups: read 'wet'; allowed: a_w, how it behaves"),
        (["--instrument-demo", "--pace", "0"], "pace: read '0'; allowed: a whole number, 1 to 10000"),
        (["--instrument-demo", "--rule", "R"], "no --rule with --instrument-demo"),
        (["--rule", "nowhere.toml"], "nowhere.toml"),
    ],
)
def test_refusals(
    ask: Ask, rule: Path, tmp_path: Path, words: list[str], said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path))
    answer = ask("capture", *(str(rule) if word == "R" else word for word in words))
    assert said in answer.refusal
    assert not (tmp_path / ".isohume-capture").exists()


@pytest.mark.skipif(os.name != "posix", reason="file modes")
def test_a_token_that_others_may_read_is_refused_before_anything_starts(ask: Ask, rule: Path, tmp_path: Path) -> None:
    token = tmp_path / "token"
    token.write_text("a-token-of-the-tests-0123", encoding="ascii")
    token.chmod(0o640)
    words = ("--rule", rule, "--site", "http://127.0.0.1:1", "--token-file", token, "--spool", tmp_path / "spool")
    refused = ask("capture", *words).refusal
    assert "token_file: read 'mode 640'; allowed: mode 600" in refused
    assert "a-token-of-the-tests" not in refused


def test_the_unit_starts_what_was_typed(ask: Ask, tmp_path: Path) -> None:
    words = ("--rule", tmp_path / "my bench.toml", "--site", "https://bench.example", "--token-file", "/etc/t 100%")
    unit = configparser.ConfigParser(strict=False, interpolation=None)
    unit.optionxform = str  # type: ignore[assignment,method-assign]
    unit.read_string(ask("capture", "--systemd", *words).out)
    command = shlex.split(unit["Service"]["ExecStart"])
    assert command[0].endswith("isohume")
    assert command[1:] == [
        "capture", "--rule", str(tmp_path / "my bench.toml"), "--spool", "/var/lib/isohume-capture",
        "--site", "https://bench.example", "--token-file", "/etc/t 100%%",
    ]  # fmt: skip
    assert (unit["Service"]["Restart"], unit["Service"]["User"]) == ("always", "isohume")
    assert unit["Install"]["WantedBy"] == "multi-user.target"


@pytest.mark.skipif(os.name != "posix", reason="the invented instrument needs a pseudo-terminal")
def test_the_invented_instrument_and_its_rule(tmp_path: Path) -> None:
    words = [*RUN, "--instrument-demo", "--cups", "0.7528 20 s", "--pace", "50", "--link", tmp_path / "port", "--json"]
    with subprocess.Popen(words, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, text=True) as instrument:
        assert instrument.stdout is not None
        told = json.loads(instrument.stdout.readline())
        (tmp_path / "rule.toml").write_text(told["rule"], encoding="utf-8")
        trying = [*RUN, "--rule", tmp_path / "rule.toml", "--try", "--json"]
        with subprocess.Popen(trying, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as tried:
            assert tried.stdout is not None
            kinds: list[str] = []
            until = time.monotonic() + 30
            while kinds.count("end") < 1 and time.monotonic() < until:
                kinds.append(json.loads(tried.stdout.readline())["read_as"])
            tried.kill()
        instrument.send_signal(signal.SIGTERM)
        assert instrument.wait(20) == 0
    runs = [kind for kind in kinds if kind != "state"]
    assert runs == ["start", *["reading"] * 11, "end"]
    assert not (tmp_path / "port").is_symlink()


def test_help_is_quick_and_loads_nothing_heavy() -> None:
    code = (
        "import sys, contextlib, io\n"
        "from isohume.outlets.cli.main import main\n"
        "with contextlib.redirect_stdout(io.StringIO()): main(['capture', '--help'])\n"
        "print(' '.join(sorted({m.split('.')[0] for m in sys.modules})))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert not set(done.stdout.split()) & {"numpy", "scipy", "numba", "django", "sqlite3", "serial", "regex", "http"}


def test_the_rule_of_the_how_to_page_can_be_read() -> None:
    """Its TOML is a rule, and its second piece completes one that repeats."""
    first, repeat, folder = re.findall(r"```toml\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    (instrument,) = rule_of(tomllib.loads(first)).instruments
    assert (instrument.name, instrument.line.decimal, instrument.line.percent) == ("OW-1", ",", frozenset({"a_w"}))
    baud = next(line for line in first.splitlines() if line.startswith("baud"))
    assert rule_of(tomllib.loads(first.replace(baud, f"{baud}\n{repeat}"))).instruments[0].source.repeats
    assert tomllib.loads(folder)["source"]["kind"] == "folder"
    assert table(("a",), [("b",)])
