"""`remind` from the command line to a real mail server: once a day, whoever runs it and however often."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import timedelta
from threading import Event
from typing import Any

import pytest

from tests.bootstrap import ROOT
from tests.doors.conftest import Answer, Office
from tests.mail_server import PASSWORD, USER, Certificate, Postbox, mail_server, make_certificate
from wasteledger import settings
from wasteledger.clock import now

ODILE, BAO = "odile@example.org", "bao@example.org"


@pytest.fixture(scope="session")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Certificate:
    return make_certificate(tmp_path_factory.mktemp("certificate"))


def journal(office: Office) -> list[Any]:
    """The whole journal, oldest first."""
    return [json.loads(line) for line in office.did("export").said.splitlines()]


@dataclass(slots=True)
class Mailing:
    """An office where something presses, and a mail server that it may use."""

    office: Office
    postbox: Postbox
    environment: dict[str, str] = field(default_factory=dict)

    def remind(self, *arguments: str, to: tuple[str, ...] = (ODILE,)) -> Answer:
        return self.office.run("remind", *(word for one in to for word in ("--to", one)), *arguments)

    def history(self) -> list[Any]:
        """Reminders and corrections in the journal, oldest first."""
        return [one for one in journal(self.office) if one["kind"] in ("reminder_sent", "correction")]


@pytest.fixture
def pressing(office: Office) -> Office:
    """A malfunction found four weeks ago is overdue: ten business days (40 CFR 441.30(a)(1)(v))."""
    office.did("separator", "inspect", "SEP", "--result", "malfunction")
    office.watch.wait(days=28)
    return office


@pytest.fixture
def mailing(pressing: Office, certificate: Certificate, monkeypatch: pytest.MonkeyPatch) -> Iterator[Mailing]:
    postbox = Postbox()
    with mail_server(postbox, certificate, signs_in=True) as port:
        made = Mailing(pressing, postbox, mail_environment(port, certificate))
        for name, value in made.environment.items():
            monkeypatch.setenv(name, value)
        yield made


def mail_environment(port: int, certificate: Certificate) -> dict[str, str]:
    return {
        settings.SMTP_HOST: "localhost",
        settings.SMTP_PORT: str(port),
        settings.SMTP_FROM: "Elm Street <elm@example.org>",
        settings.SMTP_USER: USER,
        settings.SMTP_PASSWORD: PASSWORD,
        settings.SMTP_CA: str(certificate.chain),
    }


# -- once a day --------------------------------------------------------------------------------------------------------


def test_what_presses_is_told(mailing: Mailing) -> None:
    answer = mailing.remind()

    assert (answer.status, answer.complained) == (0, "")
    assert mailing.postbox.told == [ODILE]
    got = mailing.postbox.read()
    assert "1 overdue" in got["Subject"]
    assert "441.30(a)(1)(v)" in got.get_content()
    assert "The local\nauthority decides." in got.get_content().replace("\r\n", "\n")
    (entry,) = mailing.history()
    assert entry["body"] == {
        "to": ODILE,
        "on": "2026-03-30",
        "pressing": entry["body"]["pressing"],
        "digest": entry["body"]["digest"],
    }
    assert f"Entry {entry['seq']}: Sent to {ODILE}" in answer.said


def test_nobody_is_told_twice_on_a_day(mailing: Mailing) -> None:
    mailing.remind()
    mailing.office.watch.wait(hours=3)
    answer = mailing.remind(to=(ODILE.upper(), BAO))

    assert answer.status == 0
    assert mailing.postbox.told == [ODILE, BAO]
    assert f"{ODILE.upper()} was told today, entry" in answer.said
    assert len(mailing.history()) == 2


def test_the_next_day_is_another(mailing: Mailing) -> None:
    mailing.remind()
    mailing.office.watch.wait(days=1)
    mailing.remind()

    assert [entry["body"]["on"] for entry in mailing.history()] == ["2026-03-30", "2026-03-31"]
    assert mailing.postbox.told == [ODILE, ODILE]


def test_the_day_is_the_local_one(mailing: Mailing) -> None:
    """Monday at eleven in the evening in Chicago is Tuesday in UTC, and still Monday's reminder."""
    mailing.remind()
    mailing.office.watch.now = mailing.office.watch.now.replace(hour=0) + timedelta(days=1, hours=4)
    answer = mailing.remind()

    assert "was told today" in answer.said
    assert mailing.postbox.told == [ODILE]


