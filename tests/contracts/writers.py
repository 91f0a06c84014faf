"""What runs in another process: writers that append as fast as they can, and say what was committed."""

from __future__ import annotations

import itertools
import multiprocessing
import os
from datetime import timedelta
from multiprocessing.connection import Connection
from multiprocessing.context import BaseContext

from tests.makers import KIM, MONDAY_MORNING, SITE, Watch, a_deposit
from wasteledger.ledger.ledger import Ledger


def a_process_context() -> BaseContext:
    """How other processes are made: from a server that has loaded the program once, where the system has that."""
    if os.name == "nt":
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["tests.contracts.writers"])
    return context


def append_until_killed(location: str, name: str, said: Connection) -> None:
    """Append deposits for ever; send the number and the digest of each one after its transaction was committed."""
    with Ledger.open(location, clock=Watch(MONDAY_MORNING + timedelta(days=1))) as ledger:
        for number in itertools.count():
            with ledger.writing(SITE, KIM) as desk:
                entry = desk.append(a_deposit(), key=f"{name}-{number}").entry
            said.send_bytes(f"{entry.seq}:{entry.digest}\n".encode())


def append_some(location: str, name: str, count: int) -> None:
    """Append *count* deposits, each in a transaction of its own."""
    with Ledger.open(location, clock=Watch(MONDAY_MORNING + timedelta(days=1))) as ledger:
        for number in range(count):
            with ledger.writing(SITE, KIM) as desk:
                desk.append(a_deposit(), key=f"{name}-{number}")
