from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import httpx2
import pytest
from playwright.sync_api import Page, expect

from api.callers import COOKIE
from tests.browser.conftest import NewPage, Served
from tests.signed_in import FROM_HERE, OWNER
from tests.town import MONDAY, TUESDAY, WEEK

S1, S2 = "S1/2026-W49/1", "S2/2026-W49/1"


@pytest.fixture(autouse=True)
def plan_comes_back(served: Served) -> Iterator[None]:
    """Undoes what a test did, because all tests of this file share one service."""
    cookies = {COOKIE: served.secrets[OWNER.id]}
    with httpx2.Client(base_url=served.address, cookies=cookies, headers=FROM_HERE) as client:
        yield
        for lock in client.get(f"/api/weeks/{WEEK}/locks").json():
            client.post(f"/api/weeks/{WEEK}/locks/remove", json=lock)
        while (desk := client.get(f"/api/weeks/{WEEK}/desk").json())["undo"]:
            client.post(f"/api/weeks/{WEEK}/undo", json={"version": desk["version"]})


def route(page: Page, technician: str, day: object) -> list[str]:
    """Names of the stops of a route in order, as the table shows them."""
    rows = page.locator(f"[data-route][data-technician={technician}][data-day='{day}'] [data-stop]")
    return [row.get_attribute("data-name") or "" for row in rows.all()]


def drag(page: Page, visit: str, onto: str, *, low: bool = False) -> None:
    """Drag a stop with the mouse onto the upper or lower part of something."""
    grip = page.locator(f"[data-stop='{visit}'] [data-move]")
    grip.scroll_into_view_if_needed()
    start = grip.bounding_box()
    target = page.locator(onto)
    end = target.bounding_box()
    assert start is not None
    assert end is not None
    page.mouse.move(start["x"] + 8, start["y"] + 8)
    page.mouse.down()
    page.mouse.move(start["x"] + 20, start["y"] + 30, steps=3)
    share = 0.8 if low else 0.2
    page.mouse.move(end["x"] + 60, end["y"] + share * end["height"], steps=5)
    page.mouse.up()


def test_a_stop_is_dragged_to_another_technician_and_back_by_undo(new_page: NewPage) -> None:
    """Table, map and figures follow at once; nothing is read anew by hand."""
    page = new_page(f"/week/{WEEK}")
    expect(page.locator("#map .pin")).to_have_text(["I1", "I2", "IB1"])

    drag(page, S1, "[data-stop='S3/2026-W49/1']")

    expect(page.locator("[data-said]")).to_contain_text("Invented One to Invented Ben, Mon 30")
    assert route(page, "T2", MONDAY) == ["Invented One", "Invented Three"]
    assert route(page, "T1", MONDAY) == ["Invented Two"]
    expect(page.locator("#map .pin")).to_have_text(["I1", "IB1", "IB2"])
    expect(page.locator("#map .leg")).to_have_count(2 + 3)

    page.get_by_role("button", name="Undo").click()
    expect(page.locator("#map .pin")).to_have_text(["I1", "I2", "IB1"])
    page.get_by_role("button", name="Redo").click()
    expect(page.locator("#map .pin")).to_have_text(["I1", "IB1", "IB2"])


def test_the_order_of_a_route_is_changed_by_dragging(new_page: NewPage) -> None:
    """The second stop above the first."""
    page = new_page(f"/week/{WEEK}")
    before = route(page, "T1", MONDAY)
    drag(page, S2 if before[1] == "Invented Two" else S1, f"[data-stop='{S1}']")
    expect(page.locator("[data-said]")).to_be_visible()
    assert route(page, "T1", MONDAY) == before[::-1]


def test_a_broken_rule_is_told_beside_the_plan(new_page: NewPage) -> None:
    """Ben lacks the skill for the sand of S2; the page says so and does as it was told."""
    page = new_page(f"/week/{WEEK}")
    drag(page, S2, "[data-stop='S3/2026-W49/1']", low=True)
    expect(page.locator("[data-said].warn")).to_contain_text("lacks the skill 'media'")
    expect(page.get_by_text("1 rule broken")).to_be_visible()
    assert route(page, "T2", MONDAY) == ["Invented Three", "Invented Two"]


def test_a_stop_is_moved_with_the_keyboard_alone(new_page: NewPage) -> None:
    """Cut, choose another route, drop, undo; the words for the screen reader go along."""
    page = new_page(f"/week/{WEEK}")
    said = page.locator("[data-said]")
    expect(page.locator("#map .pin")).to_have_count(3)
    page.locator(f"[data-stop='{S1}']").focus()

    page.keyboard.press("x")
    expect(said).to_contain_text("Invented One is cut")
    page.keyboard.press("ArrowRight")
    expect(said).to_contain_text("before Invented Three, stop 1")
    page.keyboard.press("ArrowDown")
    expect(said).to_contain_text("last, after Invented Three")
    page.keyboard.press("Enter")

    expect(page.locator("#map .pin")).to_have_text(["I1", "IB1", "IB2"])
    assert route(page, "T2", MONDAY) == ["Invented Three", "Invented One"]
    expect(page.locator("[data-stop]:focus")).to_contain_text("Invented One")
    page.keyboard.press("Control+z")
    expect(page.locator("#map .pin")).to_have_text(["I1", "I2", "IB1"])

    page.locator(f"[data-stop='{S1}']").focus()
    page.keyboard.press("x")
    page.keyboard.press("Escape")
    expect(page.locator(".drop-before, .drop-after")).to_have_count(0)


