"""The faults themselves: what is made of a line, and that a planted one is met everywhere."""

import ast
import sys
from pathlib import Path

import pytest

from tests.mutation.coverage import Coverage
from tests.mutation.operators import mutants, mutated
from tests.mutation.picking import picked
from tests.mutation.planting import functions_by_file, plant

MODULE = '''"""A module."""
LIMITS = (0.05, 0.95)


def inside(value: float, low: float = 2.0) -> bool:
    """Says 1 + 1."""
    return LIMITS[0] <= value < low
'''


@pytest.mark.parametrize(
    ("line", "faults"),
    [
        ("x = a < b", {"x = a <= b"}),
        ("x = se / days**2", {"x = se * days ** 2", "x = se / days", "x = se / days ** 3"}),
        ("x = (0.05, 0.95)", {"x = (0.1, 0.95)", "x = (0.05, 0.9)"}),
        ("x = len(days - {begin})", {"x = len(days)"}),
        ("x = f'{mean:.2f}'", {"x = f'{mean:.1f}'"}),
        ("x = f'{mean:.1f} of {n:d}'", {"x = f'{mean:.2f} of {n:d}'"}),
        ("x = max(0.0, y)", {"x = 0.0", "x = max(1.0, y)"}),
        ("x = between(a, b)", {"x = between(b, a)"}),
        ("x = a and b", {"x = a or b", "x = a", "x = b"}),
        ("x = y[a:b]", {"x = y[:b]", "x = y[a:]"}),
        ("x = [a for a in b if a]", {"x = [a for a in b]"}),
        ("x = a if b else c", {"x = c if b else a"}),
        ("x: tuple[int, 3] = not y", {"x: tuple[int, 3] = y"}),
        ("def f():\n    return y", {"def f():\n    return None"}),
        ("'no more than 3'", set()),
        (
            "class A(Struct, frozen=True):\n    b = 0.5",
            {"class A(Struct, frozen=True):\n    b = 1.0"},
        ),
    ],
)
def test_the_slips_of_the_pen_in_a_line(line: str, faults: set[str]) -> None:
    made = {ast.unparse(mutated(line, each.index)) for each in mutants("m.py", line)}
    assert made == faults


def test_a_fault_tells_where_it_is() -> None:
    found = {each.old: each for each in mutants("m.py", MODULE)}
    assert (found["0.95"].line, found["0.95"].scope, found["0.95"].in_function) == (2, "", False)
    assert (found["2.0"].scope, found["2.0"].in_function) == ("inside", False)
    assert found["LIMITS[0] <= value < low"].in_function
    assert found["0.95"].name == "m.py (module): 0.95 → 0.9"
    with pytest.raises(IndexError):
        mutated(MODULE, len(mutants("m.py", MODULE)))


def test_what_is_written_elsewhere_leaves_a_sample_as_it_is() -> None:
    lines = [f"def f{n}(a, b):\n    return a < b or a + {n} > 2 * b\n" for n in range(30)]
    before = mutants("m.py", "".join(lines))
    after = mutants(
        "m.py", "".join(["import os\n\nX = 3\n", *lines, "def g(a):\n    return 2 * a\n"])
    )
    some = [each.name for each in picked(before, 40, 1)]
    again = [each.name for each in picked(after, 40, 1)]
    assert len(some) == len(again) == 40
    new = [name for name in again if name not in some]
    assert all("g:" in name or "(module)" in name for name in new)
    assert len(new) <= 3
    assert some == [each.name for each in before if each.name in some]  # in their order
    other = [each.name for each in picked(before, 40, 2)]
    assert len(set(some) & set(other)) < 30


def test_a_planted_fault_is_met_by_all_who_refer_to_the_function(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "planted_in.py"
    file.write_text(MODULE, encoding="utf-8")
    monkeypatch.syspath_prepend(str(tmp_path))
    monkeypatch.delitem(sys.modules, "planted_in", raising=False)
    import planted_in  # type: ignore[import-not-found]

    held = planted_in.inside
    (functions,) = functions_by_file(str(tmp_path)).values()
    assert held(0.05)
    assert not held(2.0)

    def put(old: str, new: str) -> None:
        fault = next(each for each in mutants("m", MODULE) if (each.old, each.new) == (old, new))
        plant(planted_in, MODULE, fault.index, functions, not fault.in_function)

    put("LIMITS[0] <= value < low", "LIMITS[0] <= value <= low")
    assert held(2.0)
    put("2.0", "4.0")
    assert held(3.0)
    put("0.05", "0.1")
    assert not held(0.05)


def test_a_function_within_another_is_tried_by_the_tests_of_that_one() -> None:
    """Traces count what is inside a function as the function."""
    coverage = Coverage([("a", 0.1, ["m.py::outer"]), ("b", 0.1, ["m.py::Kind.method"])])
    (fault,) = (
        each
        for each in mutants("m.py", "def outer():\n    def inner():\n        return 7\n")
        if each.new == "8"
    )
    assert fault.scope == "outer.inner"
    assert coverage.of_function("m.py", fault.scope) == coverage.of_function("m.py", "outer")
    assert coverage.of_function("m.py", "outer") == {"a"}
    assert coverage.of_function("m.py", "Kind.method") == {"b"}
    assert coverage.of_function("m.py", "Kind.other") == coverage.of_function("m.py", "no") == set()
