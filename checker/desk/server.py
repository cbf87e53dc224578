"""Starts the web page on this machine, for this machine only."""

from __future__ import annotations

import socket
from pathlib import Path

from checker.errors import CheckerError

HOST = "127.0.0.1"
PAGE = Path(__file__).with_name("check_page.py")
MOST_MEGABYTES = 40


def serve(port: int) -> None:
    """Serve until interrupted; CheckerError when the port is taken."""
    _check_free(port)
    # Importing Streamlit takes a while, so say first where the page will be.
    print(f"checker is at http://{HOST}:{port} on this machine; Ctrl-C ends it.", flush=True)
    from streamlit.web import bootstrap

    options = _options(port)
    bootstrap.load_config_options(options)
    bootstrap.run(str(PAGE), False, [], options)


def _check_free(port: int) -> None:
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HOST, port))
        except OSError as error:
            raise CheckerError(
                f"Port {port} cannot be used ({error.strerror}); choose another with --port."
            ) from None


def _options(port: int) -> dict[str, object]:
    return {
        "server_address": HOST,
        "server_port": port,
        "server_headless": True,
        "server_fileWatcherType": "none",
        "server_maxUploadSize": MOST_MEGABYTES,
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
