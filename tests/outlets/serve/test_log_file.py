"""Logs: they turn over, and what looks like a secret never gets in."""

from __future__ import annotations

import secrets
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.outlets.serve import log_file
from isohume.outlets.serve.log_file import LogFile, without_secrets


@settings(derandomize=True, max_examples=50)
@given(st.randoms(use_true_random=False), st.sampled_from(["Not Found: /set-up/{}", "link={}&x", "{} {}", "('{}',)"]))
def test_tokens_are_left_out(random: object, place: str) -> None:
    token = "".join(random.choice("abcXYZ019_-") for _ in range(40)) + "aZ9"  # type: ignore[attr-defined]
    assert token not in without_secrets(place.format(token, token))


def test_a_real_token_cookie_and_password_are_left_out() -> None:
    token = secrets.token_urlsafe(32)
    assert token not in without_secrets(f"GET /set-up/{token} 404")
    for line in ("Cookie: sessionid=abcdef; csrftoken=xyz987", "password: oats", '{"password": "oats"}'):
        shown = without_secrets(line)
        assert not [word for word in ("abcdef", "xyz987", "oats") if word in shown]


@pytest.mark.parametrize(
    "line",
    [
        '  File "/srv/isohume/outlets/serve/first_page.py", line 12, in first_page_answers',
        "django.core.exceptions.ImproperlyConfigured: the settings name no database",
        "record R000001 0f3a9c0f3a9c0f3a9c0f3a9c0f3a9c0f3a9c0f3a9c0f3a9c0f3a9c0f3a9c0f3a",
        "job 12 failed: 100 % of the disk is used",
    ],
)
def test_what_a_person_needs_stays(line: str) -> None:
    assert without_secrets(line) == line


def test_a_log_turns_over_and_keeps_few_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(log_file, "LARGEST_FILE", 2000)
    log = LogFile(tmp_path, "web")
    for number in range(400):
        log.say(f"line {number} 100 %s")
    log.close()
    files = sorted(tmp_path.iterdir())
    assert len(files) == log_file.KEPT_FILES + 1
    assert all(path.stat().st_size <= 2000 for path in files)
    assert log.path.read_text(encoding="utf-8").endswith("line 399 100 %s\n")
