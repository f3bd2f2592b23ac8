"""Names that a file cannot have on every system to which it may be carried."""

from __future__ import annotations

from rearlog.records.errors import UsageError

# Source: “Naming Files, Paths, and Namespaces”, the documentation of the Windows file systems.
_DEVICES = frozenset(
    ["con", "prn", "aux", "nul", "conin$", "conout$"]
    + [f"{port}{number}" for port in ("com", "lpt") for number in "0123456789¹²³"]
)


def refuse_reserved(name: str) -> None:
    """Raise UsageError for the name of a device (whatever its ending), and for one that ends in a
    dot or a space: Windows writes to the device, or drops the end."""
    stem = name.split(".")[0].rstrip(" ").casefold()
    if stem in _DEVICES:
        raise UsageError(f"“{name}” is the name of a device on Windows", "choose another name")
    if name not in (".", "..") and name.endswith((".", " ")):
        raise UsageError(f"“{name}” ends in a dot or a space", "choose another name")
