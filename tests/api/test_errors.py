from __future__ import annotations

from starlette.testclient import TestClient

from api.errors import STATUS
from dispatch import errors
from dispatch.errors import DispatchError
from tests.signed_in import ALMA, signed_in_client


def subclasses(kind: type[DispatchError]) -> set[type[DispatchError]]:
    return {kind} | {below for one in kind.__subclasses__() for below in subclasses(one)}


def test_every_error_has_a_status_and_no_status_is_left_over() -> None:
    """A new error without a number would break the answer that is to explain it."""
    assert errors.DispatchError in subclasses(DispatchError)
    assert {kind.code for kind in subclasses(DispatchError)} == set(STATUS)


def test_a_caller_of_the_api_reads_a_problem_document(reader: TestClient) -> None:
    """RFC 9457, section 3.1, names the members."""
    answer = reader.get("/api/sites/S99")

    assert answer.status_code == 404
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json() == {
        "type": "about:blank",
        "title": "There is nothing here",
        "status": 404,
        "detail": "There is no site 'S99'. The list of sites shows the ids.",
        "code": "not-found",
    }


def test_a_person_reads_the_same_as_a_page(reader: TestClient) -> None:
    """Nobody should meet JSON in a browser's window."""
    answer = reader.get("/day/T9/2026-11-30")

    assert answer.status_code == 404
    assert answer.headers["content-type"].startswith("text/html")
    assert "There is no technician &#39;T9&#39;" in answer.text


def test_an_address_without_a_page_is_told(reader: TestClient) -> None:
    """Both kinds of callers get the kind of answer they read."""
    assert "There is no page &#39;/nowhere&#39;" in reader.get("/nowhere").text
    assert reader.get("/api/nowhere").json()["code"] == "not-found"


def test_an_error_leads_each_reader_to_a_page_of_his_own(reader: TestClient) -> None:
    """A technician has no week to go to, and who is not signed in has nothing."""
    settings = reader.app.state.settings  # type: ignore[attr-defined]

    assert '<a href="/">To the week</a>' in reader.get("/no-such-page").text
    for person, words in ((ALMA, "To my day"), (None, "Sign in")):
        page = signed_in_client(settings, person, raises=False).get("/no-such-page").text
        assert f'<a href="/">{words}</a>' in page
        assert "To the week" not in page


def test_a_call_with_a_wrong_body_names_the_field(reader: TestClient) -> None:
    """The framework's own answer would be of another form."""
    answer = reader.post("/api/weeks/2026-W49/plan", json={"seed": -1})

    assert answer.status_code == 422
    assert answer.json()["code"] == "bad-request"
    assert "body.seed" in answer.json()["detail"]


def test_a_wrong_method_is_told(reader: TestClient) -> None:
    """405 comes from the framework and must have our form too."""
    answer = reader.delete("/api/sites")

    assert answer.status_code == 405
    assert answer.json()["code"] == "method-not-allowed"


def test_a_refused_form_leads_back_to_where_it_stood(client: TestClient) -> None:
    """With its place in the address, and never to another site."""
    refused = {"name": "value"}
    for referer, back in (
        ("http://testserver/new-customer?week=2026-W49", 'href="/new-customer?week=2026-W49"'),
        ("http://testserver//elsewhere.example/x", 'href="/elsewhere.example/x"'),
    ):
        page = client.post("/one-offs", data=refused, headers={"Referer": referer})
        assert page.status_code == 422
        assert f"{back} data-back" in page.text
    assert "data-back" not in client.get("/no-such-page").text
