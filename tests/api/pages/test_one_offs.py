"""The page of one-off work, and the forms of holds and deletions."""

from __future__ import annotations

from starlette.testclient import TestClient

from tests.town import WEEK

FORM = {
    "site_id": "S2",
    "title": "Mend the gate",
    "kind": "one-off",
    "first_day": "2026-11-30",
    "last_day": "2026-12-04",
    "minutes": "45",
}


def test_work_is_added_by_the_form_and_finished_on_the_page(client: TestClient) -> None:
    """Without scripts, so that it works on any machine in the office."""
    shown = client.post("/one-offs", data=FORM)
    assert shown.status_code == 200
    assert "1 open job" in shown.text
    assert "Mend the gate" in shown.text
    done = client.post("/one-offs/J1/visited", data={"on": "2026-11-24", "version": "*"})
    assert "Nothing is open." in done.text
    assert "1 job done" in done.text
    gone = client.post("/one-offs/J1/delete", data={"version": "*"})
    assert "Mend the gate" not in gone.text


def test_a_wrong_form_is_answered_with_a_sentence(client: TestClient) -> None:
    """A page, not a document for programs."""
    answer = client.post("/one-offs", data=FORM | {"minutes": "0"})
    assert answer.status_code == 422
    assert "A service of 0 minutes is not believable" in answer.text


def test_every_fault_of_a_form_is_named_at_once(client: TestClient) -> None:
    """Whoever mended one would else be sent back for the next."""
    wrong = {"first_day": "2026-12-04", "last_day": "2026-12-01", "minutes": "0", "persons": "99"}
    wrong |= {"windows": "late", "priority": "urgent"}
    answer = client.post("/one-offs", data=FORM | wrong)
    assert answer.status_code == 422
    for words in (
        "give a last day that is not before the first",
        "A service of 0 minutes is not believable",
        "99",
        "&#39;late&#39;",
        "&#39;urgent&#39;",
    ):
        assert words in answer.text


def test_late_work_is_marked_with_a_word(client: TestClient) -> None:
    """Colour alone tells nothing to one reader in twelve."""
    early = FORM | {"first_day": "2026-11-16", "last_day": "2026-11-20"}
    assert "<strong>late</strong>" in client.post("/one-offs", data=early).text


def test_due_work_stands_on_the_pages_of_the_week(client: TestClient) -> None:
    """Due with its title, and what is wrong with it before planning."""
    client.post("/one-offs", data=FORM | {"persons": "3"})
    due = client.get(f"/due/{WEEK}").text
    assert "Mend the gate" in due
    assert "one-off work" in due
    week = client.get(f"/week/{WEEK}").text
    assert "1 thing to look at before planning" in week
    assert "it needs 3 persons, more than are aboard on its days" in week


def test_a_hold_is_added_ended_and_deleted_on_the_page(client: TestClient) -> None:
    """Three forms in the list of holds."""
    hold = {"site_id": "S2", "first_day": "2026-12-01", "last_day": "2026-12-09", "reason": "away"}
    assert "away" in client.post("/holds", data=hold).text
    sent = {"last_day": "2026-12-03", "version": "*"}
    assert "3 Dec 2026" in client.post("/holds/S2/2026-12-01/end", data=sent).text
    assert (
        "3 Dec 2026" not in client.post("/holds/S2/2026-12-01/delete", data={"version": "*"}).text
    )


def test_a_needed_site_or_technician_is_not_deleted_on_the_page(client: TestClient) -> None:
    """The refusal is a page with the way out in it."""
    for address, thing in (("/sites/delete", "S1"), ("/technicians/delete", "T1")):
        answer = client.post(address, data={"id": thing})
        assert answer.status_code == 409
        assert "cannot be deleted" in answer.text
