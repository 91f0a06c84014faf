"""Mail through a real server: TLS that is verified, sign-in, refusals in words, and no password anywhere."""

from __future__ import annotations

import base64
import socket
import ssl
from collections.abc import Iterator
from contextlib import suppress
from datetime import UTC, datetime
from email.parser import BytesParser
from email.policy import SMTP
from pathlib import Path
from threading import Thread
from time import sleep
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.mail_server import PASSWORD, USER, Certificate, Postbox, mail_server, make_certificate
from wasteledger.errors import ExitStatus
from wasteledger.exchange import patience
from wasteledger.exchange.mail import (
    BadAddress,
    Letter,
    MailRefused,
    MailServerNotReachable,
    checked_address,
    message_of,
    open_post,
)
from wasteledger.settings import BadSetting, MailSettings, Tls

SENDER = "Elm Street <elm@example.org>"


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Certificate:
    """One for the server's right name."""
    return make_certificate(tmp_path_factory.mktemp("certificate"))


@pytest.fixture
def postbox() -> Postbox:
    return Postbox()


@pytest.fixture
def starttls_port(postbox: Postbox, certificate: Certificate) -> Iterator[int]:
    with mail_server(postbox, certificate, signs_in=True) as port:
        yield port


def a_letter(to: str = "odile@example.org", **changes: Any) -> Letter:
    said: dict[str, Any] = {
        "to": to,
        "subject": "Elm Street: 1 overdue",
        "text": "Überfällig: Zoë’s Eimer — 歯科\n.\nEnd.\n",
        "at": datetime(2026, 3, 2, 8, 0, tzinfo=UTC),
        "name": "one-name",
    }
    return Letter(**said | changes)


def settings_for(port: int, certificate: Certificate | None, **changes: Any) -> MailSettings:
    said: dict[str, Any] = {
        "host": "localhost",
        "sender": SENDER,
        "port": port,
        "user": USER,
        "password": PASSWORD,
        "ca": certificate.chain if certificate else None,
    }
    return MailSettings(**said | changes)


def send(mail: MailSettings, letter: Letter | None = None) -> None:
    with open_post(mail) as post:
        post.send(letter or a_letter())


# -- what goes out -----------------------------------------------------------------------------------------------------


def test_a_letter_comes_as_it_was_written(postbox: Postbox, starttls_port: int, certificate: Certificate) -> None:
    send(settings_for(starttls_port, certificate))

    sender, to, _ = postbox.letters[0]
    got = postbox.read()
    assert (sender, to) == ("elm@example.org", ["odile@example.org"])
    assert (got["From"], got["To"], got["Subject"]) == (SENDER, "odile@example.org", "Elm Street: 1 overdue")
    assert got["Message-ID"] == "<one-name@example.org>"
    assert got["Date"].datetime == datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
    assert got["Auto-Submitted"] == "auto-generated"
    assert got.get_content().replace("\r\n", "\n") == "Überfällig: Zoë’s Eimer — 歯科\n.\nEnd.\n"
    assert postbox.sign_ins == [(USER, PASSWORD)]


def test_several_letters_go_over_one_sign_in(postbox: Postbox, starttls_port: int, certificate: Certificate) -> None:
    with open_post(settings_for(starttls_port, certificate)) as post:
        post.send(a_letter("odile@example.org"))
        post.send(a_letter("bao@example.org"))

    assert postbox.told == ["odile@example.org", "bao@example.org"]
    assert len(postbox.sign_ins) == 1


def test_tls_from_the_first_byte(postbox: Postbox, certificate: Certificate) -> None:
    with mail_server(postbox, certificate, implicit=True, signs_in=True) as port:
        send(settings_for(port, certificate, tls=Tls.IMPLICIT))

    assert postbox.told == ["odile@example.org"]


