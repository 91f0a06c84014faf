"""Handing a mail to a server: over TLS that is verified, signed in where a user is set, refusals in plain words.

The password is in no message and in no error that is kept: what a server answers at sign-in is shown without it.
"""

from __future__ import annotations

import base64
import re
import smtplib
import ssl
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP as MAIL_POLICY
from typing import NoReturn

from wasteledger.errors import ExitStatus, NotUnderstood, WasteLedgerError
from wasteledger.exchange.patience import PatientSmtp, PatientTlsSmtp
from wasteledger.settings import SMTP_CA, SMTP_FROM, SMTP_TLS, BadSetting, MailSettings, Tls

TIMEOUT_S = 30
# RFC 5321 4.5.3.1.1 and 4.5.3.1.3: octets before the sign @, and in the whole path with its two angle brackets.
_LONGEST_LOCAL, _LONGEST = 64, 254
_CLOSING = 421
"""RFC 5321 3.8 and 4.2.3: the service is not available and closes the connection."""


class MailServerNotReachable(WasteLedgerError):
    """No mail server answers there, or it hung up."""

    code = "mail-server-not-reachable"
    exit_status = ExitStatus.STORE_NOT_REACHABLE
    http_status = 503


class MailRefused(WasteLedgerError):
    """The mail server did not take it, or does not show that it is the one that was named."""

    code = "mail-refused"
    http_status = 502


class BadAddress(NotUnderstood):
    """That is no single mail address."""

    code = "bad-address"

    def __init__(self, text: str, hint: str = "Write one address alone, such as office@example.org.") -> None:
        shown = "".join(sign if sign.isprintable() else "·" for sign in text)
        super().__init__(f"“{shown}” is not a mail address.", hint=hint)


@dataclass(frozen=True, slots=True)
class Letter:
    """One mail to one address: *at* carries the zone that its date is written in, *name* is unique to it."""

    to: str
    subject: str
    text: str
    at: datetime
    name: str


def checked_address(text: str) -> str:
    """The address that *text* is, and nothing besides; a domain beyond ASCII in the form that servers know.

    Raises:
        BadAddress: Anything else: a name with it, several, a line break.
    """
    address = _mailbox(text)
    if address is None or "<" in text:
        raise BadAddress(text)
    return address.addr_spec


def message_of(letter: Letter, sender: str) -> EmailMessage:
    """The mail as it goes out.

    Raises:
        BadAddress: The sender, or whom it goes to, is no address.
    """
    author = _mailbox(sender)
    if author is None:
        raise BadAddress(sender, hint=f"Set {SMTP_FROM} to an address, or to a name and an address in angle brackets.")
    message = EmailMessage(policy=MAIL_POLICY)
    message["From"] = author
    message["To"] = _mailbox(checked_address(letter.to))
    # On one line, and taken as it stands: no head may be made out of what a register says.
    message["Subject"] = " ".join(letter.subject.split()).replace(_ENCODED, "= ?")
    message["Date"] = letter.at
    message["Message-ID"] = f"<{letter.name}@{author.domain}>"
    # RFC 3834 5: nobody's holiday notice answers it.
    message["Auto-Submitted"] = "auto-generated"
    message.set_content(letter.text, cte="quoted-printable")
    return message


class Post:
    """An open way to the mail server; made by `open_post`."""

    def __init__(self, server: PatientSmtp, mail: MailSettings) -> None:
        self._server, self._mail = server, mail

    def send(self, letter: Letter) -> None:
        """Hand in one letter; returns when the server has taken it.

        Raises:
            MailRefused: It took it not.
            MailServerNotReachable: It hung up; this post sends nothing more.
            BadAddress: The sender, or whom it goes to, is no address.
        """
        message = message_of(letter, self._mail.sender)
        with _in_words(self._mail):
            self._server.begin_step()
            self._server.send_message(message)


@contextmanager
def open_post(mail: MailSettings) -> Iterator[Post]:
    """The way to the server, open and signed in for the length of a block.

    Raises:
        MailServerNotReachable: Nobody answers there.
        MailRefused: It offers no TLS, its certificate is not trusted, or the sign-in is refused.
        BadSetting: The file of certificates cannot be read.
    """
    context = None if mail.tls is Tls.NONE else _trusting(mail)
    with _in_words(mail):
        if mail.tls is Tls.IMPLICIT:
            server: PatientSmtp = PatientTlsSmtp(mail.host, mail.port, timeout=TIMEOUT_S, context=context)
        else:
            server = PatientSmtp(mail.host, mail.port, timeout=TIMEOUT_S)
    try:
        with _in_words(mail):
            if mail.tls is Tls.STARTTLS:
                server.starttls(context=context)
            if mail.user is not None and mail.password is not None:
                server.login(mail.user, mail.password)
        yield Post(server, mail)
        # What was handed in is taken by now, however the server says good-bye.
        with _left_quietly():
            server.quit()
    finally:
        server.close()


def _trusting(mail: MailSettings) -> ssl.SSLContext:
    """TLS that checks the certificate and the name in it; against the office's own file where it has one."""
    try:
        return ssl.create_default_context(cafile=mail.ca)
    except OSError as error:
        raise BadSetting(SMTP_CA, str(mail.ca), "a file of certificates in PEM form") from error


