"""What several tests share."""

from hypothesis import settings

# the two cores of a small machine are shared: a slow example is no failure
settings.register_profile("rearlog", deadline=None)
settings.load_profile("rearlog")
