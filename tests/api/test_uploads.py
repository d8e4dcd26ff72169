from __future__ import annotations

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from api.jobs.map_building import uploads_folder
from api.uploads import Upload, safe_name
from dispatch.errors import UnreadableMap
from tests.signed_in import signed_in_client
from tests.town import Company

FORM = (
    b'--mark\r\nContent-Disposition: form-data; name="note"\r\n\r\nfor you\r\n'
    b'--mark\r\nContent-Disposition: form-data; name="file"; filename="town.osm"\r\n'
    b"Content-Type: text/xml\r\n\r\n<osm>\r\n--mar</osm>\r\n--mark--\r\n"
)
MULTIPART = {"Content-Type": "multipart/form-data; boundary=mark"}


@pytest.mark.parametrize("size", [1, 7, 10_000])
def test_the_file_of_a_form_arrives_whole_whatever_the_pieces(tmp_path: Path, size: int) -> None:
    """A network cuts where it likes: in a header, in a boundary, in what looks like one."""
    upload = Upload(b"mark", tmp_path / "one", 1000)
    for start in range(0, len(FORM), size):
        upload.write(FORM[start : start + size])
    file = upload.finish()
    assert file == tmp_path / "one" / "town.osm"
    assert file.read_bytes() == b"<osm>\r\n--mar</osm>"


def test_pieces_are_on_the_disk_as_they_come(tmp_path: Path) -> None:
    """A gigabyte must not be in the memory first; what is written may lag by one buffer."""
    upload = Upload(b"mark", tmp_path / "one", 100_000_000)
    upload.write(FORM[: FORM.index(b"<osm>")])
    for count in range(1, 11):
        upload.write(b"x" * 1_000_000)
        assert (tmp_path / "one" / "town.osm").stat().st_size >= (count - 1) * 1_000_000
    upload.close()


@pytest.mark.parametrize(
    ("sent", "kept"),
    [
        ("region.osm.pbf", "region.osm.pbf"),
        ("../../../etc/region.osm", "region.osm"),
        ("..\\..\\windows\\region.OSM.GZ", "region.osm.gz"),
        ("/absolute/Nord Süd (1).osm.bz2", "Nord-Süd-1.osm.bz2"),
        ("...osm", "extract.osm"),
        (".osm", "extract.osm"),
        ("a\x00b\n.osm", "a-b.osm"),
        ("nul.osm", "extract-nul.osm"),
        ("COM1.txt.osm.gz", "extract-COM1.txt.osm.gz"),
        ("é" * 300 + ".osm", "é" * 60 + ".osm"),
    ],
)
def test_a_name_is_only_a_name(sent: str, kept: str) -> None:
    """Folders, dots, line ends and lengths in it lead nowhere."""
    assert safe_name(sent) == kept


@pytest.mark.parametrize("name", ["", "region.zip", "region.osm.exe", "osm", ".."])
def test_what_is_no_extract_is_refused_by_its_name(name: str) -> None:
    """With the endings that are read."""
    with pytest.raises(UnreadableMap, match=r"\.osm\.pbf, \.osm\.gz, \.osm\.bz2, \.osm"):
        safe_name(name)


def test_a_path_in_the_name_leaves_no_file_elsewhere(client: TestClient, planned: Company) -> None:
    """The whole way through the service."""
    files = {"file": ("../../../escaped.osm", b"<osm/>")}
    assert client.post("/api/map", files=files).json()["file_name"] == "escaped.osm"
    everywhere = planned.settings.data_dir.parent.rglob("escaped*")
    assert all(uploads_folder(planned.settings) in one.parents for one in everywhere)


def test_an_extract_beyond_the_limit_is_refused_and_not_kept(planned: Company) -> None:
    """A disk has an end. The limit of 1,000 bytes keeps the test quick."""
    settings = planned.settings.model_copy(update={"map_upload_limit_gb": 1e-6})
    with signed_in_client(settings) as client:
        at_limit = client.post("/api/map", files={"file": ("a.osm", b"x" * 1000)})
        beyond = client.post("/api/map", files={"file": ("b.osm", b"x" * 1001)})
        page = client.post("/map", files={"file": ("b.osm", b"x" * 100_000)})

        assert at_limit.status_code == 202
        assert (beyond.status_code, beyond.json()["code"]) == (413, "too-large")
        assert "DISPATCH_MAP_UPLOAD_LIMIT_GB" in beyond.json()["detail"]
        assert page.status_code == 413
        kept = {one.name for one in uploads_folder(settings).rglob("*.osm")}
        assert kept <= {"a.osm"}


@pytest.mark.parametrize(
    ("body", "headers", "words"),
    [
        (FORM[:-30], MULTIPART, "broke off"),
        (b"--mark--\r\n", MULTIPART, "no file in the form"),
        (b"", MULTIPART, "no file in the form"),
        (b"rubbish", MULTIPART, "not written as multipart/form-data"),
        (b"{}", {"Content-Type": "application/json"}, "multipart/form-data"),
        (FORM.replace(b'"town.osm"', b'""'), MULTIPART, "does not end like"),
        (FORM.replace(b"town.osm", b"town.zip"), MULTIPART, "does not end like"),
    ],
)
def test_an_upload_that_is_none_is_told_in_words_and_not_kept(
    client: TestClient, planned: Company, body: bytes, headers: dict[str, str], words: str
) -> None:
    """Broken connections, empty forms and other people's programs."""
    answer = client.post("/api/map", content=body, headers=headers)
    assert answer.status_code == 422
    assert words in answer.json()["detail"]
    assert list(uploads_folder(planned.settings).glob("*")) == []
    assert client.get("/api/jobs").json() == []