@contextmanager
def _left_quietly() -> Iterator[None]:
    try:
        yield
    except OSError:
        return


@contextmanager
def _in_words(mail: MailSettings) -> Iterator[None]:
    """Turn what the mail library and the network raise into ours."""
    where = f"{mail.host} port {mail.port}"
    # A refused sign-in is said without the error that caused it: servers are known to repeat what they were sent.
    try:
        yield
    except smtplib.SMTPRecipientsRefused as error:
        to, (code, answer) = next(iter(error.recipients.items()))
        _refuse(mail, f"Mail server {where} does not take mail to {to}", code, answer, "Check the address.")
    except smtplib.SMTPNotSupportedError as error:
        raise MailRefused(
            f"Mail server {where} does not offer what is wanted: {error}",
            hint=f"Ask its keeper how mail is handed in; {SMTP_TLS} says how it is protected. Nothing was sent.",
        ) from None
    except smtplib.SMTPServerDisconnected as error:
        raise _unreachable(where, "it hung up") from error
    except smtplib.SMTPAuthenticationError as error:
        says = f"Mail server {where} does not let {mail.user} sign in"
        _refuse(mail, says, error.smtp_code, error.smtp_error, "Check user and password.")
    except smtplib.SMTPSenderRefused as error:
        says = f"Mail server {where} does not take mail from {error.sender}"
        _refuse(mail, says, error.smtp_code, error.smtp_error, f"Check {SMTP_FROM}, and whether it wants a sign-in.")
    except smtplib.SMTPResponseException as error:
        _refuse(mail, f"Mail server {where} did not take it", error.smtp_code, error.smtp_error, "Ask its keeper why.")
    except smtplib.SMTPException as error:
        raise MailRefused(f"Mail server {where}: {_shown(mail, str(error))}.", hint="Ask its keeper why.") from None
    except ssl.SSLCertVerificationError as error:
        raise MailRefused(
            f"Mail server {where} does not show a certificate that is trusted: {error.verify_message}.",
            hint=f"Check the name of the server; {SMTP_CA} can name a file of certificates to trust. Nothing was sent.",
        ) from error
    except ssl.SSLError as error:
        raise MailServerNotReachable(
            f"Mail server {where} does not speak TLS there: {error.reason or error}.",
            hint=f"Check the port, and {SMTP_TLS}: starttls is usual on 587, implicit on 465.",
        ) from error
    except OSError as error:
        raise _unreachable(where, error.strerror or str(error)) from error


def _refuse(mail: MailSettings, says: str, code: int, answer: bytes | str, hint: str) -> NoReturn:
    if code == _CLOSING:
        raise _unreachable(f"{mail.host} port {mail.port}", _shown(mail, answer)) from None
    later = " Later it may." if 400 <= code < 500 else ""
    raise MailRefused(f"{says}: {code} {_shown(mail, answer)}".rstrip() + f".{later}", hint=hint) from None


def _unreachable(where: str, why: str) -> MailServerNotReachable:
    return MailServerNotReachable(
        f"Mail server {where} cannot be reached: {why}.",
        hint="Check its name, its port and the network, then send again; who was not told is told then.",
    )


def _shown(mail: MailSettings, answer: bytes | str) -> str:
    """A server's words on one line, cut, and without the password in any of the forms in which it was sent."""
    text = answer.decode("utf-8", "replace") if isinstance(answer, bytes) else answer
    text = " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())
    if mail.password is not None:
        plain = f"\0{mail.user}\0{mail.password}".encode()
        for secret in (base64.b64encode(plain).decode(), base64.b64encode(mail.password.encode()).decode()):
            text = text.replace(secret, "…")
        text = text.replace(mail.password, "…")
    return text[:200].rstrip(". ")


# A dot-string of RFC 5321 4.1.2, with letters beyond ASCII as RFC 6531 3.3 has them; neither quotes nor comments.
_LOCAL = re.compile(r"""[^\s"(),:;<>@\[\]\\.]+(?:\.[^\s"(),:;<>@\[\]\\.]+)*""")
_DOMAIN = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9.-]*[A-Za-z0-9])?")
_NAMED = re.compile(r"""(?P<name>[^<>"]*|"[^<>"]*")\s*<(?P<address>[^<>]*)>""")
# What a head would take for the beginning of an encoded word (RFC 2047), with a line break inside perhaps.
_ENCODED = "=?"


def _mailbox(text: str) -> Address | None:
    """The only mailbox in *text*, with or without a name, or None."""
    text = text.strip()
    # The check for signs comes first: a line break would begin a header of the writer's own.
    if not text.isprintable() or _ENCODED in text:
        return None
    named = _NAMED.fullmatch(text)
    name, address = (named["name"].strip().strip('"'), named["address"]) if named else ("", text)
    local, _, domain_text = address.rpartition("@")
    try:
        domain = domain_text.encode("idna").decode("ascii")
    except UnicodeError:
        return None
    if not _LOCAL.fullmatch(local) or not _DOMAIN.fullmatch(domain):
        return None
    if len(local.encode()) > _LONGEST_LOCAL or len(local.encode()) + 1 + len(domain) > _LONGEST:
        return None
    return Address(name, local, domain)
