"""One line by the rule: values, starts, ends, or the reason why it was not read; never an exception."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from isohume.outlets.capture.line import read_line
from isohume.outlets.capture.pattern import LONGEST_LINE, Pattern, read_pattern
from isohume.outlets.capture.rule import GROUPS, InstrumentRule, LineRule, RunRule, StandardInput

READING = r"^(?P<elapsed_s>[\d:.,]+) (?P<a_w>[-\d.,]+)( (?P<sample_temperature_c>[-\d.,]+))?( (?P<state>\w+))?$"


def rule(**line: object) -> InstrumentRule:
    patterns = (read_pattern(READING, "p", GROUPS), read_pattern(r"^is (?P<state>.+)$", "p", GROUPS))
    ignore = (read_pattern("^#", "p", ()),)
    run = RunRule(read_pattern(r"^run (?P<number>\S+)$", "p", GROUPS), read_pattern("^over", "p", GROUPS))
    given_line = replace(LineRule(patterns, ignore), **line)  # type: ignore[arg-type]
    return InstrumentRule("OW-1", StandardInput(), given_line, run)


def test_a_reading_with_what_it_gives() -> None:
    read = read_line(b"12.0 0.6500 24.90 moving\r", rule())
    assert read.values() == {"elapsed_s": "12.0", "a_w": "0.6500", "sample_temperature_c": "24.90", "state": "moving"}
    assert read.reason == ""
    assert read_line(b"12.0 0.6500", rule()).values() == {"elapsed_s": "12.0", "a_w": "0.6500"}


def test_comma_and_percent_as_the_rule_says() -> None:
    read = read_line(b"12,0 65,20 24,9", rule(decimal=",", percent=frozenset({"a_w"})))
    assert (read.a_w, read.elapsed_s, read.sample_temperature_c) == ("0.6520", "12.0", "24.9")


def test_percent_that_the_rule_does_not_say_is_not_read() -> None:
    read = read_line(b"12.0 65.2", rule())
    assert not read.is_reading
    assert read.reason == "a_w: 65.2 is more than 1: percent? The rule does not say so"


def test_start_end_state_and_what_is_left_out() -> None:
    assert read_line("run 0042", rule()).starts
    assert read_line("run 0042", rule()).number == "0042"
    assert read_line("over", rule()).ends
    assert read_line("is warming up", rule()).state == "warming up"
    assert read_line("# a remark", rule()).ignored
    assert read_line("   ", rule()).ignored
    assert read_line("nonsense", rule()).reason == "no pattern of the rule is in this line"


def test_bytes_that_are_no_text_are_kept_and_not_read() -> None:
    read = read_line(b"12.0 0.65\xff", rule())
    assert read.reason == "not utf-8"
    assert "\\xff" in read.text
    assert read_line("12.0 0.65 24.9 höher".encode("latin-1"), rule(encoding="latin-1")).state == "höher"


def test_a_line_without_an_end_is_bounded() -> None:
    read = read_line(b"0" * 5000, rule())
    assert read.reason == f"a line of 5000 characters; at most {LONGEST_LINE} are read"
    assert len(read.text) == LONGEST_LINE


def test_a_search_is_given_up_in_time() -> None:
    import regex

    slow = Pattern(r"^(a|aa)+$", regex.compile(r"^(a|aa)+$"))  # as no rule file lets through
    read = read_line(f"{'a' * 600}!", rule(patterns=(slow,)))
    assert read.reason.startswith("given up: the pattern")


@given(st.binary(max_size=200))
def test_whatever_comes_is_read_or_has_a_reason(raw: bytes) -> None:
    read = read_line(raw, rule())
    assert read.text.isprintable() or "\t" in read.text
    assert read.ignored or read.reason or read.starts or read.ends or read.values()
