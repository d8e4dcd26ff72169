"""`dispatch doctor`: what is wrong with this installation, and how to mend it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated
from urllib.error import URLError
from urllib.request import urlopen

import typer

from dispatch.cli.console import CsvOption, JsonOption, note, show_list
from dispatch.cli.serve import DEFAULT_HOST, DEFAULT_PORT, is_free
from dispatch.settings import load_settings
from dispatch.words import _

if TYPE_CHECKING:
    from dispatch.actions.doctor import Finding

ANSWER_S = 3  # seconds a running service has to say that it is alive


def doctor_command(
    host: Annotated[str, typer.Option(help="Address the service listens on.")] = DEFAULT_HOST,
    port: Annotated[int, typer.Option(min=1, max=65535, help="Its port.")] = DEFAULT_PORT,
    to_csv: CsvOption = False,
    to_json: JsonOption = False,
) -> None:
    """Examine this installation; exits with 1 when something is wrong, else with 0."""
    from dispatch.actions.doctor import State, examine, finding_list

    findings = [*examine(load_settings()), _port(host, port)]
    show_list(finding_list(findings), _("Findings"), to_csv=to_csv, to_json=to_json)
    wrong = sum(one.state is State.WRONG for one in findings)
    remarks = sum(one.state is State.REMARK for one in findings)
    note(_("{wrong} wrong, {remarks} to look at.").format(wrong=wrong, remarks=remarks))
    if wrong:
        raise typer.Exit(1)


def _port(host: str, port: int) -> Finding:
    from dispatch.actions.doctor import Finding, State

    if is_free(host, port):
        return Finding("port", State.WELL, f"{port} is free; the service does not run there.")
    try:
        with urlopen(f"http://{host}:{port}/healthz", timeout=ANSWER_S) as answer:
            is_ours = b'"alive"' in answer.read(100)
    except (URLError, OSError, ValueError):
        is_ours = False
    if is_ours:
        return Finding("port", State.WELL, f"The service answers on {port}.")
    return Finding(
        "port",
        State.WRONG,
        f"Another program holds {port}, or the service there does not answer.",
        "Stop that program, restart the service, or choose another port with 'serve --port'.",
    )
