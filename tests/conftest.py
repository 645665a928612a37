"""Hypothesis without deadlines: no test here may fail because the machine is busy."""

from hypothesis import settings

settings.register_profile("house", deadline=None)
settings.load_profile("house")