def test_a_server_on_this_machine_needs_no_tls_and_no_sign_in(postbox: Postbox) -> None:
    with mail_server(postbox) as port:
        send(settings_for(port, None, tls=Tls.NONE, user=None, password=None))

    assert postbox.told == ["odile@example.org"]


def test_an_address_beyond_ascii_goes_to_a_server_that_takes_it(postbox: Postbox) -> None:
    with mail_server(postbox) as port:
        send(settings_for(port, None, tls=Tls.NONE, user=None, password=None), a_letter("zoë@bücher.example"))

    assert postbox.told == ["zoë@xn--bcher-kva.example"]


# -- what is not trusted -----------------------------------------------------------------------------------------------


def test_a_certificate_that_nobody_vouches_for_is_refused(postbox: Postbox, starttls_port: int) -> None:
    with pytest.raises(MailRefused, match="does not show a certificate that is trusted: self-signed"):
        send(settings_for(starttls_port, None))

    assert postbox.sign_ins == []
    assert postbox.letters == []


@pytest.mark.parametrize("tls", [Tls.STARTTLS, Tls.IMPLICIT])
def test_a_certificate_of_another_name_is_refused(postbox: Postbox, tmp_path: Path, tls: Tls) -> None:
    other = make_certificate(tmp_path, "elsewhere.example")
    with (
        mail_server(postbox, other, implicit=tls is Tls.IMPLICIT, signs_in=True) as port,
        pytest.raises(MailRefused, match="not valid for 'localhost'"),
    ):
        send(settings_for(port, other, tls=tls))

    assert postbox.sign_ins == []


def test_a_certificate_that_has_run_out_is_refused(postbox: Postbox, tmp_path: Path) -> None:
    old = make_certificate(tmp_path, days=-1)
    with (
        mail_server(postbox, old, signs_in=True) as port,
        pytest.raises(MailRefused, match="certificate has expired") as refusal,
    ):
        send(settings_for(port, old))

    assert refusal.value.exit_status is ExitStatus.REFUSED
    assert postbox.sign_ins == []


def test_without_the_tls_that_is_wanted_nothing_is_said(postbox: Postbox) -> None:
    """Whoever sits between could take STARTTLS out of what the server offers."""
    with mail_server(postbox, signs_in=True) as port, pytest.raises(MailRefused, match="does not offer"):
        send(settings_for(port, None))

    assert postbox.sign_ins == []
    assert postbox.letters == []


def test_tls_where_none_is_spoken_is_no_server(postbox: Postbox) -> None:
    with mail_server(postbox) as port, pytest.raises(MailServerNotReachable, match="does not speak TLS"):
        send(settings_for(port, None, tls=Tls.IMPLICIT))


@pytest.mark.parametrize("content", [None, "no certificate"])
def test_a_file_of_certificates_that_cannot_be_read_is_named(tmp_path: Path, content: str | None) -> None:
    file = tmp_path / "trusted.pem"
    if content is not None:
        file.write_text(content, "utf-8")

    with pytest.raises(BadSetting, match=r"WASTELEDGER_SMTP_CA is “.*trusted\.pem”"):
        send(settings_for(1, None, ca=file))


# -- what the server does not take -------------------------------------------------------------------------------------


def test_a_recipient_that_is_not_known_is_named(postbox: Postbox, starttls_port: int, certificate: Certificate) -> None:
    postbox.refuses.add("gone@example.org")

    with open_post(settings_for(starttls_port, certificate)) as post:
        with pytest.raises(MailRefused, match=r"does not take mail to gone@example\.org: 550 No such mailbox here\.$"):
            post.send(a_letter("gone@example.org"))
        post.send(a_letter("odile@example.org"))

    assert postbox.told == ["odile@example.org"]


def test_a_server_that_has_no_time_now_is_told_apart(
    postbox: Postbox, starttls_port: int, certificate: Certificate
) -> None:
    postbox.answer = "451 Try later"

    with pytest.raises(MailRefused, match=r"451 Try later\. Later it may\.$"):
        send(settings_for(starttls_port, certificate))


