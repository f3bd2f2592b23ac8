"""What the names of numbers mean: keys of results, headings of tables, marks of charts.

`word.py` says what an entry is, `every.py` has all of them, `methods.py` what methods assume and
where they were checked. Everything else that is explained comes from the docstrings of `analysis`.
"""
