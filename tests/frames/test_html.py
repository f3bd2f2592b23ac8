"""Tables in a notebook: what is shown of which value, and nothing that a browser would run."""

from datetime import date, datetime, timedelta, timezone

from rearlog.frames.columns import TypedColumn, ValueKind
from rearlog.frames.html import as_html, cell
from rearlog.frames.typed import TypedTable


def test_values_are_short_and_blank_where_unknown() -> None:
    at = datetime(2026, 3, 29, 3, tzinfo=timezone(timedelta(hours=2)))
    values = [None, True, False, 3, 1 / 3, 12345.678, 1000.4, -2000.75, date(2026, 3, 9), at, "L1"]
    assert list(map(cell, values)) == [
        "",
        "yes",
        "no",
        "3",
        "0.3333",
        "12346",
        "1000",
        "-2001",
        "2026-03-09",
        "2026-03-29 01:00",
        "L1",
    ]


def test_all_text_is_escaped() -> None:
    table = TypedTable("t", (TypedColumn("<b>", ValueKind.TEXT),), (["<script>"],))
    assert as_html(table, "A & B") == (
        "<table><caption>A &amp; B</caption><thead><tr><th>&lt;b&gt;</th></tr></thead>"
        "<tbody><tr><td>&lt;script&gt;</td></tr></tbody></table>"
    )


def test_a_long_table_is_shortened_in_the_middle() -> None:
    columns = (TypedColumn("n", ValueKind.INTEGER),)
    short = as_html(TypedTable("t", columns, (range(20),)))
    assert short.count("<tr>") == 21
    assert "…" not in short
    assert "rows" not in short
    long = as_html(TypedTable("t", columns, (range(21),)))
    assert long.count("<tr>") == 22
    assert "<td>9</td></tr><tr><td>…</td></tr><tr><td>11</td>" in long
    assert long.endswith("<p>21 rows</p>")
