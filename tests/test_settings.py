"""Settings are a pure function of the environment."""

from __future__ import annotations

from pathlib import Path

import pytest

from wasteledger.settings import (
    MAIL_VARIABLES,
    BadSetting,
    MailNotSetUp,
    MailSettings,
    Paper,
    Settings,
    Tls,
    read_mail_settings,
    read_settings,
)

WANTED = {"WASTELEDGER_SMTP_HOST": "mail.example.org", "WASTELEDGER_SMTP_FROM": "elm@example.org"}


def test_nothing_said_gives_what_readme_promises() -> None:
    assert read_settings({}) == Settings("wasteledger.db", None, None, None, Paper.LETTER)


def test_everything_said_is_taken() -> None:
    said = {
        "WASTELEDGER_LEDGER": "/srv/office.db",
        "WASTELEDGER_SITE": "main",
        "WASTELEDGER_BY": "mara",
        "WASTELEDGER_TEMPLATES": "/srv/templates",
        "WASTELEDGER_PAPER": "A4",
        "HOME": "/root",
    }

    assert read_settings(said) == Settings("/srv/office.db", "main", "mara", Path("/srv/templates"), Paper.A4)


def test_a_blank_is_no_answer() -> None:
    assert read_settings({"WASTELEDGER_SITE": " ", "WASTELEDGER_PAPER": "", "WASTELEDGER_LEDGER": ""}) == Settings()


def test_an_unknown_paper_is_refused_with_those_that_are_known() -> None:
    with pytest.raises(BadSetting, match=r"WASTELEDGER_PAPER is “foolscap”") as refusal:
        read_settings({"WASTELEDGER_PAPER": "foolscap"})

    assert refusal.value.hint == "Set it to letter or a4."


def test_a_password_in_the_ledger_stays_out_of_what_is_logged() -> None:
    settings = read_settings({"WASTELEDGER_LEDGER": "postgresql://office:secret@db/ledger"})

    assert "secret" not in repr(settings)


def test_mail_wants_a_server_and_a_sender() -> None:
    assert read_mail_settings(WANTED) == MailSettings("mail.example.org", "elm@example.org", 587, Tls.STARTTLS)
    for lacking in WANTED:
        with pytest.raises(MailNotSetUp, match=f"{lacking} not set"):
            read_mail_settings(WANTED | {lacking: " "})


def test_every_setting_of_mail_is_taken() -> None:
    said = {
        "WASTELEDGER_SMTP_HOST": " mail.example.org ",
        "WASTELEDGER_SMTP_PORT": "2465",
        "WASTELEDGER_SMTP_USER": "office",
        "WASTELEDGER_SMTP_PASSWORD": " with blanks ",
        "WASTELEDGER_SMTP_FROM": "Elm Street <elm@example.org>",
        "WASTELEDGER_SMTP_TLS": "Implicit",
        "WASTELEDGER_SMTP_CA": "/etc/office/ca.pem",
    }

    assert read_mail_settings(said) == MailSettings(
        "mail.example.org",
        "Elm Street <elm@example.org>",
        2465,
        Tls.IMPLICIT,
        "office",
        " with blanks ",
        Path("/etc/office/ca.pem"),
    )
    assert set(said) == set(MAIL_VARIABLES)


def test_a_wrong_setting_of_mail_stops_nothing_else() -> None:
    assert read_settings({"WASTELEDGER_SMTP_PORT": "many"}) == Settings()


@pytest.mark.parametrize(("tls", "port"), [("starttls", 587), ("implicit", 465)])
def test_each_kind_of_tls_has_its_usual_port(tls: str, port: int) -> None:
    """RFC 6409 3.1: 587; RFC 8314 3.3: 465."""
    assert read_mail_settings(WANTED | {"WASTELEDGER_SMTP_TLS": tls}).port == port


@pytest.mark.parametrize("host", ["localhost", "LOCALHOST", "127.0.0.1", "127.8.8.8", "::1", "[::1]"])
def test_to_this_machine_mail_may_go_without_tls(host: str) -> None:
    found = read_mail_settings(WANTED | {"WASTELEDGER_SMTP_TLS": "none", "WASTELEDGER_SMTP_HOST": host})

    assert (found.tls, found.port, found.host) == (Tls.NONE, 25, host.strip("[]"))


@pytest.mark.parametrize(
    "host",
    ["mail.example.org", "192.0.2.7", "localhost.example.org", "127.0.0.1.example.org", "2001:db8::1", "0.0.0.0"],
)
def test_to_another_machine_no_mail_goes_without_tls(host: str) -> None:
    with pytest.raises(BadSetting, match="WASTELEDGER_SMTP_TLS is “none”"):
        read_mail_settings(WANTED | {"WASTELEDGER_SMTP_TLS": "none", "WASTELEDGER_SMTP_HOST": host})


def test_an_unknown_kind_of_tls_is_refused_with_those_that_are_known() -> None:
    with pytest.raises(BadSetting) as refusal:
        read_mail_settings(WANTED | {"WASTELEDGER_SMTP_TLS": "yes"})

    assert refusal.value.hint == "Set it to starttls, implicit or none."


@pytest.mark.parametrize("port", ["0", "65536", "-1", "25.0", "smtp", "٢٥", "9" * 5000])
def test_a_port_is_a_number_that_ports_have(port: str) -> None:
    with pytest.raises(BadSetting, match="WASTELEDGER_SMTP_PORT"):
        read_mail_settings(WANTED | {"WASTELEDGER_SMTP_PORT": port})


@pytest.mark.parametrize("given", ["USER", "PASSWORD"])
def test_user_and_password_belong_together(given: str) -> None:
    with pytest.raises(MailNotSetUp, match="belong together"):
        read_mail_settings(WANTED | {f"WASTELEDGER_SMTP_{given}": "hunter"})


@pytest.mark.parametrize("password", ["gehört", "two\nlines", "tab\there"])
def test_a_password_that_sign_in_cannot_carry_is_refused_and_not_shown(password: str) -> None:
    said = WANTED | {"WASTELEDGER_SMTP_USER": "office", "WASTELEDGER_SMTP_PASSWORD": password}

    with pytest.raises(MailNotSetUp) as refusal:
        read_mail_settings(said)
    assert password not in f"{refusal.value} {refusal.value.hint} {refusal.value!r}"


def test_a_mail_password_stays_out_of_what_is_logged() -> None:
    said = WANTED | {"WASTELEDGER_SMTP_USER": "office", "WASTELEDGER_SMTP_PASSWORD": "secret"}
    found = read_mail_settings(said)

    assert found.password == "secret"
    assert "secret" not in repr(found)
