"""What several tests share."""

import os
import tempfile

from hypothesis import settings

# an error that nobody foresaw must fail a test, also in the programs that a test starts
os.environ["REARLOG_DEBUG"] = "1"
# nor may a test read what is usual for whoever runs it: a file that cannot be
os.environ["REARLOG_SETTINGS"] = os.path.join(os.devnull, "settings.toml")
# nor keep anything of what it worked out where a user keeps it
_cache = tempfile.TemporaryDirectory(prefix="rearlog-cache-", ignore_cleanup_errors=True)
os.environ["XDG_CACHE_HOME"] = _cache.name

# the two cores of a small machine are shared: a slow example is no failure
settings.register_profile("rearlog", deadline=None)
settings.load_profile("rearlog")
