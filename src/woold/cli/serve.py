"""`woold serve`: the workbench in the browser."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import urlsplit

import typer

from woold.cli.output import new_app
from woold.errors import InputError
from woold.words import say

__all__ = ["app"]

app = new_app()


@app.command()
def serve(
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
    certificate: Annotated[
        str | None, typer.Option("--certificate", metavar="FILE", help="TLS certificate (PEM).")
    ] = None,
    key: Annotated[
        str | None, typer.Option("--key", metavar="FILE", help="The certificate's key (PEM).")
    ] = None,
) -> None:
    """Serve the workbench to browsers; for this computer alone unless --host says otherwise."""
    import socket
    import ssl
    import threading

    import uvicorn

    from woold.web.app import create_app
    from woold.web.settings import LOOPBACK, WebSettings, is_loopback

    if (certificate is None) != (key is None):
        raise InputError.one(
            "--certificate", say("one of two"), say("--certificate and --key together"), ""
        )
    if certificate is not None and key is not None:
        try:
            ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(certificate, key)
        except (OSError, ssl.SSLError) as error:
            raise InputError.one(
                "--certificate, --key",
                f"{certificate}, {key} ({error.strerror or error})",
                say("a certificate and the key that belongs to it, both PEM"),
                say("docs/server.md has a recipe."),
            ) from None
    # Behind a proxy everybody seems to come from this computer, so everybody must sign in.
    alone = is_loopback(host) and address is None
    public = urlsplit(address or "")
    if address is not None and (public.scheme not in ("http", "https") or not public.hostname):
        allowed = 'an address such as "https://woold.plant.example"'
        raise InputError.one("--address", address, allowed, say("Write all of it."))
    app = create_app(
        WebSettings(
            store=store,
            sign_in=not alone,
            hosts=LOOPBACK if alone else (public.hostname,) if public.hostname else (),
            is_tls=certificate is not None or public.scheme == "https",
        )
    )
    try:
        family = socket.AF_INET6 if ":" in host else socket.AF_INET
        listener = socket.create_server((host, port), family=family)
    except OSError as error:
        raise InputError.one(
            "--host, --port",
            f"{host} {port} ({error.strerror})",
            say("an address of this computer and a free port"),
            say("Choose another port."),
        ) from None
    # The first prediction loads compiled code: done while the browser still opens.
    threading.Thread(target=_warm_up, daemon=True).start()
    with listener:
        shown = f"[{host}]" if ":" in host else host
        scheme = "https" if certificate else "http"
        print(f"woold is at {scheme}://{shown}:{listener.getsockname()[1]}/", flush=True)
        if not alone and not app.state.accounts.all():
            print("Nobody may sign in yet: woold account set NAME --role manage", flush=True)
        if not alone and not app.state.settings.is_tls:
            print(
                "Passwords and records travel unencrypted over plain http, and phones cannot keep"
                " records while out of reach. docs/server.md says how to serve https.",
                flush=True,
            )
        config = uvicorn.Config(
            app,
            log_level="warning",
            ssl_certfile=certificate,
            ssl_keyfile=key,
            server_header=False,
            timeout_graceful_shutdown=3,
        )
        uvicorn.Server(config).run(sockets=[listener])


def _warm_up() -> None:
    import tomllib

    from woold.case.file import case_from_table, starter_text
    from woold.prediction.predict import predict

    predict(case_from_table(tomllib.loads(starter_text())))
