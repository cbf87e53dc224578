"""The password of the desk: kept as an Argon2id hash, compared in constant time, rate-limited.

python -m checker.desk.password FILE     # asks for a password, writes its hash to FILE
"""

from __future__ import annotations

import getpass
import os
import sys
import threading
import time
from collections import deque
from collections.abc import Callable
from pathlib import Path

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from checker.errors import CheckerError

SHORTEST = 8  # characters; NIST SP 800-63B, section 5.1.1.2
LONGEST = 1024  # bytes, which bounds the work of one attempt
_HASHER = PasswordHasher()  # argon2-cffi's defaults: Argon2id, second profile of RFC 9106


class Attempts:
    """At most ``most`` wrong passwords in ``seconds``, all sessions together.

    NIST SP 800-63B, section 5.2.2, asks for a limit on failed attempts.
    """

    def __init__(
        self, most: int = 5, seconds: float = 60.0, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._most, self._seconds, self._clock = most, seconds, clock
        self._wrong: deque[float] = deque()
        self._lock = threading.Lock()

    def check(self, stored: str, password: str) -> bool:
        """Whether the password is right; CheckerError after too many wrong ones."""
        with self._lock:  # one at a time, so that attempts side by side are counted too
            now = self._clock()
            while self._wrong and now - self._wrong[0] >= self._seconds:
                self._wrong.popleft()
            if len(self._wrong) >= self._most:
                raise CheckerError("Too many wrong passwords; wait a minute, then try again.")
            right = matches(stored, password)
            if not right:
                self._wrong.append(now)
            return right


def hashed(password: str) -> str:
    """What to keep of a password; CheckerError if it is too short or too long."""
    if len(password) < SHORTEST or len(password.encode()) > LONGEST:
        raise CheckerError(
            f"The password has too few or too many characters; choose {SHORTEST} to {LONGEST}."
        )
    return _HASHER.hash(password)


def matches(stored: str, password: str) -> bool:
    """Whether ``stored`` is the hash of ``password``; argon2 compares in constant time."""
    if len(password.encode(errors="replace")) > LONGEST:
        return False
    try:
        return _HASHER.verify(stored, password)
    except (VerificationError, InvalidHashError, UnicodeError):
        return False


def stored_hash(path: Path) -> str:
    """The hash in a password file; CheckerError if there is none in it."""
    try:
        text = path.read_text(encoding="ascii").strip()
        _HASHER.check_needs_rehash(text)
    except OSError as error:
        raise CheckerError(
            f"The password file {path} cannot be read ({error.strerror}); check the path."
        ) from None
    except (InvalidHashError, UnicodeError):
        raise CheckerError(
            f"{path} holds no hash of a password; "
            f"make it with: python -m checker.desk.password {path}"
        ) from None
    return text


def ask(stored: str) -> None:
    """Ask this session for the password and stop the page until it was given."""
    import streamlit as st

    if st.session_state.get("password_given"):
        return
    st.title("checker", anchor=False)
    with st.form("password", border=False):
        password = st.text_input("Password", type="password")
        sent = st.form_submit_button("Open")
    if sent:
        try:
            if _attempts.check(stored, password):
                st.session_state["password_given"] = True
                st.rerun()
            st.error("This is not the password; try again.")
        except CheckerError as error:
            st.error(str(error))
    st.stop()


_attempts = Attempts()


def main(arguments: list[str]) -> int:
    """Write the hash of a password that is typed twice; the file is for its owner alone."""
    if len(arguments) != 1:
        print("Name the file to write: python -m checker.desk.password FILE", file=sys.stderr)
        return 2
    try:
        password = getpass.getpass("Password: ")
        if getpass.getpass("Once more: ") != password:
            raise CheckerError("The two are not the same; start again.")
        text = hashed(password)
        handle = os.open(arguments[0], os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(text + "\n")
    except CheckerError as error:
        print(f"checker: {error}", file=sys.stderr)
        return 2
    except OSError as error:
        print(f"checker: {arguments[0]} cannot be written ({error.strerror}).", file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
