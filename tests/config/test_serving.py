"""The demo's server stays on this machine and steps aside when its port is taken."""

from __future__ import annotations

import socket

import pytest

from config.serving import LOOPBACK, PORTS_TO_TRY, free_port


def listener(port: int = 0) -> socket.socket:
    found = socket.socket()
    found.bind((LOOPBACK, port))
    found.listen()
    return found


def test_a_free_port_is_taken_as_asked() -> None:
    with listener() as other:
        port = other.getsockname()[1]
    assert free_port(port) == port


def test_a_taken_port_gives_the_next_free_one() -> None:
    with listener() as other:
        port = other.getsockname()[1]
        assert port < free_port(port) < port + PORTS_TO_TRY


def test_no_free_port_is_an_error_and_not_a_guess(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("config.serving._is_free", lambda _port: False)
    with pytest.raises(OSError, match="all taken"):
        free_port(8000)
