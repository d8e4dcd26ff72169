from __future__ import annotations

import re
from datetime import date

import pytest
from starlette.testclient import TestClient

from dispatch.planning.search import usual_iterations
from tests.api.pages.test_board import options_of
from tests.town import HOLDS_CSV, MONDAY, TECHNICIANS_CSV, TUESDAY, WEEK


def test_the_first_page_is_the_next_planned_week(reader: TestClient) -> None:
    """Today is a Wednesday of week 48; week 49 is planned."""
    assert reader.get("/", follow_redirects=False).headers["location"] == f"/week/{WEEK}"


def test_without_any_plan_the_first_page_is_the_coming_week(bare_client: TestClient) -> None:
    """A newcomer is led to where planning begins."""
    assert bare_client.get("/", follow_redirects=False).headers["location"] == f"/week/{WEEK}"


def test_every_stop_of_the_plan_is_on_the_page_with_its_place(reader: TestClient) -> None:
    """The map is drawn from these rows; one that is missing is missing everywhere."""
    plan = reader.get(f"/api/weeks/{WEEK}/plan").json()
    page = reader.get(f"/week/{WEEK}").text

    stops = {stop["visit_id"] for route in plan["routes"] for stop in route["stops"]}
    assert set(re.findall(r'data-stop="([^"]+)"', page)) == stops
    assert len(re.findall(r'data-place="-?[\d.]+,-?[\d.]+"', page)) == len(stops) == 4


