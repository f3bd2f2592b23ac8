"""`rearlog serve` and `rearlog-app` as programs: they begin, are found again, and end."""

from __future__ import annotations

import contextlib
import http.client
import http.server
import json
import os
import re
import signal
import socket
import stat
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner
from msgspec.structs import replace
from werkzeug.serving import make_server

from rearlog.cli import main as commands
from rearlog.cli import serve
from rearlog.web import running, server
from rearlog.web.app import create_app
from rearlog.web.desk import Desk
from rearlog.web.door import Door
from rearlog.web.shelf import Shelf
from tests.web.visiting import Browser, cohort_file, desk_over

LONG_SECONDS = 60
Program = Callable[..., "subprocess.Popen[str]"]


@pytest.fixture
def program(tmp_path: Path) -> Iterator[Program]:
    """Starts a program that ends with the test at the latest; interrupts reach it."""
    started: list[subprocess.Popen[str]] = []

    def start(module: str, *args: str, **environ: str) -> subprocess.Popen[str]:
        made = subprocess.Popen(
            [sys.executable, "-u", "-c", f"from rearlog.cli.{module} import main; main()", *args],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            cwd=tmp_path,
            env={**os.environ, **environ},
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
        )
        started.append(made)
        return made

    yield start
    for each in started:
        each.kill()
        each.communicate()


def first_of(made: subprocess.Popen[str]) -> tuple[int, str]:
    """The port and path of the address that a program shows."""
    assert made.stdout is not None
    found = re.search(r"http://127\.0\.0\.1:(\d+)(/enter/\S+)", made.stdout.readline())
    assert found is not None
    return int(found[1]), found[2]


def interrupted(made: subprocess.Popen[str]) -> str:
    """What a program has said aside until it ended well, after Ctrl+C."""
    made.send_signal(signal.SIGINT)
    _, aside = made.communicate(timeout=LONG_SECONDS)
    assert made.returncode == 0
    return aside


def asked(port: int, path: str, host: str = "127.0.0.1", **headers: str) -> tuple[int, str]:
    line = http.client.HTTPConnection(host, port, timeout=LONG_SECONDS)
    with contextlib.closing(line):
        line.request("GET", path, headers=headers)
        answer = line.getresponse()
        answer.read()
        return answer.status, answer.getheader("Location") or ""


def free(port: int) -> bool:
    with socket.socket() as tried:
        tried.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            tried.bind(("127.0.0.1", port))
        except OSError:
            return False
        return True


def test_a_shelf_opens_is_found_again_and_ends(program: Program, tmp_path: Path) -> None:
    cohort_file(tmp_path)
    share = ("--share", "--address", "127.0.0.2")
    one = program("main", "serve", "--port", "0", "--no-browser", *share)
    port, path = first_of(one)
    assert asked(port, path) == (303, "/")
    assert asked(port, "/join", "127.0.0.2")[0] == 200
    assert asked(port, "/join", Host="")[0] == 421
    note = tmp_path / ".rearlog" / "server"
    assert stat.S_IMODE(note.stat().st_mode) == 0o600
    assert path.rpartition("/")[2] not in note.read_text()

    two = program("main", "serve", "--no-browser", *share)
    again, other = first_of(two)
    _, aside = two.communicate(timeout=LONG_SECONDS)
    assert (two.returncode, again) == (0, port)
    assert "open already" in aside
    assert other != path
    assert asked(port, path)[0] == 403
    assert asked(port, other) == (303, "/")

    aside = interrupted(one)
    assert "To join as looker: http://127.0.0.2:" in aside
    assert aside.rstrip().endswith("Closed.")
    assert "Traceback" not in aside
    assert not note.exists()
    assert free(port)


def test_the_app_makes_its_folder_and_serves_it(program: Program, tmp_path: Path) -> None:
    folder = tmp_path / "at home" / "rearlog"
    made = program("app", "--port", "0", "--no-browser", REARLOG_DIR=str(folder))
    port, path = first_of(made)
    assert asked(port, path) == (303, "/")
    assert folder.is_dir()
    assert str(folder) in interrupted(made)
    assert list(folder.iterdir()) == []


