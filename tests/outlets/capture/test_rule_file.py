"""A rule file is read strictly: each refusal names the file, the key, the value and what is allowed."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import pytest

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.capture.rule import FolderSource, SerialSource, StandardInput
from isohume.outlets.capture.rule_file import read_rule

GOOD = r"""
[instrument]
name = "OW-1"
[source]
kind = "serial"
port = "/dev/ttyUSB0"
baud = 19200
[line]
patterns = ['^(?P<elapsed_s>\d+) (?P<a_w>[\d.]+)$']
[run]
start = '^run (?P<number>\d+)$'
"""
MANY = r"""
[line]
patterns = ['^(?P<elapsed_s>\d+) (?P<a_w>[\d.]+)$']
decimal = ","
[source]
kind = "serial"
baud = 4800
[[instrument]]
name = "OW-1"
source = { port = "socket://127.0.0.1:4001" }
[[instrument]]
name = "OW-2"
source = { url = "rfc2217://127.0.0.1:4002", baud = 9600 }
line = { decimal = "." }
[[instrument]]
name = "OW-3"
[instrument.source]
kind = "folder"
folder = "dropped"
pattern = "*.txt"
"""


def rule(tmp_path: Path, text: str) -> Any:
    path = tmp_path / "bench.toml"
    path.write_text(text, encoding="utf-8")
    return read_rule(path)


def test_one_instrument(tmp_path: Path) -> None:
    (one,) = rule(tmp_path, GOOD).instruments
    assert one.name == "OW-1"
    assert isinstance(one.source, SerialSource)
    assert (one.source.port, one.source.baud, one.run.silence_s) == ("/dev/ttyUSB0", 19200, 120.0)
    assert one.has_clock
    assert not one.number_in_readings


def test_several_share_what_stands_at_the_top_and_may_say_otherwise(tmp_path: Path) -> None:
    one, other, third = rule(tmp_path, MANY.replace('kind = "serial"\nbaud = 4800', 'kind = "serial"')).instruments[:3]
    assert (one.line.decimal, other.line.decimal) == (",", ".")
    assert (one.source.baud, other.source.baud) == (9600, 9600)
    assert isinstance(third.source, FolderSource)


def test_standard_input(tmp_path: Path) -> None:
    text = GOOD.replace('"serial"', '"stdin"').replace('port = "/dev/ttyUSB0"\nbaud = 19200\n', "")
    assert isinstance(rule(tmp_path, text).instruments[0].source, StandardInput)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('kind = "serial"', 'kind = "usb"', "source.kind: read 'usb'; allowed: serial or folder or stdin"),
        ("baud = 19200", "baud = 3", "source.baud: read 3; allowed: a whole number, 50 to 4000000"),
        ("baud = 19200", "bauds = 9600", "source.bauds: read 9600; allowed: one of answer, baud"),
        ("baud = 19200", 'parity = "some"', "source.parity: read 'some'; allowed: none or even or odd"),
        ("baud = 19200", "stop_bits = 3", "source.stop_bits: read 3; allowed: 1, 1.5 or 2"),
        ("baud = 19200", 'url = "socket://x:1"', "port or url, not both"),
        ("(?P<a_w>", "(?P<aw>", "line.patterns: read '(?P<aw>'; allowed: groups named a_w, elapsed_s"),
        ("(?P<a_w>[", "(?P<a_w>([", "line.patterns: read '^(?P<elapsed_s>"),
        (r"(?P<a_w>[\d.]+)$", r"(?P<a_w>[\d.]+$", "allowed: a regular expression (missing )"),
        (r"'^run (?P<number>\d+)$'", r"'^(\d+|\d\d)+z?y?$'", "repeats inside repeats"),
        (r"'^run (?P<number>\d+)$'", r"'.*'", "this one is found in an empty line"),
        (r"'^run (?P<number>\d+)$'", r"'^run (?P<a_w>\d+)$'", "groups named number, elapsed_s, state"),
        ("[run]", 'decimal = ";"\n[run]', "line.decimal: read ';'; allowed: . or ,"),
        ("[run]", 'percent = "yes"\n[run]', "line.percent: read 'yes'; allowed: true, false, or a list"),
        ("[run]", 'encoding = "utf-16"\n[run]', "an encoding that holds ASCII"),
        ("[run]", "[run]\nsilence_s = 0", "run.silence_s: read Decimal"),
        ('name = "OW-1"', 'name = ""', "instrument.name: read ''; allowed: a non-empty text"),
        ("[instrument]", "[instruments]", "instrument: read 'nothing'"),
        ("baud = 19200", r'repeat_from = "say {number}\n"' + "\nanswer = 3", "source.answer: read 3"),
        ("baud = 19200", "answer = '^yes$'", "an answer only where repeat_from asks for one"),
    ],
)
def test_a_refusal_names_key_value_and_what_is_allowed(tmp_path: Path, old: str, new: str, said: str) -> None:
    assert old in GOOD
    with pytest.raises(InputError) as refused:
        rule(tmp_path, GOOD.replace(old, new, 1))
    assert str(refused.value).startswith("bench.toml: ")
    assert said.replace("read Decimal", "read ") in str(refused.value)


def test_a_repeat_needs_number_and_time(tmp_path: Path) -> None:
    """Without them nobody could know what was said before."""
    asked = GOOD.replace("baud = 19200", r'repeat_from = "say {number}\n"')
    rule(tmp_path, asked)
    for old, new in ((r"(?P<number>\d+)", r"\d+"), ("(?P<elapsed_s>", "(")):
        with pytest.raises(InputError, match="repeat_from only where patterns name number and elapsed_s"):
            rule(tmp_path, asked.replace(old, new))


def test_a_file_does_not_say_when_its_lines_were_written(tmp_path: Path) -> None:
    text = GOOD.replace('kind = "serial"\nport = "/dev/ttyUSB0"\nbaud = 19200', 'kind = "folder"\nfolder = "x"')
    rule(tmp_path, text)
    with pytest.raises(InputError, match="a pattern that names elapsed_s"):
        rule(tmp_path, text.replace("(?P<elapsed_s>", "("))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('name = "OW-2"', 'name = "ow-1"', "each name once"),
        ("rfc2217://127.0.0.1:4002", "socket://127.0.0.1:4001", "another instrument has this one"),
    ],
)
def test_no_line_goes_to_two_instruments(tmp_path: Path, old: str, new: str, said: str) -> None:
    text = MANY.replace("baud = 4800\n", "")
    with pytest.raises(InputError, match=said):
        rule(tmp_path, text.replace(old, new))


def test_broken_toml_is_told_in_a_line(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="single quotes"):
        rule(tmp_path, GOOD.replace("'^(?P", '"^\\d(?P').replace("+)$']", '+)$"]'))


def test_a_slow_pattern_is_refused_in_time(tmp_path: Path) -> None:
    """The classic: exponential in the length of a line that it nearly fits."""
    begun = time.monotonic()
    with pytest.raises(InputError, match="repeats inside repeats"):
        rule(tmp_path, GOOD.replace(r"'^run (?P<number>\d+)$'", r"'^(a|aa)+$'"))
    assert time.monotonic() - begun < 30
