"""Starts the web pages, for this machine only unless told otherwise."""

from __future__ import annotations

import ipaddress
import socket
import threading
from dataclasses import dataclass
from pathlib import Path

from checker.errors import CheckerError

HOST = "127.0.0.1"
OWN_NAMES = [HOST, "localhost", "::1"]
APP = Path(__file__).with_name("app.py")
MOST_MEGABYTES = 40  # of one uploaded file
KEPT_SECONDS = 10  # after a browser went away, until its session and uploads are forgotten


@dataclass(frozen=True)
class Serving:
    """What is served and where.

    ``password`` is the hash of the one that opens the pages; ``store`` the record of the stacks.
    """

    port: int = 8501
    host: str = HOST
    student_only: bool = False
    password: str | None = None
    store: Path | None = None


_serving = Serving()


def serving() -> Serving:
    """What this process serves, for the pages that run in it."""
    return _serving


def serve(wanted: Serving) -> None:
    """Serve until interrupted; CheckerError when the port is taken, or without a password where
    other machines could open the pages."""
    global _serving
    _check_protected(wanted)
    _check_free(wanted)
    # Importing Streamlit takes a while, so say first where the page will be.
    where = "on this machine" if is_loopback(wanted.host) else "for whoever knows the password"
    print(f"checker is at http://{_written(wanted.host)}:{wanted.port} {where}; Ctrl-C ends it.",
          flush=True)  # fmt: skip
    from streamlit.web import bootstrap

    from checker.desk.upload_answers import keep_answers

    keep_answers()
    _serving = wanted
    threading.Thread(target=_warm_up, daemon=True).start()
    options = _options(wanted)
    bootstrap.load_config_options(options)
    bootstrap.run(str(APP), False, [], options)


def is_loopback(host: str) -> bool:
    """Whether only this machine reaches what listens at ``host``."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def _check_protected(wanted: Serving) -> None:
    if wanted.password is None and not is_loopback(wanted.host):
        raise CheckerError(
            f"{wanted.host} can be reached from other machines, so the desk needs a password; "
            "set one with --password-file or leave --host out."
        )


def _check_free(wanted: Serving) -> None:
    try:
        family, kind, protocol, _name, place = socket.getaddrinfo(
            wanted.host, wanted.port, type=socket.SOCK_STREAM
        )[0]
    except (OSError, UnicodeError):
        raise CheckerError(
            f'"{wanted.host}" is no address of this machine; give one such as {HOST} with --host.'
        ) from None
    with socket.socket(family, kind, protocol) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(place)
        except OSError as error:
            raise CheckerError(
                f"Port {wanted.port} of {wanted.host} cannot be used ({error.strerror}); "
                "choose another with --port."
            ) from None


def _written(host: str) -> str:
    return f"[{host}]" if ":" in host else host


def _warm_up() -> None:
    """Import what the pages need, so that the first visitor does not wait for it."""
    import checker.desk.student_page
    import checker.matching.judge
    import checker.problem.reduction
    import checker.reading.read_page  # noqa: F401


def _options(wanted: Serving) -> dict[str, object]:
    return {
        "server_address": wanted.host,
        "server_port": wanted.port,
        "server_headless": True,
        "server_fileWatcherType": "none",
        # Else a page elsewhere could reach this one through a name that it makes mean 127.0.0.1.
        "server_allowedHosts": OWN_NAMES if is_loopback(wanted.host) else [],
        "server_maxUploadSize": MOST_MEGABYTES,
        "server_disconnectedSessionTTL": KEPT_SECONDS,
        "browser_gatherUsageStats": False,
        "client_toolbarMode": "minimal",
        "client_showErrorDetails": "none",
        "logger_hideWelcomeMessage": True,
        "theme_base": "light",
        "theme_primaryColor": "#2f4b9b",
        "theme_backgroundColor": "#ffffff",
        "theme_secondaryBackgroundColor": "#f4f2ec",
        "theme_textColor": "#20262d",
    }
