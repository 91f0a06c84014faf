"""What the environment says about this office: read once by the door, then handed on as one frozen value."""

from __future__ import annotations

import ipaddress
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path

from wasteledger.errors import NotUnderstood

LEDGER = "WASTELEDGER_LEDGER"
SITE = "WASTELEDGER_SITE"
BY = "WASTELEDGER_BY"
TEMPLATES = "WASTELEDGER_TEMPLATES"
PAPER = "WASTELEDGER_PAPER"
SMTP_HOST = "WASTELEDGER_SMTP_HOST"
SMTP_PORT = "WASTELEDGER_SMTP_PORT"
SMTP_USER = "WASTELEDGER_SMTP_USER"
SMTP_PASSWORD = "WASTELEDGER_SMTP_PASSWORD"
SMTP_FROM = "WASTELEDGER_SMTP_FROM"
SMTP_TLS = "WASTELEDGER_SMTP_TLS"
SMTP_CA = "WASTELEDGER_SMTP_CA"
MAIL_VARIABLES = (SMTP_HOST, SMTP_PORT, SMTP_USER, SMTP_PASSWORD, SMTP_FROM, SMTP_TLS, SMTP_CA)
VARIABLES = (LEDGER, SITE, BY, TEMPLATES, PAPER, *MAIL_VARIABLES)


class Paper(StrEnum):
    """The sheet that documents are laid out for."""

    LETTER = "letter"
    A4 = "a4"


class Tls(StrEnum):
    """How the way to the mail server is kept private."""

    STARTTLS = "starttls"  # begins plain, then turns to TLS before anything else is said (RFC 3207)
    IMPLICIT = "implicit"  # TLS from the first byte on (RFC 8314)
    NONE = "none"  # only to this machine itself

    @property
    def usual_port(self) -> int:
        """The port that mail is handed in at: RFC 6409 3.1, RFC 8314 7.3; RFC 5321 4.5.4.2 on this machine itself."""
        return {Tls.STARTTLS: 587, Tls.IMPLICIT: 465, Tls.NONE: 25}[self]


class BadSetting(NotUnderstood):
    """An environment variable holds a word that is not read here."""

    code = "bad-setting"

    def __init__(self, variable: str, value: str, accepted: str) -> None:
        super().__init__(f"{variable} is “{value}”, which is not read here.", hint=f"Set it to {accepted}.")
        self.variable, self.value = variable, value


@dataclass(frozen=True, slots=True)
class Settings:
    """One office's settings; each can be overridden by an option of the command.

    Attributes:
        ledger: Path of the ledger's file, or a database URL. Left out of ``repr``: a URL can hold a password.
        site: Which site's journal is meant, where the ledger holds several.
        by: The person who records.
        templates: The office's own folder, laid over the shipped templates.
        paper: The sheet that documents are laid out for.
    """

    ledger: str = field(default="wasteledger.db", repr=False)
    site: str | None = None
    by: str | None = None
    templates: Path | None = None
    paper: Paper = Paper.LETTER


def read_settings(environment: Mapping[str, str]) -> Settings:
    """Read the settings from *environment*; a variable that is blank counts as not set.

    >>> read_settings({"WASTELEDGER_PAPER": "A4"}).paper
    <Paper.A4: 'a4'>

    Raises:
        BadSetting: The paper is neither ``letter`` nor ``a4``.
    """
    said = {name: value.strip() for name, value in environment.items() if value.strip()}
    paper = said.get(PAPER, Settings().paper).lower()
    if paper not in set(Paper):
        raise BadSetting(PAPER, paper, " or ".join(Paper))
    return Settings(
        ledger=said.get(LEDGER, Settings().ledger),
        site=said.get(SITE),
        by=said.get(BY),
        templates=Path(said[TEMPLATES]).expanduser() if TEMPLATES in said else None,
        paper=Paper(paper),
    )