def test_on_a_phone_a_stop_is_moved_from_a_list(new_page: NewPage) -> None:
    """360 px: press the number, choose technician, day and place, see what it does, move it."""
    page = new_page(f"/week/{WEEK}", width=360, height=740)
    page.locator(f"[data-stop='{S1}'] [data-move]").click()
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text("Move Invented One")
    assert page.evaluate("document.documentElement.scrollWidth") == 360

    dialog.get_by_label("Technician").select_option("Invented Ben")
    dialog.get_by_label("Day").select_option(str(TUESDAY))
    expect(dialog.locator("[data-tried]")).to_contain_text("riving")
    dialog.get_by_role("button", name="Move it there").click()

    expect(page.locator("[data-said]")).to_contain_text("Invented One to Invented Ben, Tue 1")
    page.locator(".days label", has_text="1").first.click()
    assert "Invented One" in route(page, "T2", TUESDAY)


def test_what_is_taken_out_is_placed_again_from_the_list(new_page: NewPage) -> None:
    """Nothing vanishes: the unplaced stand on top with a way back."""
    page = new_page(f"/week/{WEEK}")
    page.locator(f"[data-stop='{S1}'] [data-move]").click()
    page.get_by_role("button", name="Take it out").click()
    expect(page.locator("[data-unplaced]")).to_contain_text("Invented One")

    page.get_by_role("button", name="Place Invented One").click()
    page.get_by_role("button", name="Move it there").click()
    expect(page.locator("[data-unplaced]")).to_have_count(0)


def test_locks_are_set_on_the_page_and_shown_on_it(new_page: NewPage) -> None:
    """A stop, a route and a day."""
    page = new_page(f"/week/{WEEK}")
    page.locator(f"[data-stop='{S1}'] [data-move]").click()
    page.get_by_role("button", name="Lock it").click()
    expect(page.locator(f"[data-stop='{S1}'] .lock")).to_have_text("locked")

    day = page.get_by_role("button", name="Lock Monday 30 November")
    day.click()
    expect(page.get_by_role("button", name="Locked Monday 30 November")).to_be_visible()


def test_planning_again_shows_what_changes_before_it_is_taken(new_page: NewPage) -> None:
    """The plan stays as it is until somebody says yes."""
    page = new_page(f"/week/{WEEK}")
    drag(page, S1, "[data-stop='S3/2026-W49/1']")
    expect(page.locator("#map .pin")).to_have_text(["I1", "IB1", "IB2"])
    page.get_by_role("button", name="Plan this week again").click()

    panel = page.locator(".proposal")
    expect(panel).to_contain_text("Invented One", timeout=120_000)
    assert route(page, "T2", MONDAY) == ["Invented One", "Invented Three"]
    panel.get_by_role("button", name="Take the proposal").click()
    expect(panel).to_have_count(0)
    assert "Invented One" not in route(page, "T2", MONDAY)


def test_the_check_list_and_the_comparison_fit_on_a_phone(new_page: NewPage) -> None:
    """They are read on the way, too."""
    for address in (f"/week/{WEEK}/check", f"/week/{WEEK}/compare"):
        page = new_page(address, width=360, height=740)
        assert page.evaluate("document.documentElement.scrollWidth") == 360, address
    page = new_page(f"/week/{WEEK}/check")
    expect(
        page.get_by_text("Has every customer the visits agreed, and none twice?")
    ).to_be_visible()


def test_the_pages_of_the_desk_fit_on_a_phone(new_page: NewPage) -> None:
    """New customer with its offers, import and export at 360 px."""
    offers = "/new-customer?name=Invented+Four&address=2+ab+street&favourite=2"
    for address in (offers, "/import/sites", "/export"):
        page = new_page(address, width=360, height=740)
        assert page.evaluate("document.documentElement.scrollWidth") == 360, address
    page = new_page(offers)
    expect(page.get_by_role("button", name="Take on with Invented Alma").first).to_be_visible()


def test_a_table_is_matched_in_the_browser(new_page: NewPage, tmp_path: Path) -> None:
    """Upload, look at the guesses, try; nothing is taken in here."""
    file = tmp_path / "theirs.csv"
    file.write_text(
        "Account;Customer;Street;How often;Minutes\nS9;Invented;2 ab street;weekly;20\n"
    )
    page = new_page("/import/sites", width=360, height=740)
    page.get_by_label("File").set_input_files(file)
    page.get_by_role("button", name="Next: match the columns").click()
    expect(page.get_by_label("Customer")).to_have_value("name")
    assert page.evaluate("document.documentElement.scrollWidth") == 360
    page.get_by_role("button", name="Try it").click()
    expect(page.get_by_text("This would come of it")).to_be_visible()
