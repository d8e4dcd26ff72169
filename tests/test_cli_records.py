"""Records, follow-ups, water, learnt figures and loads from a shell."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from dispatch.cli import run
from dispatch.settings import Settings
from tests.records.samples import content, full_content, record_id
from tests.town import HOLDS_CSV, SITES_CSV, TECHNICIANS_CSV, drawn_town

TABLE = """\
site_id,technician_id,day,arrived,left,ph,free_chlorine,water_temperature,filter_pressure,products
S1,T1,2026-11-23,09:00,09:30,7.4,0.5,84 °F,29 psi; 18 psi,liquid-chlorine 32 fl oz @ 125
S2,T1,2026-11-23,09:40,10:25,7.9,2.0,84 °F,,
"""


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a full book, and settings that point to it."""
    for name in Settings.model_fields:
        monkeypatch.delenv(f"DISPATCH_{name.upper()}", raising=False)
    monkeypatch.setenv("DISPATCH_DATA_DIR", str(tmp_path / "data"))
    monkeypatch.setenv("DISPATCH_FIXED_TODAY", "2026-11-25T23:59:59")
    monkeypatch.chdir(tmp_path)
    for name, text in (
        ("sites.csv", SITES_CSV),
        ("technicians.csv", TECHNICIANS_CSV),
        ("holds.csv", HOLDS_CSV),
        ("records.csv", TABLE),
    ):
        (tmp_path / name).write_text(text)
    for noun in ("technicians", "sites", "holds"):
        assert run([noun, "import", f"{noun}.csv"]) == 0
    return tmp_path


def rows(capsys: pytest.CaptureFixture[str], *words: str) -> list[dict[str, str]]:
    """What a command prints as CSV."""
    capsys.readouterr()
    assert run([*words, "--csv"]) == 0
    return list(csv.DictReader(io.StringIO(capsys.readouterr().out)))


def test_a_table_of_records_is_taken_in_once(capsys: pytest.CaptureFixture[str]) -> None:
    """A paper sheet typed up; the same file again changes nothing."""
    assert run(["records", "import", "records.csv"]) == 0
    assert run(["records", "import", "records.csv"]) == 0
    said = capsys.readouterr().out
    assert "2 records; 0 were known already" in said
    assert "0 records; 2 were known already" in said
    found = rows(capsys, "records", "list")
    assert [one["site_id"] for one in found] == ["S1", "S2"]
    assert found[0]["filter_pressure"] == "199.948 kPa; 124.106 kPa"
    assert len(rows(capsys, "records", "list", "--site", "S2")) == 1
    assert rows(capsys, "records", "list", "--from", "2026-11-24") == []


