"""`woold serve`: the workbench in the browser."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated
from urllib.parse import urlsplit

import typer

from woold.cli.option_groups import grouped_options
from woold.cli.output import new_app
from woold.errors import InputError
from woold.words import say

if TYPE_CHECKING:
    from socket import socket

    from fastapi import FastAPI

    from woold.web.settings import WebSettings

__all__ = ["app"]

app = new_app()

_MOST_CONNECTIONS = 900
"""A process may hold 1,024 files open where nobody allowed it more."""


@dataclass(frozen=True)
class _Secrets:
    """What https needs: both or neither."""

    certificate: Annotated[
        str | None, typer.Option("--certificate", metavar="FILE", help="TLS certificate (PEM).")
    ] = None
    key: Annotated[
        str | None, typer.Option("--key", metavar="FILE", help="The certificate's key (PEM).")
    ] = None

    def checked(self) -> None:
        """Nothing, where they can be used.

        Raises:
            InputError: one without the other, or files that do not belong together.
        """
        if self.certificate is None and self.key is None:
            return
        if self.certificate is None or self.key is None:
            raise InputError.one(
                "--certificate",
                say("one of two"),
                say("--certificate and --key together"),
                say("Give both, or leave both out."),
            )
        import ssl

        try:
            ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(self.certificate, self.key)
        except (OSError, ssl.SSLError) as error:
            raise InputError.one(
                "--certificate, --key",
                f"{self.certificate}, {self.key} ({error.strerror or error})",
                say("a certificate and the key that belongs to it, both PEM"),
                say("docs/server.md has a recipe."),
            ) from None


@dataclass(frozen=True)
class _Watching:
    """For whoever runs the server."""

    backup: Annotated[
        str | None,
        typer.Option("--backup", metavar="FOLDER", help="Copy the store there every night."),
    ] = None
    metrics_token: Annotated[
        str | None,
        typer.Option(
            "--metrics-token",
            metavar="FILE",
            help="Whoever sends its first line reads /metrics.",
        ),
    ] = None
    logs: Annotated[
        bool, typer.Option("--log", help="Write a line of JSON for each request, without names.")
    ] = False

    def token(self) -> str:
        """The token of the numbers; "" where none is asked for.

        Raises:
            InputError: no such file, or too short a token to be one.
        """
        if self.metrics_token is None:
            return ""
        try:
            with open(self.metrics_token, encoding="utf-8") as stream:
                token = stream.readline().strip()
        except (OSError, UnicodeDecodeError) as error:
            token, reason = "", str(error)
        else:
            reason = say("{count} letters", count=len(token))
        if len(token) < 16:
            raise InputError.one(
                "--metrics-token",
                f"{self.metrics_token} ({reason})",
                say("a text file with a token of 16 letters or more"),
                say("Write the token into a file that the server may read."),
            )
        return token


@app.command()
@grouped_options
def serve(
    secrets: _Secrets,
    watching: _Watching,
    host: Annotated[
        str, typer.Option("--host", help="Address to listen on; this computer alone if left out.")
    ] = "127.0.0.1",
    port: Annotated[
        int, typer.Option("--port", min=0, max=65535, help="0 takes a free one.")
    ] = 8117,
    store: Annotated[
        str | None, typer.Option("--store", metavar="URL", help="Database URL or file of records.")
    ] = None,
    address: Annotated[
        str | None,
        typer.Option(
            "--address", metavar="URL", help="What people type, where a proxy stands in front."
        ),
    ] = None,
) -> None:
    """Serve the workbench to browsers; for this computer alone unless --host says otherwise."""
    from woold.web.app import create_app

    secrets.checked()
    settings = _settings(host, store, address, secrets.certificate is not None)
    settings = replace(
        settings, backup=watching.backup, metrics_token=watching.token(), logs=watching.logs
    )
    _log_plainly()
    app = create_app(settings)
    listener = _listener(host, port)
    with listener:
        _tell(app, host, listener.getsockname()[1], secrets)
        _run(app, listener, secrets)


def _settings(host: str, store: str | None, address: str | None, is_tls: bool) -> WebSettings:
    from woold.web.settings import LOOPBACK, WebSettings, is_loopback

    # Behind a proxy everybody seems to come from this computer, so everybody must sign in.
    alone = is_loopback(host) and address is None
    public = urlsplit(address or "")
    if address is not None and (public.scheme not in ("http", "https") or not public.hostname):
        allowed = say('an address such as "https://woold.plant.example"')
        raise InputError.one("--address", address, allowed, say("Write all of it."))
    return WebSettings(
        store=store,
        sign_in=not alone,
        hosts=LOOPBACK if alone else (public.hostname,) if public.hostname else (),
        is_tls=is_tls or public.scheme == "https",
    )


def _listener(host: str, port: int) -> socket:
    import socket as sockets

    try:
        family = sockets.AF_INET6 if ":" in host else sockets.AF_INET
        return sockets.create_server((host, port), family=family)
    except OSError as error:
        raise InputError.one(
            "--host, --port",
            f"{host} {port} ({error.strerror})",
            say("an address of this computer and a free port"),
            say("Choose another port."),
        ) from None


def _tell(app: FastAPI, host: str, port: int, secrets: _Secrets) -> None:
    """Where it is, and what whoever set it up should know."""
    settings: WebSettings = app.state.settings
    shown = f"[{host}]" if ":" in host else host
    address = f"{'https' if secrets.certificate else 'http'}://{shown}:{port}/"
    print(say("woold is at {address}", address=address), flush=True)
    if not settings.sign_in:
        return
    if not app.state.accounts.all():
        command = "woold account set NAME --role manage"
        print(say("Nobody may sign in yet: {command}", command=command), flush=True)
    if not settings.is_tls:
        print(
            say(
                "Passwords and records travel unencrypted over plain http, and phones cannot keep"
                " records while out of reach. docs/server.md says how to serve https."
            ),
            flush=True,
        )


def _log_plainly() -> None:
    """Lines of requests as they are; whatever else is logged, as a line of JSON too."""
    import logging
    import sys

    from woold.web.measured import JsonLines

    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(JsonLines())
    logging.getLogger("woold").addHandler(handler)
    logging.getLogger("woold").setLevel(logging.INFO)


def _run(app: FastAPI, listener: socket, secrets: _Secrets) -> None:
    import uvicorn

    from woold.web.slow import PatientProtocol

    config = uvicorn.Config(
        app,
        log_level="warning",
        ssl_certfile=secrets.certificate,
        ssl_keyfile=secrets.key,
        server_header=False,
        http=PatientProtocol,
        limit_concurrency=_MOST_CONNECTIONS,
        timeout_graceful_shutdown=3,
    )
    uvicorn.Server(config).run(sockets=[listener])