def test_nobody_is_at_work_on_a_holiday(
    reader: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ben has a shift on Tuesday, 1 December, and no stop; in Portugal that is a holiday."""
    idle = f'data-idle data-technician="T2" data-day="{TUESDAY}"'
    assert idle in reader.get(f"/week/{WEEK}").text
    state = reader.app.state  # type: ignore[attr-defined]
    portugal = state.settings.model_copy(update={"country": "PT"})
    monkeypatch.setattr(state, "settings", portugal)
    assert idle not in reader.get(f"/week/{WEEK}").text


def test_what_found_no_place_is_on_the_page_with_its_reason(client: TestClient) -> None:
    """Nothing that is due may be dropped silently: here a skill that nobody has."""
    row = "id,name,lat,lon,rhythm,service_min,skills\nS4,Invented Four,0,0.002,weekly,20,diving\n"
    client.post("/api/sites/import", files={"file": ("s.csv", row)})
    assert "have changed since this week was planned" in client.get(f"/week/{WEEK}").text
    answer = client.post(
        f"/week/{WEEK}/plan", data={"seed": 1, "iterations": 100}, follow_redirects=False
    )
    job = answer.headers["location"].partition("job=")[2]
    client.get(f"/api/jobs/{job}/events")  # ends with the job
    assert 'id="proposal"' in client.get(f"/week/{WEEK}").text
    client.post(f"/week/{WEEK}/proposal/take", data={"version": 1})

    page = client.get(f"/week/{WEEK}").text

    assert "Invented Four" in page[page.index('id="unplaced"') :]
    reason = client.get(f"/api/weeks/{WEEK}/plan").json()["unplaced"][0]["reason"]
    assert "diving" in reason
    assert reason.split("'")[0] in page


def test_the_way_is_shown_step_by_step_where_nothing_is_there(bare_client: TestClient) -> None:
    """Map first, then sites, then technicians, then the plan."""
    assert '<a href="/map">Build one</a>' in bare_client.get(f"/week/{WEEK}").text


def test_an_unplanned_week_offers_to_plan_it(reader: TestClient) -> None:
    """Week 50 is not planned: two weekly pools, and the third one twice."""
    page = reader.get(f"/week/{WEEK.next}").text

    assert "This week has not been planned" in page
    assert re.search(r"<dt>visits due</dt><dd>4</dd>", page)
    assert f'action="/week/{WEEK.next}/plan"' in page


def test_a_week_that_is_over_offers_no_planning(reader: TestClient) -> None:
    """Planning the past is refused; offering it would be a trap."""
    page = reader.get(f"/week/{WEEK.previous.previous}").text

    assert "This week is over" in page
    assert "/plan" not in page


def test_how_a_job_failed_is_told_to_the_one_who_started_it(client: TestClient) -> None:
    """The form leads back to the page, and the page says what happened."""
    over = WEEK.previous.previous
    answer = client.post(f"/week/{over}/plan", data={"seed": 1}, follow_redirects=False)
    address = answer.headers["location"]
    client.get(f"/api/jobs/{address.partition('job=')[2]}/events")

    assert "Planning did not finish" in client.get(address).text
    assert "Planning did not finish" not in client.get(f"/week/{over}").text


def test_the_lists_show_what_was_imported(client: TestClient) -> None:
    """Sites, technicians and holds, and the words after an import."""
    tried = client.post("/import/technicians", files={"file": ("t.csv", TECHNICIANS_CSV)})
    assert "This would come of it" in tried.text
    taken = client.post(f"{tried.url.path}/take", data={"version": "*"})
    assert "2 rows taken in" in taken.text
    assert "Invented Alma" in client.get("/technicians").text
    files = {"file": ("h.csv", HOLDS_CSV)}
    assert "1 row taken in" in client.post("/holds/import", files=files).text
    page = client.get("/sites").text
    assert "Invented One" in page
    assert "20 Dec 2026" in page
    assert "#11" not in page  # the gate code of S1


def test_bad_rows_are_listed_on_a_page(client: TestClient) -> None:
    """The person with the spreadsheet reads line, column, value and the mend."""
    rows = "id,name,lat,lon,rhythm,service_min\nS9,Invented Nine,0,0.002,often,20\n"

    tried = client.post("/import/sites", files={"file": ("s.csv", rows)})
    taken = client.post(f"{tried.url.path}/take", data={"version": "*"})

    assert "Line 2, column rhythm" in tried.text
    assert "nothing can be taken in yet" in tried.text
    assert taken.status_code == 422
    assert re.search(r'<td class="number">2</td><td><code>rhythm</code></td>', taken.text)
    assert "often" in taken.text


def test_what_is_due_is_listed_with_what_is_not(reader: TestClient) -> None:
    """In the week of the hold S1 is not due, with the reason."""
    page = reader.get("/due/2026-W51").text

    not_due = page[page.index("Not due") :]
    assert "Invented One" in not_due
    assert "Sand" in page  # the sand of S2 is from June 2021
    assert str(MONDAY) not in page  # days are written for people


def test_upkeep_is_put_off_and_back_on_a_visit(client: TestClient) -> None:
    """Times follow at once, a page that is out of date changes nothing, and undo works."""
    plan = f"/api/weeks/{WEEK}/plan"
    before = client.get(plan).json()
    (stop,) = [s for r in before["routes"] for s in r["stops"] if s["upkeep_ids"]]
    version = client.get(f"/api/weeks/{WEEK}/desk").json()["version"]
    seen = {"version": version, "upkeep_id": stop["upkeep_ids"][0]}
    assert 'action="/week/2026-W49/carry"' in client.get(f"/week/{WEEK}").text

    assert client.post(f"/week/{WEEK}/carry", data=seen).status_code == 200
    off = client.get(plan).json()
    assert [one["upkeep_id"] for one in off["put_off"]] == stop["upkeep_ids"]
    assert sum(r["service_s"] for r in off["routes"]) < sum(
        r["service_s"] for r in before["routes"]
    )
    assert client.post(f"/week/{WEEK}/carry", data=seen).status_code == 412
    version = client.get(f"/api/weeks/{WEEK}/desk").json()["version"]
    on = {**seen, "version": version, "visit_id": stop["visit_id"]}
    assert client.post(f"/week/{WEEK}/carry", data=on).status_code == 200
    assert client.get(plan).json()["routes"] == before["routes"]
    client.post(f"/week/{WEEK}/undo", data={"version": version + 1})
    assert client.get(plan).json()["routes"] == off["routes"]


def test_the_choices_of_effort_differ_in_what_they_cost(client: TestClient) -> None:
    """A quick look is quicker than the usual plan, a thorough one takes longer."""
    page = client.get(f"/week/{WEEK}").text
    words = dict(re.findall(r'<option value="(\d+)">(Quick look|Thorough)</option>', page))
    rounds = {word: int(number) for number, word in words.items()}
    assert rounds["Quick look"] < usual_iterations(4) < rounds["Thorough"]


def test_a_week_shows_what_is_published_and_publishes_a_day(client: TestClient) -> None:
    """In words, and with the way to the day as it is driven."""
    page = client.get(f"/week/{WEEK}").text
    assert page.count(">Not published<") == 5
    answer = client.post(f"/day/{MONDAY}/publish", data={"back": "week"}, follow_redirects=False)
    assert answer.headers["location"] == f"/week/{WEEK}?day={MONDAY}#d{MONDAY}"
    page = client.get(answer.headers["location"]).text
    assert f'name="day" value="{MONDAY}" checked' in page
    assert re.search(rf'Published: <a href="[^"]*day={MONDAY}#d{MONDAY}">Mon 30', page)
    assert page.count("</span> Published</span>") == 1
    assert f'<a href="/day/{MONDAY}">The day as it is' in page
    assert page.count(">Not published<") == 4


def test_a_changed_day_asks_to_be_published_again(client: TestClient) -> None:
    """An edit is saved at once, but technicians drive what they were given."""
    client.post(f"/day/{MONDAY}/publish")
    take_out = {"version": 1, "edits": [{"deed": "take-out", "visit_id": "S1/2026-W49/1"}]}
    assert client.post(f"/api/weeks/{WEEK}/edits", json=take_out).status_code == 200
    page = client.get(f"/week/{WEEK}").text
    assert page.count("Changed since it was published") == 2  # on top, and beside the day
    assert "Publish again" in page
    assert "publish it again" in client.get(f"/week/{WEEK}/check").text
    client.post(f"/day/{MONDAY}/publish", data={"back": "week"})
    assert "Changed since it was published" not in client.get(f"/week/{WEEK}").text


def row_of(page: str, visit_id: str) -> str:
    """The row of a stop."""
    return re.search(rf'<tr data-stop="{visit_id}".*?</tr>', page, re.S)[0]  # type: ignore[index]


def move_to(client: TestClient, version: int, visit_id: str, day: date) -> None:
    """The dispatcher moves a stop of Alma to another day of hers."""
    edit = {"deed": "move", "visit_id": visit_id, "technician_id": "T1", "day": str(day)}
    body = {"version": version, "edits": [edit]}
    assert client.post(f"/api/weeks/{WEEK}/edits", json=body).status_code == 200


def test_a_stop_that_comes_on_another_day_than_planned_is_marked(client: TestClient) -> None:
    """It is planned for Thursday; on Monday, under way, somebody drives there all the same."""
    visit, other, thursday = "S1/2026-W49/1", "S2/2026-W49/1", WEEK.days[3]
    client.post(f"/day/{MONDAY}/publish")
    move_to(client, 1, visit, thursday)
    assert "still published for Mon 30" in row_of(client.get(f"/week/{WEEK}").text, visit)

    begun = {"kind": "started", "technician_id": "T1", "visit_id": other}
    assert client.post(f"/api/days/{MONDAY}/events", json=[begun]).status_code == 200
    page = client.get(f"/week/{WEEK}").text
    assert "stays on Mon 30, which is under way" in row_of(page, visit)
    assert page.count("which is under way") == 1

    done = {"kind": "done", "technician_id": "T1", "visit_id": other}
    client.post(f"/api/days/{MONDAY}/events", json=[done])
    move_to(client, 2, other, thursday)
    page = client.get(f"/week/{WEEK}").text
    assert "somebody was there on Mon 30: nobody comes" in row_of(page, other)


def test_a_stop_that_a_repair_brought_elsewhere_is_marked_on_its_planned_day(
    client: TestClient,
) -> None:
    """Thursday was chosen in a repair of Monday; planned for Friday later, it comes on Thursday."""
    visit, thursday, friday = "S1/2026-W49/1", WEEK.days[3], WEEK.days[4]
    client.post(f"/day/{MONDAY}/publish")
    asked = {"kind": "stop-moved", "visit_id": visit, "to_day": str(thursday)}
    option = options_of(client.get(f"/day/{MONDAY}/repair", params=asked).text)[0]
    client.post(f"/day/{MONDAY}/repair", data={**option, "reason": "Asked for it"})
    move_to(client, 1, visit, friday)

    page = client.get(f"/week/{WEEK}").text

    assert "brought to Thu 3 by a repair" in row_of(page, visit)


def break_a_rule(client: TestClient) -> None:
    """Give the stop that needs a skill to somebody without it."""
    broken = {
        "deed": "move",
        "visit_id": "S2/2026-W49/1",
        "technician_id": "T2",
        "day": str(MONDAY),
    }
    client.post(f"/api/weeks/{WEEK}/edits", json={"version": 1, "edits": [broken]})


def test_a_week_that_breaks_a_rule_is_published_at_the_second_press(client: TestClient) -> None:
    """The points are named in between; nothing is out until somebody says anyway."""
    break_a_rule(client)
    asked = client.post(f"/week/{WEEK}/publish", data={"back": "week"})
    assert "Not published yet" in asked.text
    assert "lacks the skill" in asked.text
    assert client.get("/api/days").json() == []
    hidden = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)">', asked.text))
    after = client.post(f"/week/{WEEK}/publish", data=hidden)
    assert str(after.url).endswith(f"/week/{WEEK}")
    assert client.get("/api/days").json()


def test_a_day_that_breaks_a_rule_is_published_at_the_second_press(client: TestClient) -> None:
    """As the week is; a day in order goes out at the first."""
    break_a_rule(client)
    client.post(f"/day/{WEEK.days[3]}/publish")
    assert client.get("/api/days").json() == [str(WEEK.days[3])]
    asked = client.post(f"/day/{MONDAY}/publish", data={"back": "week"})
    assert "Not published yet" in asked.text
    assert "lacks the skill" in asked.text
    assert "Publish the day anyway" in asked.text
    assert str(MONDAY) not in client.get("/api/days").json()
    hidden = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)">', asked.text))
    after = client.post(f"/day/{MONDAY}/publish", data=hidden)
    assert f"/week/{WEEK}?day={MONDAY}" in str(after.url)
    assert str(MONDAY) in client.get("/api/days").json()


def test_a_program_is_told_what_is_wrong_with_the_week(client: TestClient) -> None:
    """It may say anyway, as a person may."""
    break_a_rule(client)
    refused = client.post(f"/api/days/{MONDAY}/publish")
    assert (refused.status_code, refused.json()["code"]) == (409, "not-ready")
    assert client.post(f"/api/days/{MONDAY}/publish?anyway=true").status_code == 200
    refused = client.post(f"/api/weeks/{WEEK}/publish")
    assert (refused.status_code, refused.json()["code"]) == (409, "not-ready")
    assert client.post(f"/api/weeks/{WEEK}/publish?anyway=true").status_code == 200
