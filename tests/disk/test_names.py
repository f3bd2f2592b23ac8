"""The names are those of “Naming Files, Paths, and Namespaces” (Windows), which is published."""

import pytest

from rearlog.disk.names import refuse_reserved
from rearlog.records.errors import UsageError


@pytest.mark.parametrize(
    "name", ["CON", "con.json", "nul.tar.gz", "Aux.json", "COM1", "lpt9.txt", "COM¹.png", "prn .a"]
)
def test_the_names_of_devices_are_refused(name: str) -> None:
    with pytest.raises(UsageError, match="the name of a device on Windows"):
        refuse_reserved(name)


@pytest.mark.parametrize("name", ["room.", "room.json ", "room...", ". "])
def test_ends_that_windows_drops_are_refused(name: str) -> None:
    with pytest.raises(UsageError, match="ends in a dot or a space"):
        refuse_reserved(name)


@pytest.mark.parametrize(
    "name", ["room.json", "console.json", "com10.json", "lpt.json", "my.con", ".con", ".", "..", ""]
)
def test_names_like_them_are_free(name: str) -> None:
    refuse_reserved(name)
