"""`woold account`: who may sign in to the server."""

from __future__ import annotations

import getpass
import sys
from pathlib import Path
from typing import Annotated

import typer

from woold.cli.blocks import print_blocks
from woold.cli.output import JsonFlag, console, new_app, print_json
from woold.errors import InputError
from woold.rows.blocks import Table
from woold.words import say

__all__ = ["app"]

app = new_app("Who may sign in to woold serve, and what they may do there.")

StoreUrl = Annotated[
    str | None, typer.Option("--store", metavar="URL", help="Database URL or file of records.")
]
Name = Annotated[str, typer.Argument(metavar="NAME", help="The name that somebody signs in with.")]


@app.command("set")
def set_account(
    name: Name,
    role: Annotated[
        str, typer.Option("--role", help="view, record or manage; each includes the ones before.")
    ] = "record",
    password_file: Annotated[
        str | None,
        typer.Option("--password-file", metavar="FILE", help="Read the password from FILE."),
    ] = None,
    store: StoreUrl = None,
    as_json: JsonFlag = False,
) -> None:
    """Let somebody sign in, or change their role and password."""
    from woold.store import Store
    from woold.store.accounts import Accounts

    password = _password(password_file)
    Accounts(Store(store).engine).set(name, role, password, by=f"{getpass.getuser()} (command)")
    if as_json:
        _print_account(name, role)
    else:
        print(say('{name} may sign in with the role "{role}".', name=name, role=role))


def _print_account(name: str, role: str | None) -> None:
    from woold.cli.documents import AccountDocument

    print_json(AccountDocument(name, role))


def _password(path: str | None) -> str:
    """From a file's first line, or typed twice unseen."""
    if path is not None:
        try:
            return Path(path).read_text(encoding="utf-8").partition("\n")[0].rstrip("\r")
        except (OSError, UnicodeDecodeError) as error:
            raise InputError.one(
                "--password-file",
                f"{path} ({error})",
                say("a text file with the password"),
                say("Check the name and the rights of the file."),
            ) from None
    if not sys.stdin.isatty():
        raise InputError.one(
            "--password-file",
            say("nothing"),
            say("a file with the password"),
            say("Write the password into a file and name it."),
        )
    password = getpass.getpass(f"{say('Password:')} ")
    if password != getpass.getpass(f"{say('Again:')} "):
        raise InputError.one(
            "password", say("two that differ"), say("the same twice"), say("Nothing was changed.")
        )
    return password


@app.command("role")
def set_role(
    name: Name,
    role: Annotated[
        str, typer.Option("--role", help="view, record or manage; each includes the ones before.")
    ],
    store: StoreUrl = None,
    as_json: JsonFlag = False,
) -> None:
    """Change what somebody may do; their password and sessions stay."""
    from woold.store import Store
    from woold.store.accounts import Accounts

    Accounts(Store(store).engine).set_role(name, role, by=f"{getpass.getuser()} (command)")
    if as_json:
        from woold.cli.documents import AccountDocument

        print_json(AccountDocument(name, role))
        return
    print(say('{name} may sign in with the role "{role}".', name=name, role=role))


@app.command("list")
def list_accounts(store: StoreUrl = None, as_json: JsonFlag = False) -> None:
    """Everybody who may sign in."""
    from woold.store import Store
    from woold.store.accounts import Accounts

    found = Accounts(Store(store).engine).all()
    if as_json:
        from woold.cli.documents import AccountLine, AccountsDocument

        lines = (AccountLine(each.name, each.role, each.at) for each in found)
        print_json(AccountsDocument(tuple(lines)))
        return
    rows_shown = tuple((each.name, each.role, each.at) for each in found)
    heads = (say("name"), say("role"), say("set on"))
    print_blocks(console(), [Table(say("Who may sign in"), heads, rows_shown, words=(0,))])


@app.command("remove")
def remove_account(name: Name, store: StoreUrl = None, as_json: JsonFlag = False) -> None:
    """Let somebody sign in no more."""
    from woold.store import Store
    from woold.store.accounts import Accounts

    Accounts(Store(store).engine).remove(name, by=f"{getpass.getuser()} (command)")
    if as_json:
        _print_account(name, None)
    else:
        print(say("{name} may sign in no more.", name=name))
