"""Pictures of the answers: each chart is made from result objects and computes nothing.

A module a chart, with a function of its name that returns a figure. What its title, its notes and
its text alternative say stands in `rearlog.sentences`. `output` makes files of figures.
"""
