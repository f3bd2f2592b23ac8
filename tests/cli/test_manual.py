"""The manual pages and the completion that a command installs."""

import re
import shutil
import subprocess
from pathlib import Path

import click
import pytest

from rearlog.cli.main import COMMANDS, main
from rearlog.cli.man_pages import man_page, man_pages
from rearlog.cli.manual import COMPLETIONS
from tests.cli.conftest import Run


@pytest.fixture(scope="module")
def pages() -> dict[str, str]:
    return dict(man_pages(main, "rearlog"))


def test_every_command_has_a_page_with_all_its_options(pages: dict[str, str]) -> None:
    assert {f"rearlog-{name}.1" for name in COMMANDS} | {"rearlog.1"} <= {*pages}
    assert "rearlog-species-show.1" in pages
    ctx = click.Context(main, info_name="rearlog")
    for name in COMMANDS:
        command = main.get_command(ctx, name)
        assert command is not None
        page = pages[f"rearlog-{name}.1"]
        shown = page.replace("\\-", "-")
        for each in command.params:
            if isinstance(each, click.Option):
                assert each.opts[0] in shown, (name, each.opts)
                assert (each.help or "").split("\n")[0].replace("\\", "\\e") in shown


def test_no_line_of_a_page_is_a_request_by_accident(pages: dict[str, str]) -> None:
    known = re.compile(r"\.(TH|SH|PP|TP|B|BR|nf|fi|RS|RE)( |$)")
    for page in pages.values():
        for line in page.splitlines():
            assert not line.startswith((".", "'")) or known.match(line), line
            assert not re.search(r"\\(?![-efF&])", line), line


def test_what_troff_would_take_for_its_own_is_text() -> None:
    command = click.Command("x", help=".TH is -no- \\n request\n\n\b\n'quoted --it\n.so file")
    page = man_page(command, click.Context(command, info_name="x"))
    assert "\\&.TH is \\-no\\- \\en request" in page.splitlines()
    assert "\\&'quoted \\-\\-it" in page.splitlines()
    assert "\\&.so file" in page.splitlines()


@pytest.mark.skipif(shutil.which("groff") is None, reason="no groff here")
def test_troff_has_nothing_to_say_against_a_page(pages: dict[str, str]) -> None:
    told = subprocess.run(
        ["groff", "-man", "-Tutf8", "-ww", "-k"], input=pages["rearlog-log.1"].encode(),
        capture_output=True, timeout=60,
    )  # fmt: skip
    assert (told.returncode, told.stderr) == (0, b"")
    assert "rearlog log room" in told.stdout.decode()


def test_one_command_installs_all(run: Run, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(folder / "data"))
    told = run("manual").stderr
    assert str(folder / "data") in told
    assert (folder / "data" / "man" / "man1" / "rearlog-log.1").read_text().startswith(".TH")
    for shell, place in COMPLETIONS.items():
        script = (folder / "data" / place).read_text()
        assert f"_REARLOG_COMPLETE={shell}_complete" in script
    run("manual", "--into", "other")
    assert (folder / "other" / COMPLETIONS["bash"]).is_file()
    (folder / "file").touch()
    assert "cannot be made" in run("manual", "--into", "file/x", fails=1).stderr
