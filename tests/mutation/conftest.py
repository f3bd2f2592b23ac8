"""The order of the tests, where the sample of faults is among them."""

import pytest


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What takes longest begins first: at the end one core would wait for the other."""
    items.sort(key=lambda item: "test_nine_in_ten_faults_are_caught" not in item.name)
