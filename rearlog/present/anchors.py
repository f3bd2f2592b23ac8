"""The part of an address that leads to a heading."""


def anchor(heading: str) -> str:
    """What a heading is reached by: `a-week-of-looks`."""
    kept = "".join(each if each.isalnum() else " " for each in heading.casefold())
    return "-".join(kept.split())
