"""The words of every fact: results in, sentences out. What charts, tables, page and JSON say.

What is said of the results of `analysis/ROOM/NAME.py` stands in `sentences/NAME.py`, in functions
that take a result. Its `TEXTS` names those that the JSON shows, by the kind of result and the key.
"""
