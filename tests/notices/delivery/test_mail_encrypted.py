"""A mail server whose line is encrypted from the first byte, as on port 465 (RFC 8314, 3.3)."""

from __future__ import annotations

import socket
import ssl
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from aiosmtpd.controller import Controller

from notices.delivery.probing import Step, probe
from tests.notices.delivery.posts import (
    NOON,
    Sink,
    free_port,
    mailing_office,
    overdue_owner,
    run_first_day,
    send,
    set_up,
    the_mail,
)
from tests.own_database import ROOT, environment_without_settings


class _Encrypted(Controller):
    def _trigger_server(self) -> None:
        """The library's own knock has the server's certificate stand for a client's."""
        anyone = ssl.create_default_context()
        anyone.check_hostname, anyone.verify_mode = False, ssl.CERT_NONE
        with (
            socket.create_connection((self.hostname, self.port), 5) as line,
            anyone.wrap_socket(line) as said,
        ):
            said.recv(100)


@pytest.fixture
def certificate(tmp_path: Path) -> Path:
    """A key and a certificate for 127.0.0.1, which nobody trusts yet."""
    made = tmp_path / "both.pem"
    subprocess.run(
        [
            *("openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2"),
            *("-subj", "/CN=mail", "-addext", "subjectAltName=IP:127.0.0.1"),
            *("-keyout", str(made), "-out", str(tmp_path / "certificate.pem")),
        ],
        check=True,
        capture_output=True,
    )
    made.write_bytes(made.read_bytes() + (tmp_path / "certificate.pem").read_bytes())
    return made


@pytest.fixture
def sink(certificate: Path) -> Any:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate)
    sink, port = Sink(), free_port()
    server = _Encrypted(sink, hostname="127.0.0.1", port=port, ssl_context=context)
    server.start()
    try:
        with set_up(port, EMAIL_USE_SSL=True):
            yield sink
    finally:
        server.stop()


def steps() -> list[Step]:
    return probe(recipient="ada@example.org", at=NOON, name="Flats")


def test_the_mail_test_names_a_certificate_it_does_not_trust_and_sends_nothing(sink: Sink) -> None:
    (step,) = steps()
    assert (step.what, step.is_good) == ("connect", False)
    assert "CERTIFICATE_VERIFY_FAILED" in step.words
    assert sink.taken == []


@pytest.mark.django_db
def test_with_a_trusted_one_the_test_and_the_letters_go(
    sink: Sink, certificate: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    program = mailing_office()
    overdue_owner(program)
    run_first_day(program)
    assert send(program).fault.startswith("SSLCertVerificationError")
    monkeypatch.setenv("SSL_CERT_FILE", str(certificate.parent / "certificate.pem"))
    found = {step.what: step.words for step in steps()}
    assert list(found)[-1] == "message"
    assert found["encryption"] == "From the first byte, on this port."
    assert send(program, at=NOON.replace(hour=21)).taken == 1
    assert sink.ids[-1] == the_mail().message_id


@pytest.mark.parametrize(
    ("port", "tls", "told"),
    [("465", "yes", "True False"), ("587", "yes", "False True"), ("465", "no", "False False")],
)
def test_the_port_says_how_the_line_is_encrypted(port: str, tls: str, told: str) -> None:
    asked = "from config import settings as s; print(s.EMAIL_USE_SSL, s.EMAIL_USE_TLS)"
    given = {"WATERCLERK_SMTP_PORT": port, "WATERCLERK_SMTP_TLS": tls}
    done = subprocess.run(
        [sys.executable, "-c", asked],
        env={**environment_without_settings(), **given},
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.split() == told.split()
