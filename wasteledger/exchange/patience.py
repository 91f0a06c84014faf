"""A mail client that waits no longer than so long for an answer, however slowly or endlessly it comes.

The time limit of a socket is one for each piece that arrives; a server that sends a byte now and then, or lines
without end, would hold a program for ever.
"""

from __future__ import annotations

import smtplib
import socket
from contextlib import suppress
from threading import Timer
from typing import Any

LONGEST_S = 120
"""So long one step may take, such as the sign-in or one letter: own convention."""


class PatientSmtp(smtplib.SMTP):
    """An SMTP client whose every step is cut off after `LONGEST_S`."""

    def __init__(self, *arguments: Any, **options: Any) -> None:
        self._limit: Timer | None = None
        self._ran_out = False
        self.begin_step()
        try:
            super().__init__(*arguments, **options)
        except BaseException:
            self.close()
            raise

    def begin_step(self) -> None:
        """Count anew from here."""
        self.end_step()
        self._limit = Timer(LONGEST_S, self._cut_off)
        self._limit.daemon = True
        self._limit.start()

    def end_step(self) -> None:
        """Count no more."""
        if self._limit is not None:
            self._limit.cancel()

    def getreply(self) -> tuple[int, bytes]:
        """The next answer.

        Raises:
            TimeoutError: It did not end in time.
        """
        too_late = f"no whole answer came within {LONGEST_S} seconds"
        try:
            answer = super().getreply()
        except OSError as error:
            if self._ran_out:
                raise TimeoutError(too_late) from error
            raise
        # What came of a line before it was cut off is no answer, though it may read like one.
        if self._ran_out:
            raise TimeoutError(too_late)
        return answer

    def close(self) -> None:
        """Leave the connection."""
        self.end_step()
        super().close()

    def _cut_off(self) -> None:
        self._ran_out = True
        sock = getattr(self, "sock", None)
        if sock is not None:
            # From another thread: whoever waits on it wakes, and the layer of TLS above is left alone.
            with suppress(OSError):
                socket.socket.shutdown(sock, socket.SHUT_RDWR)


class PatientTlsSmtp(PatientSmtp, smtplib.SMTP_SSL):
    """The same, with TLS from the first byte."""
