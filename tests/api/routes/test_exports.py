from __future__ import annotations

import csv
import io

import pytest
from starlette.testclient import TestClient

from tests.town import WEEK


def rows(client: TestClient, address: str) -> list[dict[str, str]]:
    """Rows of a CSV download."""
    answer = client.get(address)
    assert answer.status_code == 200, address
    assert answer.headers["content-type"] == "text/csv; charset=utf-8"
    assert answer.headers["content-disposition"].startswith('attachment; filename="')
    return list(csv.DictReader(io.StringIO(answer.text)))


@pytest.mark.parametrize(
    ("address", "count"),
    [
        ("sites.csv", 3),
        ("technicians.csv", 2),
        ("holds.csv", 1),
        (f"weeks/{WEEK}/visits-due.csv", 3),
        (f"weeks/{WEEK}/not-due.csv", 0),
        (f"weeks/{WEEK}/stops.csv", 4),
        (f"weeks/{WEEK}/unplaced.csv", 0),
    ],
)
def test_a_list_has_as_many_lines_as_things(reader: TestClient, address: str, count: int) -> None:
    """Three pools, one of them visited twice; two technicians; one hold."""
    assert len(rows(reader, f"/api/{address}")) == count


def test_lists_of_the_plan_agree_with_the_plan(reader: TestClient) -> None:
    """A spreadsheet and the page must not tell two stories."""
    plan = reader.get(f"/api/weeks/{WEEK}/plan").json()

    for name in ("put_off", "changes"):
        address = f"/api/weeks/{WEEK}/{name.replace('_', '-')}.csv"
        assert len(rows(reader, address)) == len(plan[name])
    drive_s = sum(int(row["drive_s"]) for row in rows(reader, f"/api/weeks/{WEEK}/workloads.csv"))
    assert drive_s == plan["drive_s"]
    assert len(rows(reader, f"/api/weeks/{WEEK}/upkeep-due.csv")) == len(
        reader.get(f"/api/weeks/{WEEK}/upkeep-due").json()
    )


def test_a_day_sheet_is_exported_in_order(reader: TestClient) -> None:
    """Numbers count from one."""
    plan = reader.get(f"/api/weeks/{WEEK}/plan").json()
    route = plan["routes"][0]
    address = f"/api/technicians/{route['technician_id']}/days/{route['day']}/stops.csv"

    assert [row["number"] for row in rows(reader, address)] == [
        str(stop["number"]) for stop in route["stops"]
    ]


def test_gate_codes_stand_in_no_list_and_no_export(reader: TestClient) -> None:
    """The code of S1 is #11; a list that travels by mail must not hold it."""
    day = next(
        (route["technician_id"], route["day"])
        for route in reader.get(f"/api/weeks/{WEEK}/plan").json()["routes"]
        for stop in route["stops"]
        if stop["site_id"] == "S1"
    )
    sheet = f"/api/technicians/{day[0]}/days/{day[1]}"

    for address in (sheet, "/api/sites", "/api/sites/S1", "/api/sites.csv", f"{sheet}/stops.csv"):
        assert "#11" not in reader.get(address).text, address
