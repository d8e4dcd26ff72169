"""An invented town and an invented pool-service company, for the demo and the tests.

Nothing here is real: the town lies in the open sea on purpose, and every name is made up.
"""

from sample_region.folder import write

__all__ = ["write"]
