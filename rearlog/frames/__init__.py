"""Tables whose columns have types, and their ways into Arrow, pandas and polars."""