@dataclass(frozen=True, slots=True)
class MailSettings:
    """Through which server reminders go out, and in whose name.

    Attributes:
        host: Name of the mail server.
        sender: What stands behind “From”: an address, or a name with an address in angle brackets.
        port: Where it listens.
        tls: How the way there is kept private.
        user: Who signs in; nobody does where it is None.
        password: Left out of ``repr``, and of every message.
        ca: A file of certificates in PEM form, trusted in place of the system's.
    """

    host: str
    sender: str
    port: int = Tls.STARTTLS.usual_port
    tls: Tls = Tls.STARTTLS
    user: str | None = None
    password: str | None = field(default=None, repr=False)
    ca: Path | None = None


class MailNotSetUp(NotUnderstood):
    """The environment does not say how mail goes out."""

    code = "mail-not-set-up"


def read_mail_settings(environment: Mapping[str, str]) -> MailSettings:
    """Read how mail goes out; asked only when some is to be sent, so that nothing else fails by it.

    >>> read_mail_settings({"WASTELEDGER_SMTP_HOST": "mail.example.org", "WASTELEDGER_SMTP_FROM": "a@example.org"}).port
    587

    Raises:
        MailNotSetUp: No server, no sender, a user without a password or the other way round, or a password that the
            sign-in of the mail protocol cannot carry.
        BadSetting: A port or a kind of TLS that is none; no TLS to another machine.
    """
    said = {name: value.strip() for name, value in environment.items() if value.strip()}
    # A password may well begin or end with a blank.
    password = environment.get(SMTP_PASSWORD) or None
    host, sender, user = said.get(SMTP_HOST), said.get(SMTP_FROM), said.get(SMTP_USER)
    if host is None or sender is None:
        lacks = " and ".join(name for name, value in ((SMTP_HOST, host), (SMTP_FROM, sender)) if value is None)
        raise MailNotSetUp(
            f"It is not said how mail goes out: {lacks} not set.",
            hint=f"Set {SMTP_HOST} to the mail server and {SMTP_FROM} to the sender's address; --show needs neither.",
        )
    if (user is None) != (password is None):
        raise MailNotSetUp(
            f"{SMTP_USER} and {SMTP_PASSWORD} belong together; one of them is not set.",
            hint="Set both, or neither where the server asks for no sign-in.",
        )
    if not all(sign.isascii() and sign.isprintable() for sign in f"{user or ''}{password or ''}"):
        raise MailNotSetUp(
            f"{SMTP_USER} or {SMTP_PASSWORD} holds a sign that cannot be sent at sign-in.",
            hint="Only letters without accents, digits and the signs of an English keyboard can.",
        )
    tls = said.get(SMTP_TLS, Tls.STARTTLS).lower()
    if tls not in set(Tls):
        raise BadSetting(SMTP_TLS, tls, f"{', '.join(list(Tls)[:-1])} or {Tls.NONE}")
    if tls == Tls.NONE and not _is_this_machine(host):
        accepted = f"{Tls.STARTTLS} or {Tls.IMPLICIT}; unprotected mail goes to a server on this machine alone"
        raise BadSetting(SMTP_TLS, tls, accepted)
    port = said.get(SMTP_PORT, str(Tls(tls).usual_port))
    if not (port.isascii() and port.isdigit() and 1 <= int(port[:6]) <= 65_535):
        raise BadSetting(SMTP_PORT, port, "a number from 1 to 65535")
    # An IPv6 address may come in the brackets that it has in a URL.
    host = host.removeprefix("[").removesuffix("]")
    ca = Path(said[SMTP_CA]).expanduser() if SMTP_CA in said else None
    return MailSettings(host, sender, int(port), Tls(tls), user, password, ca)


def _is_this_machine(host: str) -> bool:
    try:
        return ipaddress.ip_address(host.removeprefix("[").removesuffix("]")).is_loopback
    except ValueError:
        return host.lower() == "localhost"