def test_again_sends_again(mailing: Mailing) -> None:
    mailing.remind()
    answer = mailing.remind("--again")

    assert answer.status == 0
    assert mailing.postbox.told == [ODILE, ODILE]
    names = [mailing.postbox.read(number)["Message-ID"] for number in (0, 1)]
    assert len(set(names)) == 2


def test_an_address_given_twice_is_told_once(mailing: Mailing) -> None:
    mailing.remind(to=(ODILE, f" {ODILE} ", "Odile@Example.org"))

    assert mailing.postbox.told == ["Odile@Example.org"]


def test_where_all_were_told_no_server_is_asked(mailing: Mailing, monkeypatch: pytest.MonkeyPatch) -> None:
    mailing.remind()
    monkeypatch.setenv(settings.SMTP_HOST, "nowhere.invalid")

    assert mailing.remind().status == 0


def test_nothing_pressing_is_not_told(
    office: Office, certificate: Certificate, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, value in mail_environment(1, certificate).items():
        monkeypatch.setenv(name, value)
    before = journal(office)

    answer = office.run("remind", "--to", ODILE)
    assert (answer.status, answer.said) == (0, "Nothing presses; nobody was told.\n")
    assert journal(office) == before


# -- what goes wrong ---------------------------------------------------------------------------------------------------


def test_a_server_that_is_down_is_exit_four_and_the_next_run_sends(
    mailing: Mailing, certificate: Certificate, monkeypatch: pytest.MonkeyPatch
) -> None:
    with mail_server(Postbox()) as free_port:
        pass
    monkeypatch.setenv(settings.SMTP_PORT, str(free_port))
    answer = mailing.remind()
    assert answer.status == 4
    assert f"Mail server localhost port {free_port} cannot be reached" in answer.complained
    assert mailing.history() == []

    monkeypatch.setenv(settings.SMTP_PORT, mailing.environment[settings.SMTP_PORT])
    assert mailing.remind().status == 0
    assert mailing.postbox.told == [ODILE]


def test_a_refused_recipient_is_exit_three_and_the_others_are_told(mailing: Mailing) -> None:
    mailing.postbox.refuses.add("gone@example.org")
    answer = mailing.remind(to=("gone@example.org", ODILE))

    assert answer.status == 3
    assert "does not take mail to gone@example.org: 550" in answer.complained
    assert mailing.postbox.told == [ODILE]
    claimed, void, sent = mailing.history()
    assert (claimed["body"]["to"], void["body"]["corrects"], sent["body"]["to"]) == (
        "gone@example.org",
        claimed["seq"],
        ODILE,
    )
    assert void["body"]["reason"].startswith("Not sent: Mail server localhost")

    mailing.postbox.refuses.clear()
    again = mailing.remind(to=("gone@example.org", ODILE))
    assert again.status == 0
    assert mailing.postbox.told == [ODILE, "gone@example.org"]


@pytest.mark.parametrize(("answered", "status"), [("451 Later", 3), ("554 Never", 3), ("421 Closing", 4)])
def test_a_mail_that_is_not_taken_is_sent_by_the_next_run(mailing: Mailing, answered: str, status: int) -> None:
    took, mailing.postbox.answer = mailing.postbox.answer, answered
    assert mailing.remind().status == status
    assert [entry["kind"] for entry in mailing.history()] == ["reminder_sent", "correction"]

    mailing.postbox.answer = took
    assert mailing.remind().status == 0
    assert mailing.postbox.told == [ODILE]
    assert mailing.office.did("verify").status == 0


def test_a_server_that_hangs_up_leaves_the_rest_untouched(mailing: Mailing) -> None:
    mailing.postbox.hangs_up = True
    answer = mailing.remind("--json", to=(ODILE, BAO))

    assert answer.status == 4
    assert [(one["to"], one["outcome"]) for one in answer.json()["told"]] == [
        (ODILE, "not_reached"),
        (BAO, "not_reached"),
    ]
    assert [entry["body"].get("to") for entry in mailing.history()] == [ODILE, None]


def test_a_mail_that_may_have_been_taken_comes_again_under_the_same_name(mailing: Mailing) -> None:
    """Rather twice than not at all; RFC 5322 3.6.4: by its Message-ID a second copy is known as such."""
    mailing.postbox.hangs_up = True
    assert mailing.remind().status == 4
    mailing.postbox.hangs_up = False
    assert mailing.remind().status == 0

    first, second = (mailing.postbox.read(number)["Message-ID"] for number in (0, 1))
    assert first == second


def test_a_wrong_certificate_is_refused_before_anything_is_said(
    mailing: Mailing, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv(settings.SMTP_CA)
    answer = mailing.remind()

    assert answer.status == 3
    assert "does not show a certificate that is trusted" in answer.complained
    assert (mailing.postbox.sign_ins, mailing.history()) == ([], [])


def test_a_wrong_password_is_refused_and_shown_nowhere(mailing: Mailing, monkeypatch: pytest.MonkeyPatch) -> None:
    mailing.postbox.echoes = True
    monkeypatch.setenv(settings.SMTP_PASSWORD, "hunter of traps")
    answer = mailing.remind()

    assert answer.status == 3
    assert "does not let office@example.org sign in" in answer.complained
    assert "hunter" not in answer.said + answer.complained
    assert mailing.history() == []


def test_an_interruption_lets_the_next_run_send(mailing: Mailing, monkeypatch: pytest.MonkeyPatch) -> None:
    from wasteledger.exchange.mail import Post

    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(Post, "send", interrupted)
        assert mailing.remind().status == 130
    claimed, void = mailing.history()
    assert void["body"]["corrects"] == claimed["seq"]
    assert void["body"]["reason"] == "Not sent: stopped by KeyboardInterrupt."
    assert mailing.remind().status == 0
    assert mailing.postbox.told == [ODILE]


def test_a_claim_that_cannot_be_made_void_is_told(mailing: Mailing, monkeypatch: pytest.MonkeyPatch) -> None:
    from wasteledger.errors import StoreNotReachable
    from wasteledger.exchange import reminding

    def failing(*_: object) -> None:
        raise StoreNotReachable("The file is locked.")

    monkeypatch.setattr(reminding, "give_up", failing)
    mailing.postbox.answer = "554 Never"
    answer = mailing.remind()

    (claimed,) = mailing.history()
    assert answer.status == 3
    assert f"entry {claimed['seq']} says that it did" in answer.complained
    assert f"wasteledger correct {claimed['seq']}" in answer.complained


# -- two at once -------------------------------------------------------------------------------------------------------


def test_two_programs_at_once_send_one_mail(mailing: Mailing) -> None:
    """While the server still thinks about the first one's mail, a second program finds the claim and leaves it."""
    mailing.postbox.hold = Event()
    _live_now(mailing.office)
    with _started(mailing, ODILE) as first:
        assert mailing.postbox.asked.wait(30)
        with _started(mailing, ODILE) as second:
            said, complained = second.communicate(timeout=60)
        assert (second.returncode, complained) == (0, "")
        assert f"{ODILE} was told today" in said
        # Nobody waits for the mail: it is sent outside any transaction.
        with _program(mailing, "remark", "Called the carrier.") as third:
            assert third.wait(timeout=60) == 0
        mailing.postbox.hold.set()
        said, complained = first.communicate(timeout=60)
    assert (first.returncode, complained) == (0, "")
    assert "Sent to" in said
    assert mailing.postbox.told == [ODILE]


@pytest.mark.parametrize("ending", ["SIGTERM", "SIGHUP"])
def test_a_program_that_is_ended_in_the_middle_lets_the_next_one_send(mailing: Mailing, ending: str) -> None:
    """As a machine that shuts down ends it, or a terminal that closes."""
    mailing.postbox.hold = Event()
    _live_now(mailing.office)
    with _started(mailing, ODILE) as first:
        assert mailing.postbox.asked.wait(30)
        first.send_signal(getattr(signal, ending))
        first.communicate(timeout=60)
    assert first.returncode == 128 + getattr(signal, ending)
    claimed, void = mailing.history()
    assert void["body"]["corrects"] == claimed["seq"]
    assert void["body"]["reason"] == "Not sent: stopped by Terminated."

    mailing.postbox.hold.set()
    with _started(mailing, ODILE) as second:
        said, complained = second.communicate(timeout=60)
    assert (second.returncode, complained) == (0, "")
    assert "Sent to" in said


def test_many_programs_at_once_send_one_mail_to_each(mailing: Mailing) -> None:
    _live_now(mailing.office)
    running = [_started(mailing, ODILE, BAO) for _ in range(4)]
    for one in running:
        with one:
            one.communicate(timeout=120)

    assert [one.returncode for one in running] == [0, 0, 0, 0]
    assert sorted(mailing.postbox.told) == [BAO, ODILE]


def _live_now(office: Office) -> None:
    """Programs of their own live by the machine's clock, to which the practice's must not run ahead."""
    assert office.watch.now < now()


def _started(mailing: Mailing, *to: str) -> subprocess.Popen[str]:
    return _program(mailing, "remind", *(word for one in to for word in ("--to", one)))


def _program(mailing: Mailing, *arguments: str) -> subprocess.Popen[str]:
    office = mailing.office
    environment = {settings.LEDGER: str(office.ledger), settings.BY: office.by, "PYTHONPATH": str(ROOT)}
    return subprocess.Popen(
        [sys.executable, "-m", "wasteledger", *arguments],
        env=os.environ | mailing.environment | environment,
        cwd=office.folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
    )


# -- what is typed -----------------------------------------------------------------------------------------------------


def test_show_sends_and_writes_nothing_and_needs_no_server(pressing: Office) -> None:
    before = journal(pressing)
    answer = pressing.did("remind", "--show")

    assert answer.said.startswith("Subject: ")
    assert "Overdue:" in answer.said
    assert journal(pressing) == before
    as_json = pressing.did("remind", "--show", "--json").json()
    assert as_json["subject"] == answer.said.splitlines()[0].removeprefix("Subject: ")
    assert as_json["pressing"] >= 1


def test_json_says_what_became_of_each(mailing: Mailing) -> None:
    mailing.postbox.refuses.add(BAO)
    answer = mailing.remind("--json", to=(ODILE, BAO))

    assert answer.status == 3
    sent, refused = answer.json()["told"]
    assert (sent["to"], sent["outcome"], sent["why"]) == (ODILE, "sent", None)
    assert (refused["to"], refused["outcome"]) == (BAO, "refused")
    assert "550" in refused["why"]
    assert answer.json()["digest"]["digest"] == mailing.history()[0]["body"]["digest"]


@pytest.mark.parametrize(
    "to",
    ["odile", "odile@example.org, bao@example.org", "odile@example.org\nBcc: all@example.org", "Odile <o@example.org>"],
)
def test_what_is_no_address_is_not_understood(mailing: Mailing, to: str) -> None:
    answer = mailing.remind(to=(ODILE, to))

    assert answer.status == 2
    assert "is not a mail address" in answer.complained
    assert (mailing.postbox.told, mailing.history()) == ([], [])


def test_a_sender_that_is_no_address_is_found_before_anything_is_written(
    mailing: Mailing, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(settings.SMTP_FROM, "elm")
    answer = mailing.remind()

    assert answer.status == 2
    assert settings.SMTP_FROM in answer.complained
    assert mailing.history() == []


def test_without_settings_it_says_which_are_wanted(pressing: Office) -> None:
    answer = pressing.run("remind", "--to", ODILE)

    assert answer.status == 2
    assert settings.SMTP_HOST in answer.complained
    assert settings.SMTP_FROM in answer.complained


@pytest.mark.parametrize("arguments", [(), ("--to", ODILE, "--at", "08:00"), ("--to", ODILE, "--key", "a-key")])
def test_what_makes_no_sense_is_not_understood(pressing: Office, arguments: tuple[str, ...]) -> None:
    assert pressing.run("remind", *arguments).status == 2


def test_only_the_office_tells_people(mailing: Mailing) -> None:
    answer = mailing.office.run("remind", "--to", ODILE, by="ann")

    assert answer.status == 3
    assert (mailing.postbox.told, mailing.history()) == ([], [])


def test_a_note_stands_in_the_entry(mailing: Mailing) -> None:
    mailing.remind("--note", "From the nightly run.")

    assert mailing.history()[0]["body"]["note"] == "From the nightly run."
