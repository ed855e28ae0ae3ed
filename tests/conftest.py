"""One Hypothesis profile for all tests: no deadline (machines differ), the same examples every run."""

from hypothesis import settings

settings.register_profile("everywhere", deadline=None, derandomize=True)
settings.load_profile("everywhere")
