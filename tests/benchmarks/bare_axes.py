"""Bare axes as SVG: for each number given, one picture with so many of them."""

import io
import sys

from matplotlib.figure import Figure

for count in map(int, sys.argv[1:]):
    figure = Figure(figsize=(7.0, 4.6))
    figure.subplots(count)
    figure.savefig(io.BytesIO(), format="svg")
