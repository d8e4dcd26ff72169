from __future__ import annotations

import io
import json
import re
import zipfile
from typing import Any

import openpyxl
from starlette.testclient import TestClient

from tests.intake.test_workbook import xlsx
from tests.town import WEEK

THEIRS = xlsx(
    ["Account", "Customer", "Street", "Frequency", "Minutes", "Colour"],
    ["S9", "+Invented Nine", "2 ab street", "weekly", 20, "blue"],
)
COLUMNS = ["id", "name", "address", "rhythm", "service_min", ""]


def send(client: TestClient, deed: str, columns: list[str] | None = None) -> dict[str, object]:
    """An upload of the workbook."""
    answer = client.post(
        f"/api/import/sites/{deed}",
        files={"file": ("theirs.xlsx", THEIRS)},
        data={} if columns is None else {"columns": json.dumps(columns)},
    )
    assert answer.status_code == 200, answer.text
    found = answer.json()
    return found if isinstance(found, dict) else {"guesses": found}


def test_a_workbook_is_matched_tried_and_taken_in(client: TestClient) -> None:
    """Three calls; only the last one stores anything."""
    guesses = send(client, "match")["guesses"]
    assert [one["column"] for one in guesses] == COLUMNS  # type: ignore[attr-defined]
    assert send(client, "try", COLUMNS)["new"] == ["S9"]
    assert client.get("/api/sites/S9").status_code == 404
    assert send(client, "take", COLUMNS)["new"] == ["S9"]
    assert client.get("/api/sites/S9").json()["name"] == "+Invented Nine"


def test_columns_that_are_no_list_are_refused(client: TestClient) -> None:
    """In a sentence, not with a crash."""
    answer = client.post(
        "/api/import/sites/try", files={"file": ("a.csv", "id\nS1\n")}, data={"columns": "{"}
    )
    assert answer.status_code == 422
    assert "no JSON list" in answer.json()["detail"]


def test_the_page_matches_tries_reports_and_takes_in(client: TestClient) -> None:
    """Upload, a wrong choice with its report, the right one, taken."""
    where = client.post(
        "/import/sites", files={"file": ("t.xlsx", THEIRS)}, follow_redirects=False
    ).headers["location"]
    page = client.get(where).text
    assert '<option value="name" selected' in page
    names = {f"column-{n}": name for n, name in enumerate(COLUMNS)}
    tried = client.post(where, data=names | {"column-3": "dog", "column-5": "rhythm"}).text
    assert "Error report as CSV" in tried
    report = client.get(f"{where}/problems.csv").text
    assert report.splitlines()[0] == "line,column,value,wrong,mend"
    assert "2,rhythm,blue" in report

    tried = client.post(where, data=names).text
    assert "This would come of it" in tried
    (version,) = re.findall('name="version" value="([^"]+)"', tried)
    assert "1 row taken in" in client.post(f"{where}/take", data={"version": version}).text
    assert client.get(where).status_code == 404


def test_what_somebody_wrote_between_trial_and_taking_in_is_not_lost(client: TestClient) -> None:
    """The trial showed 45 min to become 35; meanwhile somebody agreed on 50, which stays."""
    table = {"file": ("t.csv", "id,name,rhythm,service_min\nS1,Invented One,weekly,35\n")}
    columns = {"columns": json.dumps(["id", "name", "rhythm", "service_min"])}
    where = client.post("/import/sites", files=table, follow_redirects=False).headers["location"]
    names = {f"column-{n}": name for n, name in enumerate(json.loads(columns["columns"]))}
    page = client.post(where, data=names).text
    (shown,) = re.findall('name="version" value="([^"]+)"', page)
    tried = client.post("/api/import/sites/try", files=table, data=columns).json()
    assert tried["version"] == shown

    agreed = {"file": ("t.csv", "id,name,rhythm,service_min\nS1,Invented One,weekly,50\n")}
    assert client.post("/api/sites/import", files=agreed).status_code == 200
    by_page = client.post(f"{where}/take", data={"version": shown}, headers={"Referer": where})
    by_call = client.post("/api/import/sites/take", files=table, data=columns | {"version": shown})

    assert (by_page.status_code, by_call.status_code) == (412, 412)
    assert by_call.json()["code"] == "changed-meanwhile"
    assert "Try the table again" in by_page.text
    assert f'href="{where}"' in by_page.text
    assert client.get("/api/sites/S1").json()["service_min"] == 50
    assert "1 row taken in" in client.post(f"{where}/take", data={"version": "*"}).text


