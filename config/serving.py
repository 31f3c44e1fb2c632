"""Serves the site on loopback with one process, the same on every system."""

from __future__ import annotations

import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

import waitress
from django.core.handlers.wsgi import WSGIHandler

LOOPBACK = "127.0.0.1"
PORTS_TO_TRY = 20


def free_port(wanted: int) -> int:
    """Return `wanted`, or the next port after it that nobody listens on.

    Raises OSError when the next twenty are taken too.
    """
    for port in range(wanted, min(wanted + PORTS_TO_TRY, 65535)):
        if _is_free(port):
            return port
    raise OSError(f"ports {wanted} to {wanted + PORTS_TO_TRY - 1} are all taken")


def _is_free(port: int) -> bool:
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as trial:
        trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind((LOOPBACK, port))
        except OSError:
            return False
        return True


def serve_forever(*, application: WSGIHandler, port: int) -> None:
    """Serve until interrupted; only this machine can reach it."""
    waitress.serve(application, host=LOOPBACK, port=port, threads=8, ident=None, _quiet=True)


@contextmanager
def cluster_beside(*, manage: Path) -> Iterator[subprocess.Popen[bytes]]:
    """Run the queue's cluster as a child while the block lasts, and end it afterwards."""
    child = subprocess.Popen([sys.executable, str(manage), "qcluster"])
    try:
        yield child
    finally:
        _end(child)


def end_on_term() -> None:
    """Let SIGTERM end the process as Ctrl-C does, so that a child is not left behind."""

    def ended(_number: int, _frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    signal.signal(signal.SIGTERM, ended)


def _end(child: subprocess.Popen[bytes]) -> None:
    """Ask the cluster to stop; a task it cannot end in time is run again at the next start."""
    child.send_signal(signal.SIGTERM)
    try:
        child.wait(timeout=15)
    except subprocess.TimeoutExpired:
        child.kill()
        child.wait()
