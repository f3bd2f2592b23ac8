"""How long logging one check takes from the shell, beside Python importing click alone.

Run it with: python tests/benchmarks/startup.py
The contract: `rearlog log` takes no more than 3 times what `import click` takes.
"""

import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

ROUNDS = 25
REARLOG = [sys.executable, "-c", "from rearlog.cli.main import main; main()"]


def seconds(command: list[str], folder: Path) -> float:
    begin = time.perf_counter()
    subprocess.run(command, cwd=folder, check=True, capture_output=True)
    return time.perf_counter() - begin


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        subprocess.run(
            [*REARLOG, "start", "room", "--species", "painted-lady", "--eggs", "24",
             "--on", "2026-01-01", "--quiet"],
            cwd=folder, check=True,
        )  # fmt: skip
        commands: dict[str, Callable[[int], list[str]]] = {
            "python -c pass": lambda _: [sys.executable, "-c", "pass"],
            "import click": lambda _: [sys.executable, "-c", "import click"],
            "rearlog --help": lambda _: [*REARLOG, "--help"],
            "rearlog log": lambda round_: [
                *REARLOG, "log", "room", "1-9 same; rest same",
                "--on", f"2026-01-02T{round_ // 60:02d}:{round_ % 60:02d}",
            ],
        }  # fmt: skip
        times: dict[str, list[float]] = {name: [] for name in commands}
        for round_ in range(ROUNDS):
            for name, command in commands.items():  # side by side: all share the machine's moods
                times[name].append(seconds(command(round_), folder))
    base = statistics.median(times["import click"])
    for name, values in times.items():
        middle = statistics.median(values)
        print(f"{name:16} {middle * 1000:7.1f} ms   {middle / base:4.2f} × import click")


if __name__ == "__main__":
    main()
