"""The password of the desk."""

from __future__ import annotations

from pathlib import Path

import argon2
import pytest

from checker.cli import main
from checker.desk import password
from checker.errors import CheckerError

WORD = "correct horse battery"
CHEAP = argon2.PasswordHasher(time_cost=1, memory_cost=8, parallelism=1).hash(WORD)


def test_a_password_is_kept_as_an_argon2id_hash_of_recommended_strength() -> None:
    """RFC 9106, section 4: Argon2id, at least t = 3 and 64 MiB, a salt of 128 bits."""
    kept = argon2.extract_parameters(password.hashed(WORD))
    assert kept.type is argon2.Type.ID
    assert (kept.time_cost, kept.memory_cost) >= (3, 64 * 1024)
    assert kept.salt_len >= 16
    assert password.hashed(WORD) != password.hashed(WORD)


def test_only_the_password_itself_matches() -> None:
    assert password.matches(CHEAP, WORD)
    for other in ("", WORD.upper(), WORD + " ", "x" * 10_000, "\ud800"):
        assert not password.matches(CHEAP, other)
    assert not password.matches("no hash", WORD)


def test_after_too_many_wrong_ones_not_even_the_right_one_is_tried() -> None:
    now = [0.0]
    attempts = password.Attempts(most=3, seconds=60, clock=lambda: now[0])
    assert [attempts.check(CHEAP, "wrong") for _ in range(3)] == [False] * 3
    with pytest.raises(CheckerError, match="wait"):
        attempts.check(CHEAP, WORD)
    now[0] = 60.0
    assert attempts.check(CHEAP, WORD)


def test_right_ones_are_not_counted() -> None:
    attempts = password.Attempts(most=1, clock=lambda: 0.0)
    assert all(attempts.check(CHEAP, WORD) for _ in range(5))


def test_a_file_made_with_the_module_opens_the_desk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("getpass.getpass", lambda prompt: WORD)
    file = tmp_path / "password"
    assert password.main([str(file)]) == 0
    assert file.stat().st_mode & 0o077 == 0
    assert WORD not in file.read_text()
    assert password.matches(password.stored_hash(file), WORD)


@pytest.mark.parametrize("content", [b"", b"secret", b"\xff\xfe", b"$argon2id$v=19$"])
def test_a_file_without_a_hash_is_told_in_one_sentence(
    content: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "password"
    file.write_bytes(content)
    assert main(["desk", "--password-file", str(file)]) == 2
    assert main(["desk", "--password-file", str(tmp_path / "none")]) == 2
    told = capsys.readouterr().err.splitlines()
    assert len(told) == 2 and "checker.desk.password" in told[0] and "none" in told[1]


@pytest.mark.parametrize("typed", [["short", "short"], [WORD, WORD + "x"]])
def test_what_is_no_password_is_refused(
    typed: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("getpass.getpass", lambda prompt: typed.pop(0))
    assert password.main([str(tmp_path / "password")]) == 2
    assert not (tmp_path / "password").exists()
