"""The page that follows: nothing but the review's files can be reached, and it comes back to its place when it is written anew."""

from __future__ import annotations

import http.client
from collections.abc import Iterator
from pathlib import Path

import pytest
from browser import browser, needs_browser

from fuelsys.report.page.folder import LEDGER, write_files
from fuelsys.report.page.serving import Server, served
from fuelsys_cli import watching

PAGE = "<!doctype html><html><head></head><body style='height:9000px'><h1 id='far'>{}</h1></body></html>"


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    folder = tmp_path / "review"
    write_files(folder, {"index.html": PAGE.format("one").encode(), "tables/a.csv": b"a"}, replace=False)
    (tmp_path / "secret").write_text("secret")
    (folder / "mine.txt").write_text("secret")
    with served(folder) as found:
        yield found


def asked(server: Server, path: str, host: str = "", method: str = "GET") -> tuple[int, bytes]:
    """The path exactly as it is, which a polite client would tidy up."""
    line = http.client.HTTPConnection("127.0.0.1", server.server_port, timeout=10)
    line.putrequest(method, path, skip_host=True)
    line.putheader("Host", host or f"127.0.0.1:{server.server_port}")
    line.endheaders()
    answer = line.getresponse()
    told = answer.status, answer.read()
    line.close()
    return told


def test_the_review_is_there_and_only_as_served_has_the_page_a_script(server: Server) -> None:
    for name in ("", "index.html"):
        status, page = asked(server, f"/{server.token}/{name}")
        assert status == 200
        assert b"<script>" in page
    assert b"<script>" not in (server.folder / "index.html").read_bytes()
    assert asked(server, f"/{server.token}/tables/a.csv") == (200, b"a")
    assert server.server_address[0] == "127.0.0.1"


@pytest.mark.parametrize(
    "path",
    [
        "/", "/index.html", "/wrong/", "/wrong/index.html", "/{t}", "/{t}/tables", "/{t}/tables/", "/{t}/mine.txt", "/{t}/../secret",
        "/{t}/%2e%2e/secret", "/{t}/tables/../../secret", "/{t}/..%2fsecret", "/{t}//etc/hostname", "/{t}/{l}", "/{t}/a%00b",
        "/{t}/./index.html", "/{t}/tables//a.csv", "/{t}%C3%A9/index.html", "/{t}/link",
    ],
)  # fmt: skip
def test_all_else_is_not_found(server: Server, path: str) -> None:
    asked_for = path.format(t=server.token, l=LEDGER)
    assert asked(server, asked_for)[0] == 404


def test_another_host_and_a_link_are_not_found(server: Server, tmp_path: Path) -> None:
    assert asked(server, f"/{server.token}/", host="elsewhere.example")[0] == 404
    assert asked(server, f"/{server.token}/", host="127.0.0.1:1")[0] == 404
    assert asked(server, f"/{server.token}/", method="POST")[0] == 501
    (server.folder / "tables" / "a.csv").unlink()
    (server.folder / "tables" / "a.csv").symlink_to(tmp_path / "secret")
    assert asked(server, f"/{server.token}/tables/a.csv")[0] == 404


@needs_browser
def test_the_open_page_follows_and_stays_where_it_was(server: Server) -> None:
    """A part above opens late, as the explorer does once it has proved itself: by itself a browser would show what lies further on."""
    opens = "<script>setTimeout(() => { document.getElementById('late').style.height = '900px'; }, 300)</script>"
    parts = "<main><p id='late'></p><p style='height:2000px'></p><p id='read' style='height:3000px'>{}</p></main>"
    made = f"<!DOCTYPE html><body>{parts}{opens}</body>"
    (server.folder / "index.html").write_text(made.replace("{}", "one"))
    with browser() as page:
        page.set("Page.navigate", url=f"{server.address}#read")
        page.until("document.getElementById('late')?.style.height === '900px'")
        page.run("scrollBy(0, document.getElementById('read').getBoundingClientRect().top + 40)")
        write_files(server.folder, {"index.html": made.replace("{}", "two").encode()}, replace=True)
        server.written += 1
        page.until(
            "document.body?.innerText.includes('two') && document.getElementById('late').style.height === '900px'"
        )
        page.until("Math.abs(document.getElementById('read').getBoundingClientRect().top + 40) < 1")
        assert page.run("return location.hash") == "#read"


def test_a_save_is_seen_once_the_file_is_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file, saves = tmp_path / "a.toml", iter([b"", b"b", b"bb"])
    file.write_bytes(b"a")
    before = watching.state([file])

    def writes(_: float) -> None:
        if (data := next(saves, None)) is not None:
            file.unlink()
            file.write_bytes(data)

    monkeypatch.setattr(watching.time, "sleep", writes)
    assert watching.wait(before) == watching.state([file]) != before
    assert file.read_bytes() == b"bb"
