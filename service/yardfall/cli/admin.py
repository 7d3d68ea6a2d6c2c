"""Commands for whoever runs a service: `yardfall key`, `yardfall backup`, `yardfall restore`."""

from __future__ import annotations

import argparse
import sys

from sqlalchemy import Engine

from yardfall.app import Settings
from yardfall.cli.told import told
from yardfall.core.errors import FileRefusedError
from yardfall.store.backup import back_up, files_missing, restore
from yardfall.store.database import open_database
from yardfall.store.files import private_folder
from yardfall.store.keys import Key, KeyStore


def _database(arguments: argparse.Namespace) -> Engine:
    settings = Settings.from_environment(arguments.data)
    private_folder(settings.data_dir)
    return open_database(settings.data_dir, settings.database_url)


_told = told(_database)


@_told
def new_key(arguments: argparse.Namespace, engine: Engine) -> None:
    """Make a key and show it."""
    key, secret = KeyStore(engine).make(
        arguments.name, arguments.scope, arguments.shares, arguments.adopt
    )
    print(secret)
    print(
        f"\nThis is the key of {key.name!r} ({key.scope}), id {key.id}. It is shown this once; "
        "keep it as you would a password.\nSoftware sends it as  Authorization: Bearer <key>. A "
        "browser asks for it: any name, and the key as the password.",
        file=sys.stderr,
    )
    left = KeyStore(engine).left_behind()
    if left:
        told = ", ".join(f"{name.replace('_', ' ')} ({count})" for name, count in left.items())
        print(
            f"\nKept before there were keys, and now seen with none: {told}. To see them with "
            f"this key, make a second one that takes them over for both:\n"
            f"    yardfall key new NAME --shares {key.id} --adopt",
            file=sys.stderr,
        )


@_told
def list_keys(_arguments: argparse.Namespace, engine: Engine) -> None:
    """A line for each key, without its secret."""
    for key in KeyStore(engine).all():
        print("  ".join(_row(key)))


def _row(key: Key) -> tuple[str, ...]:
    ended = f"revoked {key.revoked_at:%Y-%m-%d}" if key.revoked_at else "alive"
    shares = "" if key.owner == key.id else f"sees what {key.owner} keeps"
    return key.id, f"{key.scope:5}", f"{key.made_at:%Y-%m-%d}", f"{ended:18}", key.name, shares


@_told
def revoke_key(arguments: argparse.Namespace, engine: Engine) -> None:
    """End a key."""
    key = KeyStore(engine).revoke(arguments.id)
    print(f"The key of {key.name!r} opens nothing any more. What it kept stays.")


@_told
def make_backup(arguments: argparse.Namespace, engine: Engine) -> None:
    """Write a backup."""
    _count("Backed up", back_up(engine, arguments.data, arguments.file))


@_told
def restore_backup(arguments: argparse.Namespace, engine: Engine) -> None:
    """Restore one."""
    _count("Restored", restore(engine, arguments.data, arguments.file))
    missing = files_missing(engine, arguments.data)
    if missing:
        raise FileRefusedError(
            "All else is restored, but the backup lacks the files of these uploads; delete or "
            f"upload them again: {', '.join(missing)}."
        )


def _count(what: str, rows: dict[str, int]) -> None:
    print(f"{what}: " + ", ".join(f"{count} {name}" for name, count in rows.items()) + ".")
