from __future__ import annotations

import html
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
GEOJSON_FEATURE = {"type", "geometry", "properties", "id"}
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


def test_a_column_chosen_twice_is_told_beside_the_choices(client: TestClient) -> None:
    """An error in place of the page would be there at every look, and all other choices lost."""
    table = "Client,Also,Often\nS1,Invented Nine,weekly\n"
    where = client.post("/import/sites", files={"file": ("t.csv", table)}).url.path
    chosen = {"column-0": "name", "column-1": "name", "column-2": "rhythm"}

    page = client.post(where, data=chosen)

    assert page.status_code == 200
    assert "'name' is chosen twice" in html.unescape(page.text)
    assert page.text.count('<option value="name" selected') == 2
    assert '<option value="rhythm" selected' in page.text
    assert "Take it in" not in page.text
    mended = client.post(where, data={**chosen, "column-0": "id"}).text
    assert "Take it in" in mended  # of a known site no other column is needed


def test_of_what_is_known_no_column_is_needed_but_the_id(client: TestClient) -> None:
    """'A column that is missing leaves what is there', says the page of the upload."""
    minutes = "id,service_min\nS1,33\nS2,44\n"
    page = client.post("/import/sites", files={"file": ("t.csv", minutes)}).text
    assert "<td>33</td>" in page
    assert "Take it in" in page

    with_a_new_one = minutes + "S9,20\n"
    page = client.post("/import/sites", files={"file": ("t.csv", with_a_new_one)}).text
    assert "The column &#39;rhythm&#39; is missing" in page


def test_what_somebody_wrote_between_trial_and_taking_in_is_not_lost(client: TestClient) -> None:
    """The trial showed 45 min to become 35; meanwhile somebody agreed on 50, which stays."""
    table = {"file": ("t.csv", "id,name,rhythm,service_min\nS1,Invented One,weekly,35\n")}
    columns = {"columns": json.dumps(["id", "name", "rhythm", "service_min"])}
    tried_there = client.post("/import/sites", files=table)
    where, page = tried_there.url.path, tried_there.text
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


def test_a_table_edited_apart_shows_what_it_would_take_back(client: TestClient) -> None:
    """Taken home at noon, changed in one cell, put back at five; meanwhile somebody agreed on 50.

    A file with our headings leads from the list of sites straight to what would come of it.
    """
    taken_home = client.get("/api/sites.csv").text.replace("Invented One", "Invented First")
    agreed = {"file": ("t.csv", "id,name,rhythm,service_min\nS1,Invented One,weekly,50\n")}
    assert client.post("/api/sites/import", files=agreed).status_code == 200
    assert 'action="/import/sites"' in client.get("/sites").text
    assert 'action="/import/technicians"' in client.get("/technicians").text

    page = client.post("/import/sites", files={"file": ("t.csv", taken_home)}).text

    shown = re.findall(r'row">S1</th><td><code>(\w+)</code></td><td>(.*?)</td><td>(.*?)<', page)
    assert ("name", "Invented One", "Invented First") in shown
    assert ("service_min", "50", "30") in shown
    assert client.get("/api/sites/S1").json()["service_min"] == 50


def test_a_gate_code_that_a_table_replaces_is_told_and_not_shown(client: TestClient) -> None:
    """Codes stand in no list; that another one comes in is to be seen all the same."""
    row = "id,name,rhythm,service_min,gate_code\nS1,Invented One,weekly,30,#4711\n"
    table = {"file": ("t.csv", row)}
    columns = {"columns": json.dumps(row.splitlines()[0].split(","))}
    page = client.post("/import/sites", files=table).text
    assert '<code>gate_code</code></td><td class="soft">not shown</td><td>another one' in page
    assert "#4711" not in page.split('id="result"')[1]
    tried = client.post("/api/import/sites/try", files=table, data=columns).json()
    assert tried["cells"] == [{"id": "S1", "column": "gate_code", "before": "", "after": ""}]


def test_a_list_of_holds_or_work_replaces_nothing_that_came_after_the_page(
    client: TestClient,
) -> None:
    """The page shows a hold to the 18th; a colleague ends it on the 16th; the old file comes."""
    page = client.get("/sites").text
    seen = re.search(r'action="/holds/import"[^>]*>\s*<input [^>]*value="([0-9a-f]+)"', page)
    assert seen is not None
    table = {"file": ("holds.csv", client.get("/api/holds.csv").content)}
    end = {"last_day": "2026-12-16"}
    ended = client.post("/api/holds/S1/2026-12-14/end", json=end, headers={"If-Match": "*"})
    assert ended.status_code == 200

    late = client.post("/holds/import", files=table, data={"version": seen[1]})

    assert late.status_code == 412
    assert "The list of holds was changed by Invented Owner" in late.text
    assert "choose it once more" in late.text
    assert "Save mine all the same" not in late.text
    assert client.get("/api/holds").json()[0]["last_day"] == "2026-12-16"


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


def test_the_map_files_are_geojson_and_nothing_else(client: TestClient) -> None:
    """RFC 7946: 3.1.4 (two positions make a line), 3.2 (members of a feature), 4 (no crs)."""
    data = client.get(f"/api/export.zip?week={WEEK}").content
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        made = [json.loads(packed.read(n)) for n in packed.namelist() if n.endswith(".geojson")]
    assert len(made) == 2
    for collection in made:
        assert set(collection) == {"type", "features"}
        for feature in collection["features"]:
            assert {"type", "geometry", "properties"} <= set(feature) <= GEOJSON_FEATURE
            geometry = feature["geometry"]
            assert set(geometry) == {"type", "coordinates"}
            is_line = geometry["type"] == "LineString"
            places = geometry["coordinates"] if is_line else [geometry["coordinates"]]
            assert len(places) > is_line
            assert all(-180 <= lon <= 180 and -90 <= lat <= 90 for lon, lat in places)


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