def test_lines_are_taken_in_and_faults_set_aside(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What a phone kept as JSON lines; the bad one waits and is taken in once mended."""
    bad = content(2, readings=[{"kind": "water-temperature", "value": 84}])
    lines = "\n".join(json.dumps(one) for one in (full_content(), bad))
    (folder / "phone.jsonl").write_text(lines)
    assert run(["records", "import", "phone.jsonl"]) == 0
    assert "84 °F is 28.9 °C" in capsys.readouterr().err
    (aside,) = rows(capsys, "records", "aside")
    fields = json.dumps({"readings": [{"kind": "water-temperature", "value": 84, "unit": "F"}]})
    assert run(["records", "accept", aside["id"], "--by", "Office", "--fields", fields]) == 0
    assert rows(capsys, "records", "aside") == []
    capsys.readouterr()
    assert run(["records", "export", "--site", "S2"]) == 0
    assert json.loads(capsys.readouterr().out)["note"] == "Gate sticks."


def test_a_record_is_corrected_with_its_history(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Who, why and both contents."""
    (folder / "phone.jsonl").write_text(json.dumps(content(note="first")))
    run(["records", "import", "phone.jsonl"])
    words = ["records", "correct", record_id(1), "--by", "Office", "--reason", "misheard"]
    assert run([*words, "--fields", '{"note": "second"}']) == 0
    assert run([*words, "--fields", "note"]) == 1
    versions = rows(capsys, "records", "history", record_id(1))
    assert [one["changed_by"] for one in versions] == ["T1", "Office"]
    assert versions[1]["reason"] == "misheard"


def test_what_is_not_wanted_is_dismissed(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """It leaves the list, signed."""
    (folder / "phone.jsonl").write_text('{"nonsense": 1}')
    run(["records", "import", "phone.jsonl"])
    (aside,) = rows(capsys, "records", "aside")
    assert run(["records", "dismiss", aside["id"], "--by", "Office", "--why", "a test"]) == 0
    assert rows(capsys, "records", "aside") == []


def test_follow_ups_are_listed_and_settled(capsys: pytest.CaptureFixture[str]) -> None:
    """0.5 ppm with chlorine added is looked at again after two days."""
    run(["records", "import", "records.csv"])
    (found,) = rows(capsys, "follow-ups", "list")
    assert (found["kind"], found["due_on"]) == ("unsafe-water", "2026-11-25")
    assert run(["follow-ups", "settle", found["id"], "--by", "Office", "--outcome", "fine"]) == 0
    assert rows(capsys, "follow-ups", "list") == []


def test_water_is_advised_with_its_cautions(capsys: pytest.CaptureFixture[str]) -> None:
    """The list is on the output, the cautions beside it."""
    run(["records", "import", "records.csv"])
    capsys.readouterr()
    assert run(["water", "advice", "S1"]) == 0
    said = capsys.readouterr()
    assert "Free chlorine" in said.out
    assert "Never mix chlorine with acid" in said.err
    assert len(rows(capsys, "water", "advice", "S1")) == 2


def test_doses_and_index_are_computed_in_a_shell(capsys: pytest.CaptureFixture[str]) -> None:
    """D6 is 1.6 qt, L3 is +0.2; without a temperature there is no index."""
    assert run(["water", "dose", "acid", "--gallons", "20000", "--change", "10"]) == 0
    assert "1.6 qt" in capsys.readouterr().out
    words = ["water", "index", "--ph", "7.6", "--calcium", "300", "--alkalinity", "75"]
    assert run([*words, "--temperature-f", "84"]) == 0
    assert "Saturation index: +0.2" in capsys.readouterr().out
    assert run(words) == 1


def test_a_volume_is_estimated_or_measured_in_a_shell(capsys: pytest.CaptureFixture[str]) -> None:
    """24 ft round and 4 deep has 13,536 gal (V2); 267.05 lb of salt in 10,000 raise 3,200 ppm."""
    assert run(["water", "volume", "round", "--length", "24", "--depth", "4"]) == 0
    assert "13,536 US gallons" in capsys.readouterr().out
    metric = ["--length", "10", "--width", "5", "--depth", "1.5", "--metres"]
    assert run(["water", "volume", "rectangle", *metric]) == 0
    assert "75,000.0 l" in capsys.readouterr().out
    assert run(["water", "volume", "oval", "--length", "24", "--depth", "4"]) == 1
    salt = ["--before", "0", "--after", "3200", "--pounds", "267.05"]
    assert run(["water", "volume-by-salt", *salt]) == 0
    assert "10,000 US gallons" in capsys.readouterr().out


def test_targets_are_set_and_reset(capsys: pytest.CaptureFixture[str]) -> None:
    """The company's own range, and the delivered one again."""
    words = [
        "water",
        "set-target",
        "ph",
        "--by",
        "Office",
        "--least",
        "7.2",
        "--ideal-low",
        "7.3",
        "--ideal-high",
        "7.5",
    ]
    assert run([*words, "--most", "7.8"]) == 0
    targets = {one["reading"]: one for one in rows(capsys, "water", "targets")}
    assert targets["ph"]["source"].startswith("own target, set by Office")
    assert run(["water", "reset-target", "ph"]) == 0
    targets = {one["reading"]: one for one in rows(capsys, "water", "targets")}
    assert "from memory" in targets["ph"]["source"]
    assert len(rows(capsys, "water", "ranges")) > 20


def test_overtime_is_owed_by_the_pool_too(capsys: pytest.CaptureFixture[str]) -> None:
    """P1, the example of 29 CFR 778.111(a): 50 hours, $491 by the piece, 4 of waiting at $8."""
    assert run(["overtime", "50", "491", "--other", "32"]) == 0
    said = capsys.readouterr()
    assert "premium 52.30, pay of the week 575.30" in said.out
    assert "state law" in said.err
    assert run(["overtime", "0", "491"]) == 1


def test_learnt_figures_and_loads_are_listed(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Minutes, paces, drive times and the truck of a day."""
    drawn_town().write(folder)
    run(["records", "import", "records.csv"])
    minutes = {one["site_id"]: one for one in rows(capsys, "learnt", "minutes")}
    assert (minutes["S1"]["agreed_min"], minutes["S1"]["actual_min"]) == ("30", "30.0")
    assert rows(capsys, "learnt", "paces")[0]["technician_id"] == "T1"
    assert run(["learnt", "drives"]) == 1  # no map to compare with
    assert run(["map", "build", "drawn.osm"]) == 0
    assert "too little data" in rows(capsys, "learnt", "drives")[0]["words"]
    assert run(["learnt", "drives", "--apply"]) == 0
    assert (folder / "data" / "drive_factors.json").is_file()
    assert run(["plan", "2026-W49", "--iterations", "100"]) == 0
    loads = [rows(capsys, "load", "T1", f"2026-{day}") for day in ("11-30", "12-03", "12-04")]
    assert any(one["what"] == "Liquid chlorine" for load in loads for one in load)
    assert rows(capsys, "records", "columns")[1]["column"] == "site_id"