def test_the_workbook_of_everything_has_no_formula_and_comes_back(client: TestClient) -> None:
    """A name that begins with + is a text; the sheet of sites can be imported again."""
    send(client, "take", COLUMNS)
    data = client.get(f"/api/export.xlsx?week={WEEK}").content
    book = openpyxl.load_workbook(io.BytesIO(data))
    assert {"sites", "technicians", "holds", f"stops-{WEEK}"} <= set(book.sheetnames)
    (row,) = [one for one in book["sites"].iter_rows() if one[0].value == "S9"]
    assert (row[1].value, row[1].data_type) == ("+Invented Nine", "s")
    back = client.post("/api/sites/import", files={"file": ("sites.xlsx", data)})
    assert back.status_code == 200, back.text
    assert back.json()["imported"] == 4


def test_sites_are_points_with_longitude_first_and_without_codes(client: TestClient) -> None:
    """RFC 7946, section 3.1.1; S1 lies at longitude 0.001 and has the code #11."""
    answer = client.get("/api/sites.geojson")
    assert answer.headers["content-type"].startswith("application/geo+json")
    (first, *_) = answer.json()["features"]
    assert first["geometry"] == {"type": "Point", "coordinates": [0.001, 0.0]}
    assert "#11" not in answer.text


def test_one_file_holds_everything(client: TestClient) -> None:
    """The book, the week, the routes; no gate code anywhere."""
    data = client.get(f"/api/export.zip?week={WEEK}").content
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        names = set(packed.namelist())
        texts = [packed.read(name) for name in names if not name.endswith(".xlsx")]
    assert {"sites.csv", "everything.xlsx", "sites.geojson", f"routes-{WEEK}.geojson"} <= names
    assert any(name.endswith(".gpx") for name in names)
    assert any(name.endswith(".ics") for name in names)
    assert not any(b"#11" in text for text in texts)


def test_the_page_of_exports_leads_to_files_that_are_there(client: TestClient) -> None:
    """Every link answers."""
    page = client.get("/export").text
    for piece in page.split('href="')[1:]:
        address = piece.partition('"')[0].replace("&amp;", "&")
        if address.startswith("/api/"):
            assert client.get(address).status_code == 200, address


def test_a_new_customer_is_offered_places_and_taken_on(client: TestClient) -> None:
    """API and page: the same offers; the page's button adds the site."""
    wish: dict[str, Any] = {"name": "Invented Four", "address": "2 ab street", "favourite": 2}
    found = client.post(f"/api/weeks/{WEEK}/places", json=wish).json()
    assert found["offers"][0]["technician_id"] == "T1"
    page = client.get("/new-customer", params=wish).text
    assert "Insisting on Wednesday costs" in page or "Wednesday costs nothing" in page
    assert "extra_min" in client.post(f"/api/weeks/{WEEK}/places.csv", json=wish).text
    choice = {"rhythm": "weekly", "service_min": "30", "technician_id": "T1", "weekdays": "0"}
    answer = client.post("/new-customer", data=wish | choice, follow_redirects=False)
    assert answer.headers["location"] == "/sites/S4"
    chosen = wish | {"name": "Invented Five", "technician_id": "T2", "weekdays": [2]}
    assert client.post("/api/new-customers", json=chosen).json()["id"] == "S5"