def test_the_app_serves_the_folder_of_this_user(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from rearlog.cli import app

    told: list[list[str]] = []
    monkeypatch.setattr(commands, "main", lambda args, prog_name: told.append(args))
    monkeypatch.delenv("REARLOG_DIR", raising=False)
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    monkeypatch.setattr(sys, "argv", ["rearlog-app", "--share"])
    app.main()
    assert told == [["serve", str(tmp_path / "rearlog"), "--share"]]
    assert (tmp_path / "rearlog").is_dir()


# ---- a port that is taken


@pytest.fixture
def taken() -> Iterator[int]:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        yield other.getsockname()[1]


@pytest.fixture
def ends_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(server.Server, "run", lambda _server: None)


@pytest.mark.usefixtures("ends_at_once")
def test_a_port_that_another_program_has_is_told(taken: int, tmp_path: Path) -> None:
    args = ["serve", str(tmp_path), "--no-browser", "--port", str(taken)]
    found = CliRunner().invoke(commands.main, args)
    assert found.exit_code == 2
    assert f"127.0.0.1 port {taken} cannot be had" in found.stderr
    assert "choose another with --port" in found.stderr


@pytest.mark.usefixtures("ends_at_once")
def test_where_the_usual_port_is_taken_a_free_one_is_found(
    taken: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(serve, "USUAL_PORT", taken)
    found = CliRunner().invoke(commands.main, ["serve", str(tmp_path), "--no-browser"])
    assert found.exit_code == 0
    assert "/enter/" in found.stdout
    assert f":{taken}/" not in found.stdout


# ---- who runs already: nobody is believed who does not prove it


@pytest.fixture
def ours(tmp_path: Path) -> Iterator[str]:
    """The address of a server over the folder, by whatever program it is run."""
    made = make_server("127.0.0.1", 0, lambda _environ, _start: [])
    with contextlib.ExitStack() as ends:
        ends.callback(made.server_close)
        own, hosts = "s" * 43, frozenset({f"127.0.0.1:{made.port}"})
        made.app = create_app(Desk(Shelf(tmp_path), Door(), hosts, own=own))
        thread = threading.Thread(target=made.serve_forever)
        thread.start()
        assert running.write_down(tmp_path, made.port, own)
        yield f"http://127.0.0.1:{made.port}"
        made.shutdown()
        thread.join(LONG_SECONDS)


def note_of(folder: Path) -> Path:
    return folder / ".rearlog" / "server"


def test_a_running_server_is_found_again_by_its_user_alone(ours: str, tmp_path: Path) -> None:
    note = note_of(tmp_path)
    found = running.open_already(tmp_path)
    assert found is not None
    assert (found.address, found.shared) == (ours, False)
    path = found.first_address.removeprefix(found.address)
    assert asked(int(ours.rpartition(":")[2]), path)[0] == 303
    told = note.read_text()
    note.chmod(0o644)
    assert running.open_already(tmp_path) is None
    note.unlink()
    elsewhere = tmp_path / "elsewhere"
    elsewhere.write_text(told)
    elsewhere.chmod(0o600)
    note.symlink_to(elsewhere)
    assert running.open_already(tmp_path) is None


@pytest.mark.usefixtures("ours")
def test_a_shelf_that_is_open_to_nobody_else_is_not_taken_for_a_shared_one(tmp_path: Path) -> None:
    args = ["serve", str(tmp_path), "--no-browser", "--share", "--address", "127.0.0.2"]
    found = CliRunner().invoke(commands.main, args)
    assert found.exit_code == 2
    assert "is open already, on this machine alone" in found.stderr


@pytest.mark.parametrize(
    "told",
    ["", "{", "[]", "null", "[" * 9999, "{}", '{"port": 1}', '{"port": "1", "secret": "x"}',
     '{"port": true, "secret": "x"}', '{"port": 99999, "secret": "x"}', '{"port": 1, "secret": 2}',
     '{"port": 1, "secret": ""}', "\xff"],
)  # fmt: skip
def test_what_was_left_behind_is_passed_over(told: str, tmp_path: Path) -> None:
    note = note_of(tmp_path)
    note.parent.mkdir()
    note.write_bytes(told.encode("latin-1"))
    note.chmod(0o600)
    assert running.open_already(tmp_path) is None
    assert running.write_down(tmp_path, 1, "s" * 43)
    assert json.loads(note.read_text()) == {"port": 1, "secret": "s" * 43}
    running.forget(tmp_path, "another")
    assert note.exists()
    running.forget(tmp_path, "s" * 43)
    assert not note.exists()


@pytest.mark.parametrize(
    "answer",
    [{}, {"first": "A" * 43, "shared": "", "proof": "0" * 64}, ["no"], "no", None,
     {"first": "../../evil", "shared": "", "proof": ""}],
)  # fmt: skip
def test_another_program_at_that_port_learns_no_secret_and_is_not_believed(
    answer: object, tmp_path: Path
) -> None:
    heard: list[str] = []

    class Impostor(http.server.BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            heard.append(self.rfile.read(int(self.headers["Content-Length"])).decode())
            self.send_response(200)
            self.end_headers()
            self.wfile.write(json.dumps(answer).encode())

        def log_message(self, *_anything: object) -> None:
            pass

    with http.server.HTTPServer(("127.0.0.1", 0), Impostor) as other:
        thread = threading.Thread(target=other.handle_request)
        thread.start()
        secret = "s" * 43
        assert running.write_down(tmp_path, other.server_address[1], secret)
        assert running.open_already(tmp_path) is None
        thread.join(LONG_SECONDS)
    assert len(heard) == 1
    assert secret not in heard[0]


def test_a_first_address_is_told_to_nobody_who_does_not_know_the_secret(tmp_path: Path) -> None:
    desk = desk_over(tmp_path)
    own = "s" * 43
    for known, nonce, secret, address in (
        ("", "n", "", "127.0.0.1"),  # a server that wrote nothing down
        (own, "n", "t" * 43, "127.0.0.1"),
        (own, "n", "", "127.0.0.1"),
        (own, "n", own, "192.0.2.7"),
    ):
        desk = replace(desk, own=known)
        form = {"nonce": nonce, "proof": running.proof(secret, "asks", nonce)}
        answer = Browser(desk, address).post("/again", data=form)
        assert answer.status_code == 404
        assert "first" not in answer.text
    right = {"nonce": "n", "proof": running.proof(own, "asks", "n")}
    assert Browser(desk).post("/again", data=right).status_code == 200
    assert Browser(desk).post("/again", data=right | {"nonce": "m"}).status_code == 404