def test_a_server_that_closes_down_counts_as_out_of_reach(
    postbox: Postbox, starttls_port: int, certificate: Certificate
) -> None:
    postbox.answer = "421 Closing"

    with pytest.raises(MailServerNotReachable, match="Closing"):
        send(settings_for(starttls_port, certificate))


def test_a_server_that_hangs_up_counts_as_out_of_reach(
    postbox: Postbox, starttls_port: int, certificate: Certificate
) -> None:
    postbox.hangs_up = True

    with pytest.raises(MailServerNotReachable, match="it hung up"):
        send(settings_for(starttls_port, certificate))


def test_a_server_that_is_down_is_out_of_reach(postbox: Postbox) -> None:
    with mail_server(postbox) as port:
        pass

    with pytest.raises(MailServerNotReachable, match="refused") as refusal:
        send(settings_for(port, None))
    assert refusal.value.exit_status is ExitStatus.STORE_NOT_REACHABLE


@pytest.mark.parametrize(
    "dripped",
    [b"2", b"220-Wait a little longer\r\n"],
    ids=["a byte now and then", "lines without end"],
)
def test_a_server_whose_answer_does_not_end_is_out_of_reach(monkeypatch: pytest.MonkeyPatch, dripped: bytes) -> None:
    """Every piece comes within the socket's own time limit; only a limit for the whole ends it."""
    monkeypatch.setattr(patience, "LONGEST_S", 0.6)
    with socket.create_server(("127.0.0.1", 0)) as listening:
        dripping = Thread(target=_drip, args=(listening, dripped), daemon=True)
        dripping.start()
        mail = settings_for(listening.getsockname()[1], None, tls=Tls.NONE, user=None, password=None)
        with pytest.raises(MailServerNotReachable, match="no whole answer came within") as refusal:
            send(mail)
        dripping.join(10)

    assert refusal.value.exit_status is ExitStatus.STORE_NOT_REACHABLE
    assert not dripping.is_alive()


def _drip(listening: socket.socket, piece: bytes) -> None:
    connection, _ = listening.accept()
    with connection, suppress(OSError):
        while True:
            connection.sendall(piece)
            sleep(0.05)


def test_a_server_that_is_slow_with_each_letter_is_given_the_time_for_each(
    postbox: Postbox, starttls_port: int, certificate: Certificate, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(patience, "LONGEST_S", 1.5)
    with open_post(settings_for(starttls_port, certificate)) as post:
        for _ in range(3):
            sleep(0.7)
            post.send(a_letter())

    assert len(postbox.letters) == 3


def test_a_name_that_nobody_has_is_out_of_reach() -> None:
    with pytest.raises(MailServerNotReachable, match=r"nowhere\.invalid port 587"):
        send(MailSettings("nowhere.invalid", SENDER))


# -- the password ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("echoes", [False, True])
def test_a_password_shows_in_no_refusal(
    postbox: Postbox, starttls_port: int, certificate: Certificate, echoes: bool
) -> None:
    postbox.echoes = echoes
    mail = settings_for(starttls_port, certificate, password="a wrong one")

    with pytest.raises(MailRefused, match=r"does not let office@example\.org sign in: 535") as refusal:
        send(mail)

    said = f"{refusal.value} {refusal.value.hint} {refusal.value!r} {mail!r}"
    forms = ["a wrong one", base64.b64encode(b"a wrong one").decode()]
    assert not [form for form in forms if form in said]
    assert refusal.value.__suppress_context__


def test_a_password_in_letters_that_mail_cannot_carry_in_the_clear_is_masked() -> None:
    from wasteledger.exchange.mail import _shown

    mail = MailSettings("localhost", SENDER, user=USER, password=PASSWORD)
    sent = base64.b64encode(f"\0{USER}\0{PASSWORD}".encode()).decode()

    assert _shown(mail, f"bad: {sent} ({PASSWORD})\r\nagain".encode()) == "bad: … (…) again"


# -- addresses and heads -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "odile",
        "@example.org",
        "odile@",
        "odile@@example.org",
        "odile@example..org",
        "odile@-example.org",
        "odile..x@example.org",
        ".odile@example.org",
        "odile @example.org",
        "Odile <odile@example.org>",
        "<odile@example.org>",
        "odile@example.org, bao@example.org",
        "odile@example.org;bao@example.org",
        "office: odile@example.org;",
        "odile(there)@example.org",
        '"odile bao"@example.org',
        "odile@example.org\nBcc: all@example.org",
        "odile@example.org\r\nBcc: all@example.org",
        "odile@example.org\rx",
        "odile@example.org\x0bx",
        "odile@example.org\u2028x",
        "odile@example.org\x85x",
        "odile\0@example.org",
        "=?utf-8?q?odile=0ABcc:all?=@example.org",
        f"{'o' * 65}@example.org",
        f"odile@{'e' * 64}.example",
        f"odile@{'.'.join(['example'] * 40)}",
    ],
)
def test_what_is_no_single_address_is_refused(text: str) -> None:
    with pytest.raises(BadAddress) as refusal:
        checked_address(text)

    assert str(refusal.value).isprintable()


