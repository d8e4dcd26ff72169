from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from api.headers import CONTENT_SECURITY_POLICY
from tests.town import WEEK

PAGES = (
    f"/week/{WEEK}",
    f"/week/{WEEK.next}",
    "/day/T1/2026-11-30",
    f"/loads/{WEEK}",
    f"/due/{WEEK}",
    "/sites",
    "/technicians",
    "/map",
    "/nowhere",
)


class Suspicions(HTMLParser):
    """Collects what the policy would block, or what leaves this service."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Look at one tag."""
        names = dict(attrs)
        self.found += [f"<{tag} {name}>" for name in names if name.startswith("on")]
        self.found += ["inline style"] * ("style" in names or tag == "style")
        self.found += ["inline script"] * (tag == "script" and "src" not in names)
        for name in ("src", "href", "action"):
            if re.match(r"(https?:)?//", names.get(name) or ""):
                self.found.append(f"<{tag} {name}={names[name]}>")


@pytest.mark.parametrize("address", PAGES)
def test_a_page_holds_nothing_inline_and_nothing_from_elsewhere(
    reader: TestClient, address: str
) -> None:
    """The policy would block it in the browser, where no test looks at every page."""
    answer = reader.get(address)
    suspicions = Suspicions()
    suspicions.feed(answer.text)

    assert answer.headers["content-security-policy"] == CONTENT_SECURITY_POLICY
    assert suspicions.found == []


def test_scripts_and_styles_fetch_nothing_from_elsewhere(reader: TestClient) -> None:
    """Every address in them would be a hidden dependency on somebody's server."""
    for name in ("page.css", "map.css"):
        assert not re.search(r"url\(\"?(https?:)?//", reader.get(f"/static/{name}").text), name
    for name in ("week.js", "map.js", "day.js", "job.js", "upload.js"):
        assert "import(" not in reader.get(f"/static/{name}").text, name


def test_an_unexpected_failure_carries_the_headers_too(client: TestClient) -> None:
    """That answer is given outside of our own layer, where it is easily forgotten."""
    app = client.app
    assert isinstance(app, FastAPI)
    app.state.engine = None

    answer = client.get("/sites")

    assert answer.status_code == 500
    assert answer.headers["content-security-policy"] == CONTENT_SECURITY_POLICY


def test_another_site_cannot_change_anything(client: TestClient) -> None:
    """A page elsewhere can send a form here; browsers tell by Sec-Fetch-Site (Fetch Metadata)."""
    headers = {"Sec-Fetch-Site": "cross-site"}

    answer = client.post(f"/week/{WEEK}/plan", data={"seed": 1}, headers=headers)

    assert answer.status_code == 403
    assert client.get("/api/jobs").json() == []


def test_our_own_page_may_change_things(client: TestClient) -> None:
    """The refusal must not hit our own forms."""
    headers = {"Sec-Fetch-Site": "same-origin"}

    answer = client.post(
        f"/week/{WEEK}/plan", data={"seed": 1}, headers=headers, follow_redirects=False
    )

    assert answer.status_code == 303
    assert answer.headers["location"].startswith(f"/week/{WEEK}?job=")


def test_text_of_customers_stays_text(client: TestClient) -> None:
    """A name is free text and may hold anything."""
    name = "<script>alert(1)</script>"
    row = f"id,name,lat,lon,rhythm,service_min\nS1,{name},0,0.001,weekly,30\n"
    assert client.post("/api/sites/import", files={"file": ("s.csv", row)}).status_code == 200

    for page in (f"/week/{WEEK}", "/day/T1/2026-11-30", f"/due/{WEEK}", "/sites"):
        text = client.get(page).text
        assert name not in text, page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in client.get("/sites").text
