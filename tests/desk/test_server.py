"""Where the web pages are served, and what is said when they cannot be."""

import socket

import pytest

from checker.cli import main
from checker.desk import server


def test_a_port_in_use_ends_in_one_sentence(capsys: pytest.CaptureFixture[str]) -> None:
    with socket.socket() as busy:
        busy.bind((server.HOST, 0))
        busy.listen()
        port = busy.getsockname()[1]
        assert main(["desk", "--port", str(port)]) == 2
    output = capsys.readouterr()
    assert output.out == ""
    assert output.err.count("\n") == 1
    assert str(port) in output.err and "--port" in output.err


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.7", "example.invalid", ""])
def test_other_machines_are_not_let_in_without_a_password(
    host: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["desk", "--host", host]) == 2
    output = capsys.readouterr()
    assert output.out == ""
    assert "needs a password" in output.err and output.err.count("\n") == 1


@pytest.mark.parametrize("host", ["127.0.0.1", "127.8.8.8", "::1", "localhost"])
def test_loopback_is_this_machine_alone(host: str) -> None:
    assert server.is_loopback(host)