@pytest.mark.parametrize(
    ("text", "address"),
    [
        (" odile@example.org ", "odile@example.org"),
        ("odile+traps@example.org", "odile+traps@example.org"),
        ("o'dile@sub.example.org", "o'dile@sub.example.org"),
        ("office@localhost", "office@localhost"),
        ("zoë@example.org", "zoë@example.org"),
        ("odile@bücher.example", "odile@xn--bcher-kva.example"),
    ],
)
def test_an_address_is_taken(text: str, address: str) -> None:
    assert checked_address(text) == address


@pytest.mark.parametrize(
    "sender", ["elm", "Elm\nBcc: all@example.org <elm@example.org>", "=?utf-8?q?a?= <e@example.org>"]
)
def test_a_sender_that_is_no_address_is_refused(sender: str) -> None:
    with pytest.raises(BadAddress) as refusal:
        message_of(a_letter(), sender)

    assert "WASTELEDGER_SMTP_FROM" in refusal.value.hint


HEADS = ["From", "To", "Subject", "Date", "Message-ID", "Auto-Submitted"]


@given(
    st.text(max_size=120) | st.sampled_from(["a\nBcc: all@example.org", "=?utf-8?q?a=0D=0ABcc:_all=40example.org?="])
)
def test_no_subject_makes_a_head_of_its_own(subject: str) -> None:
    """What a register says goes into the subject; a parser that we did not write finds the six heads, and no other."""
    subject = subject.encode("utf-8", "ignore").decode()
    sent = message_of(a_letter(subject=subject), SENDER).as_bytes()

    read = BytesParser(policy=SMTP).parsebytes(sent)
    assert [name for name in read if not name.startswith(("Content-", "MIME-"))] == HEADS
    assert read["To"] == "odile@example.org"


def test_what_is_sent_holds_to_the_line_length_of_mail() -> None:
    """RFC 5321 4.5.3.1.6: at most 1,000 octets a line with its end; RFC 5322 2.1.1: better at most 78 signs."""
    sent = message_of(a_letter(text=f"{'x' * 5000}\n", subject="Zoë " * 100), SENDER).as_bytes()

    assert max(len(line) for line in sent.split(b"\r\n")) <= 78
    assert sent.isascii()


def test_tls_is_of_a_kind_that_is_still_held_for_safe() -> None:
    """RFC 8996: TLS 1.0 and 1.1 must not be used."""
    from wasteledger.exchange.mail import _trusting

    context = _trusting(MailSettings("localhost", SENDER))

    assert context.minimum_version >= ssl.TLSVersion.TLSv1_2
    assert context.check_hostname
    assert context.verify_mode is ssl.CERT_REQUIRED
