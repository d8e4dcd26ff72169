"""The commands of running the service, put together."""

from __future__ import annotations

import typer

from dispatch.cli import backup, doctor, work


def add_operation(app: typer.Typer) -> None:
    """Give the program its commands of operation."""
    app.command("doctor")(doctor.doctor_command)
    app.command("backup")(backup.backup_command)
    app.command("restore")(backup.restore_command)
    app.command("work")(work.work_command)
    app.add_typer(work.branches_app, name="branches")
