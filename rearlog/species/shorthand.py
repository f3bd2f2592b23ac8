"""What a profile file may leave out or put together: usual stage names, and runs of instars.

`L10-L22` as a stage's code stands for thirteen stages that are known to be alike; in the
likelihoods of an answer it stands for each of them. Documents are taken as they come: what has
not the expected shape is left for the reader to refuse.
"""

from __future__ import annotations

import re
from typing import Any

_RUN = re.compile(r"([LN])([1-9]\d?)-\1([1-9]\d?)")
_INSTAR = re.compile(r"([LN])([1-9]\d?)")
_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth")


def written_out(document: dict[str, Any]) -> dict[str, Any]:
    """The document with its runs of instars written out and its stages named."""
    full = dict(document)
    if isinstance(stages := full.get("stages"), list):
        full["stages"] = [each for stage in stages for each in _stages(stage)]
    if isinstance(questions := full.get("questions"), list):
        full["questions"] = [_with_each(each, "answers", _answer) for each in questions]
    return full


def codes_of(code: str) -> list[str]:
    """The stage codes that a code or a run of instars stands for."""
    run = _RUN.fullmatch(code)
    if run is None or int(run[2]) >= int(run[3]):
        return [code]
    return [f"{run[1]}{number}" for number in range(int(run[2]), int(run[3]) + 1)]


def stage_name(code: str) -> str:
    """The usual name of a stage: `third instar` for L3, `third nymphal instar` for N3."""
    instar = _INSTAR.fullmatch(code)
    if instar is None:
        return code
    number = int(instar[2])
    ordinal = _ORDINALS[number - 1] if number <= len(_ORDINALS) else _numbered(number)
    return f"{ordinal} {'nymphal instar' if instar[1] == 'N' else 'instar'}"


def _numbered(number: int) -> str:
    teens = 10 <= number % 100 <= 20
    return f"{number}{'th' if teens else {1: 'st', 2: 'nd', 3: 'rd'}.get(number % 10, 'th')}"


def _stages(stage: Any) -> list[Any]:
    if not isinstance(stage, dict) or not isinstance(stage.get("code"), str):
        return [stage]
    return [{"name": stage_name(code), **stage, "code": code} for code in codes_of(stage["code"])]


def _answer(answer: Any) -> Any:
    if not isinstance(answer, dict) or not isinstance(answer.get("likelihood"), dict):
        return answer
    likelihood = {
        each: value for code, value in answer["likelihood"].items() for each in codes_of(code)
    }
    return {**answer, "likelihood": likelihood}


def _with_each(table: Any, name: str, change: Any) -> Any:
    if not isinstance(table, dict) or not isinstance(table.get(name), list):
        return table
    return {**table, name: [change(each) for each in table[name]]}
