"""The name under which a browser keeps a file (RFC 6266)."""

from __future__ import annotations

from urllib.parse import quote


def disposition(name: str, *, inline: bool = False) -> str:
    """The header Content-Disposition of a file `name`, which may have letters of any script.

    Ids may, and a header holds ASCII alone: what reads no `filename*` gets a '_' for each other.
    """
    kind = "inline" if inline else "attachment"
    plain = "".join(sign if sign.isascii() else "_" for sign in name)
    more = "" if plain == name else f"; filename*=UTF-8''{quote(name, safe='')}"
    return f'{kind}; filename="{plain}"{more}'
