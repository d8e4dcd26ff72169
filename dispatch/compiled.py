"""How functions are compiled to machine code, and where that code is kept.

Compiled code is kept on disk so that a machine compiles once. numba looks only at the file a
function stands in when it asks whether kept code is still good, not at the functions it calls; a
change in one file would leave old code running in another. So code is kept in a folder named
after the content of all the sources it is made of: any change of them begins a new folder.

A function takes the code of all that it calls with it and has it compiled once more, down to the
last; and each array that it is given is passed as seven numbers or more, on every call. Short
chains of calls and few arrays are quick to compile. What is called often with many arrays should be
merged: handing them over took up to a third of a search's time.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar, cast

import numba

Function = TypeVar("Function", bound=Callable[..., object])


def compiler(
    room: Path, *names: str, inline: bool = False, merged: bool = False, counted: bool = True
) -> Callable[[Function], Function]:
    """A decorator that compiles functions of the modules `names` in the folder `room`.

    The modules named must be all those from which such a function takes code or constants. With
    `inline` a function is copied into its callers before they are compiled, and compiled with each
    of them; `merged`, its machine code is copied, which is quicker to do and passes no arrays
    either. A function that is not `counted` keeps no count of who uses an array, which costs much
    where many are passed; it may not make arrays.
    """
    folder = str(cache_folder([room / f"{name}.py" for name in names]))

    def compiled(function: Function) -> Function:
        # numba reads its folder when a function is declared; it makes the names of `config` itself
        numba.config.CACHE_DIR = folder  # type: ignore[attr-defined]
        made = numba.njit(  # type: ignore[call-overload]  # numba's types do not know `_nrt`
            cache=True,
            nogil=True,
            inline="always" if inline else "never",
            _nrt=counted,
            forceinline=merged,
        )(function)
        return cast("Function", made)

    return compiled


def cache_folder(sources: list[Path]) -> Path:
    """Folder for code made of these sources, in the user's cache (XDG base directories).

    The environment variable NUMBA_CACHE_DIR moves it.
    """
    digest = hashlib.sha256(numba.__version__.encode())
    for file in sources:
        digest.update(file.read_bytes())
    home = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    root = Path(os.environ.get("NUMBA_CACHE_DIR") or home / "pool-dispatch")
    return root / digest.hexdigest()[:16]
