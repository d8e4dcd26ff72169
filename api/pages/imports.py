"""Taking in somebody's table: upload, match its columns, try it, take it in."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.datastructures import FormData

from api.csvs import csv_answer
from api.deps import ReadSession, SettingsDep, UploadedText, WriteSession
from api.pages.templating import render
from dispatch.actions import table_import
from dispatch.actions.table_import import Noun, Tried
from dispatch.errors import ImportRejected, InvalidValue, NoMap
from dispatch.words import _

router = APIRouter()

SHOWN = 100  # problems, and cells that would be written


async def sent_form(request: Request) -> FormData:
    """The fields of a form whose names follow the table."""
    return await request.form(max_fields=2000)


Sent = Annotated[FormData, Depends(sent_form)]


@router.get("/import/{noun}")
def show_upload(request: Request, noun: Noun) -> HTMLResponse:
    """The form for a file."""
    return render(request, "import.html", noun=noun, columns=noun.columns)


@router.post("/import/{noun}")
def upload(settings: SettingsDep, noun: Noun, text: UploadedText) -> RedirectResponse:
    """Keep the file and lead to the matching of its columns, and on where they are ours."""
    guesses = table_import.match_columns(noun, text)  # refuses a file without headings at once
    name = table_import.keep_upload(settings, text)
    ours = table_import.own_columns(guesses)
    if ours is None:
        return RedirectResponse(f"/import/{noun}/{name}", 303)
    table_import.keep_choice(settings, name, ours)
    return RedirectResponse(f"/import/{noun}/{name}#result", 303)


@router.get("/import/{noun}/{name}")
def show_matching(
    request: Request, session: ReadSession, settings: SettingsDep, noun: Noun, name: str
) -> HTMLResponse:
    """Headings with the columns guessed or chosen, and what the table would do."""
    text, chosen = table_import.read_upload(settings, name)
    guesses = table_import.match_columns(noun, text)
    tried, fault = None, ""
    if chosen is not None:
        try:
            tried = table_import.try_table(session, settings, noun, text, chosen)
        except (InvalidValue, NoMap) as error:  # told beside the choices, which stay
            fault = str(error)
    return render(
        request,
        "import_match.html",
        noun=noun,
        name=name,
        columns=noun.columns,
        rows=list(zip(guesses, chosen or [one.column for one in guesses], strict=True)),
        tried=tried,
        fault=fault,
        shown=SHOWN,
    )


@router.post("/import/{noun}/{name}")
def choose(settings: SettingsDep, noun: Noun, name: str, form: Sent) -> RedirectResponse:
    """Keep the columns chosen and show what the table would do with them."""
    text, _ = table_import.read_upload(settings, name)
    number = len(table_import.match_columns(noun, text))
    chosen = [str(form.get(f"column-{at}", "")) for at in range(number)]
    table_import.keep_choice(settings, name, chosen)
    return RedirectResponse(f"/import/{noun}/{name}#result", 303)


@router.post("/import/{noun}/{name}/take")
def take(
    session: WriteSession,
    settings: SettingsDep,
    noun: Noun,
    name: str,
    version: Annotated[str, Form(max_length=64)] = "",
) -> RedirectResponse:
    """Take the table in, all or nothing, if it still does what was shown, and show the list."""
    text, chosen = table_import.read_upload(settings, name)
    done = table_import.take_in_table(session, settings, noun, text, chosen, looked_at=version)
    if done.problems:
        raise ImportRejected(
            _("The table has {number} problems and nothing of it was taken in.").format(
                number=len(done.problems)
            ),
            done.problems,
        )
    table_import.drop_upload(settings, name)
    return RedirectResponse(f"/{noun}?imported={_count(done)}", 303)


@router.get("/import/{noun}/{name}/problems.csv")
def export_problems(session: ReadSession, settings: SettingsDep, noun: Noun, name: str) -> Response:
    """The error report: line, column, value, what is wrong, how to mend it."""
    text, chosen = table_import.read_upload(settings, name)
    tried = table_import.try_table(session, settings, noun, text, chosen)
    return csv_answer(f"problems-{noun}", table_import.problem_list(tried.problems))


def _count(done: Tried) -> int:
    return len(done.new) + len(done.changed) + done.same
