"""A mail server of the test's own, on this machine, with a certificate made for the purpose."""

from __future__ import annotations

import asyncio
import ssl
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from email.message import EmailMessage
from email.parser import BytesParser
from email.policy import SMTP
from pathlib import Path
from queue import Queue
from threading import Event, Thread
from typing import Any

from aiosmtpd import smtp
from aiosmtpd.smtp import AuthResult, Envelope, LoginPassword, Session
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

USER, PASSWORD = "office@example.org", "never show this"
TAKEN = "250 Message taken"


@dataclass(slots=True)
class Postbox:
    """What a server got, and how it answers.

    Attributes:
        letters: Sender, recipients and content of each mail that was taken.
        sign_ins: User and password of each try.
        refuses: Recipients that it does not know.
        answer: What it says after a mail's content.
        hold: Where set, it waits for it before it answers.
        asked: Set when the first content came.
        hangs_up: It takes the mail, and closes the connection instead of saying so.
        echoes: At sign-in it repeats the password, as some servers do.
    """

    letters: list[tuple[str, list[str], bytes]] = field(default_factory=list)
    sign_ins: list[tuple[str, str]] = field(default_factory=list)
    refuses: set[str] = field(default_factory=set)
    answer: str = TAKEN
    hold: Event | None = None
    asked: Event = field(default_factory=Event)
    hangs_up: bool = False
    echoes: bool = False

    def read(self, number: int = 0) -> EmailMessage:
        """One of the mails, taken apart by the standard library's parser."""
        message = BytesParser(policy=SMTP).parsebytes(self.letters[number][2])
        assert isinstance(message, EmailMessage)
        return message

    @property
    def told(self) -> list[str]:
        """Everybody that a mail was taken for, in order."""
        return [one for _, to, _ in self.letters for one in to]

    # The names are those that the server calls.
    async def handle_RCPT(  # noqa: N802
        self, server: smtp.SMTP, session: Session, envelope: Envelope, address: str, options: list[str]
    ) -> str:
        if address in self.refuses:
            return "550 No such mailbox here"
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server: smtp.SMTP, session: Session, envelope: Envelope) -> str:  # noqa: N802
        self.asked.set()
        if self.hold is not None:
            while not self.hold.is_set():
                await asyncio.sleep(0.02)
        if self.answer == TAKEN:
            assert isinstance(envelope.content, bytes)
            self.letters.append((str(envelope.mail_from), list(envelope.rcpt_tos), envelope.content))
        if self.hangs_up:
            assert isinstance(server.transport, asyncio.Transport)
            server.transport.abort()
        return self.answer

    def authenticate(
        self, server: smtp.SMTP, session: Session, envelope: Envelope, mechanism: str, login: Any
    ) -> AuthResult:
        """Take the right user and password alone; where it echoes, it is as careless as some servers are."""
        assert isinstance(login, LoginPassword)
        user, password = login.login.decode(), login.password.decode()
        self.sign_ins.append((user, password))
        if (user, password) == (USER, PASSWORD):
            return AuthResult(success=True)
        says = f"535 5.7.8 {password} is wrong" if self.echoes else "535 5.7.8 Not you"
        return AuthResult(success=False, handled=False, message=says)


@dataclass(frozen=True, slots=True)
class Certificate:
    """A certificate that vouches for itself, in files as servers and clients take them."""

    chain: Path
    key: Path

    def context(self) -> ssl.SSLContext:
        """What a server needs to show it."""
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(self.chain, self.key)
        return context


def make_certificate(folder: Path, name: str = "localhost", *, days: int = 1) -> Certificate:
    """A certificate for the server *name*, good from yesterday for so many *days* from now."""
    key = ec.generate_private_key(ec.SECP256R1())
    named = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
    now = datetime.now(UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(named)
        .issuer_name(named)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=2))
        .not_valid_after(now + timedelta(days=days))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName(name)]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    chain, secret = folder / f"{name}-{days}.pem", folder / f"{name}-{days}.key"
    chain.write_bytes(made.public_bytes(serialization.Encoding.PEM))
    secret.write_bytes(
        key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    )
    return Certificate(chain, secret)


@contextmanager
def mail_server(
    postbox: Postbox,
    certificate: Certificate | None = None,
    *,
    implicit: bool = False,
    signs_in: bool = False,
) -> Iterator[int]:
    """A server that fills *postbox*; gives its port.

    With a certificate it insists on STARTTLS, or speaks TLS from the beginning where *implicit*.
    """
    context = certificate.context() if certificate else None
    asks_for_tls = context is not None and not implicit

    def protocol() -> smtp.SMTP:
        return smtp.SMTP(
            postbox,
            hostname="localhost",
            enable_SMTPUTF8=True,
            tls_context=context if asks_for_tls else None,
            require_starttls=asks_for_tls,
            authenticator=postbox.authenticate if signs_in else None,
            auth_required=signs_in and asks_for_tls,
            auth_require_tls=asks_for_tls,
        )

    loop, ports = asyncio.new_event_loop(), Queue[int]()

    async def serve() -> None:
        server = await loop.create_server(protocol, "127.0.0.1", 0, ssl=context if implicit else None)
        ports.put(server.sockets[0].getsockname()[1])
        try:
            await asyncio.Event().wait()
        finally:
            server.close()

    def run() -> None:
        asyncio.set_event_loop(loop)
        serving = loop.create_task(serve())
        with suppress(asyncio.CancelledError):
            loop.run_until_complete(serving)
        # Somebody may still be connected where a test left in the middle.
        left = asyncio.all_tasks(loop)
        for task in left:
            task.cancel()
        loop.run_until_complete(asyncio.gather(*left, return_exceptions=True))
        loop.close()

    thread = Thread(target=run, daemon=True)
    thread.start()
    try:
        yield ports.get(timeout=10)
    finally:
        loop.call_soon_threadsafe(lambda: [task.cancel() for task in asyncio.all_tasks(loop)])
        thread.join(timeout=10)
