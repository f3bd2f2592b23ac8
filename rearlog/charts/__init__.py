"""Pictures of the answers: each chart is made from result objects and computes nothing.

A module a chart, with a function of its name that returns a figure, `title` (the finding) and
`alt_text` (one sentence that stands for the chart). `output` makes files of figures.
"""
