"""Property tests on a machine that others use too: an example may be slow without being wrong."""

from hypothesis import settings

settings.register_profile("shared machine", deadline=None)
settings.load_profile("shared machine")
