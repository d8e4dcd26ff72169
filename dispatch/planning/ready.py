"""Loads the compiled search when it is imported, where this machine has compiled it before.

Processes that are forked afterwards have it at hand; nothing is compiled here.
"""

from __future__ import annotations

from dispatch.planning.warm import compile_search, is_compiled

if is_compiled():
    compile_search()
