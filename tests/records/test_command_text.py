"""Texts that name a command, which a page says in other words."""

import ast
import pickle
import re
from pathlib import Path

import rearlog
from rearlog.records.command_text import CommandText, in_browser

ROOT = Path(rearlog.__file__).parent
NAMES_A_COMMAND = re.compile(r"(?:“|: )rearlog [a-z]|(?<!\S)--[a-z]")
ROOMS = (
    *("analysis", "exchange", "gathering", "interface", "notebook", "records", "sentences"),
    *("species", "store"),
)
FOR_COMMANDS = {
    "exchange/bundle.py": "folders that a command writes",
    "exchange/size_card.py": "a card on paper",
    "gathering/kept.py": "a cache that a command is told of",
    "sentences/meanings/trade.py": "explained by a command and by documents",
    "species/describing.py": "a file that is written at a terminal",
}
"""Where texts name commands to those alone who have them, and why pages do not show them."""


def test_a_text_keeps_both_of_its_wordings_when_more_is_said() -> None:
    remedy = "20 °C is taken; " + CommandText("add --unit F", "choose °F") + ", or leave it"
    assert remedy == "20 °C is taken; add --unit F, or leave it"
    assert in_browser(remedy) == "20 °C is taken; choose °F, or leave it"
    both = CommandText("a", "b") + CommandText("c", "d")
    assert (both, in_browser(both)) == ("ac", "bd")
    assert in_browser("the same for both") == "the same for both"


def test_it_comes_back_whole_from_another_process() -> None:
    told = pickle.loads(pickle.dumps(CommandText("add --unit F", "choose °F")))
    assert (told, in_browser(told)) == ("add --unit F", "choose °F")


def test_whatever_names_a_command_says_what_a_page_says_instead() -> None:
    found = {
        f"{file.relative_to(ROOT)}, line {line}: {text}"
        for room in ROOMS
        for file in sorted((ROOT / room).rglob("*.py"))
        if str(file.relative_to(ROOT)) not in FOR_COMMANDS
        for line, text in bare_commands(ast.parse(file.read_text(encoding="utf-8")))
    }
    assert found == set()


def test_those_for_commands_alone_do_name_some() -> None:
    for name in FOR_COMMANDS:
        assert [*bare_commands(ast.parse((ROOT / name).read_text(encoding="utf-8")))], name


def bare_commands(tree: ast.AST) -> list[tuple[int, str]]:
    """Texts that name a command and stand neither in a CommandText nor as a docstring."""
    if isinstance(tree, ast.Call) and getattr(tree.func, "id", "") == "CommandText":
        return []
    if isinstance(tree, ast.Expr) and isinstance(tree.value, ast.Constant):
        return []
    if isinstance(tree, ast.Constant):
        text = str(tree.value)
        return [(tree.lineno, text)] if NAMES_A_COMMAND.search(text) else []
    return [each for child in ast.iter_child_nodes(tree) for each in bare_commands(child)]
