"""Where the web page is served, and what is said when it cannot be."""

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
