"""The names of the degree-day methods and cutoffs. Without numpy: a command's help names them."""

METHODS = (
    "average",
    "clipped-average",
    "single-sine",
    "double-sine",
    "single-triangle",
    "double-triangle",
    "readings",
)
CUTOFFS = ("horizontal", "intermediate", "vertical")
