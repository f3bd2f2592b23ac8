"""New cohort files on their way into a folder: all of them arrive, or none.

Several names cannot appear in one moment. So the files are drafted in the hidden folder, and one
rename says that they are to arrive; from then on, whoever opens the folder next gives the names
that a stopped program has not given any more.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path

from rearlog.disk.notices import tell
from rearlog.disk.writing import also_name, sync_folder
from rearlog.records.errors import StoreError
from rearlog.store.durable import HIDDEN, hidden_folder
from rearlog.store.locking import lock

_DRAFTED, _ARRIVING = "drafted", "arriving"


@contextlib.contextmanager
def drafting(folder: Path) -> Iterator[Path]:
    """An empty folder to draft cohort files in, kept to oneself; raises StoreError or OSError."""
    with lock(_door(folder)):
        if os.path.isdir(_arriving(folder)):
            _finish(folder)
        draft = hidden_folder(_door(folder)) / _DRAFTED
        _remove(draft)  # left by a program that was stopped
        os.mkdir(draft)
        try:
            yield draft
        finally:
            _remove(draft)


def arrive(folder: Path) -> None:
    """Let the drafted files arrive; the caller holds the locks of all of them.

    Raises OSError (FileExistsError where a name is taken), after which none is there.
    """
    draft = folder / HIDDEN / _DRAFTED
    tried: list[Path] = []
    sync_folder(draft)
    with contextlib.ExitStack() as undone:
        undone.callback(_withdraw, folder, tried)
        os.rename(draft, _arriving(folder))
        sync_folder(draft.parent)
        for source in _sources(folder):
            tried.append(source)
            also_name(source, folder / source.name)
        sync_folder(folder)
        undone.pop_all()
    _remove(_arriving(folder))


def finish(folder: Path) -> None:
    """Let arrive what a program that was stopped has left on its way, if the disk allows it."""
    if os.path.isdir(_arriving(folder)):
        with contextlib.suppress(StoreError, OSError), lock(_door(folder)):
            _finish(folder)


def clear(folder: Path) -> None:
    """Let arrive what is on its way, and throw away what a program that was stopped has drafted.

    Waits for one that is at work. Raises StoreError or OSError.
    """
    hidden = folder / HIDDEN
    if os.path.lexists(hidden / _DRAFTED) or os.path.lexists(hidden / _ARRIVING):
        with drafting(folder):
            pass


def is_arriving(path: Path) -> bool:
    """Whether a cohort file of this name is on its way."""
    return os.path.lexists(_arriving(path.parent) / path.name)


def _finish(folder: Path) -> None:
    for source in _sources(folder):
        target = folder / source.name
        try:
            also_name(source, target)
        except FileExistsError:  # of another program: rearlog itself keeps the name free
            if not source.samefile(target):
                tell(f"{target} is of another program: the new cohort of that name was dropped")
    sync_folder(folder)
    _remove(_arriving(folder), whatever_happens=False)


def _remove(folder: Path, *, whatever_happens: bool = True) -> None:
    import shutil  # start-up time: every reading of a cohort comes through here

    shutil.rmtree(folder, ignore_errors=whatever_happens)


def _withdraw(folder: Path, tried: list[Path]) -> None:
    """Undo what was done; while a name is still to be taken back, all of them may yet arrive."""
    with contextlib.suppress(OSError):
        for source in tried:
            target = folder / source.name
            if not source.exists():
                os.rename(target, source)
            elif target.exists() and target.samefile(source):
                os.unlink(target)
        os.rename(_arriving(folder), folder / HIDDEN / _DRAFTED)


def _sources(folder: Path) -> list[Path]:
    with os.scandir(_arriving(folder)) as entries:  # unlike a glob, it tells when it cannot look
        return sorted(Path(each.path) for each in entries if each.name.endswith(".json"))


def _arriving(folder: Path) -> Path:
    return folder / HIDDEN / _ARRIVING


def _door(folder: Path) -> Path:
    """What is locked by whoever lets cohorts arrive."""
    return folder / "new-cohorts"
